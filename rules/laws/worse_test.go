package laws

import (
	"fmt"
	"math"
	"slices"
)

// Where a law spares a rule, this is why.
const (
	usesMore   = "a larger field uses more of the range"
	fullScale  = "the full scale grows, and errors that stay weigh less of it"
	lessNoise  = "a narrower band lets less noise and ripple through"
	smallParts = "a smaller range is used more"
)

// worseLaws are changes that ask more of a layout: no verdict gets better.
func worseLaws() []law {
	return []law{
		{name: "one more duty", says: "a fault more betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				m, ok := someDuty(d, root)
				if !ok {
					return nil
				}
				k := d.times(0.5, 4)
				return changed(root, fmt.Sprintf("a fault of %g times duty %s", k, m.key), func(n *node) bool {
					more := m.value.clone()
					more.set("kind", say("fault"))
					scaleCurrents(more, k)
					n.get("duties").set("more", more)
					return true
				})
			}},
		{name: "one more smaller duty", says: "a duty like another, but with half the currents, betters nothing",
			compare: worse,
			change: func(d dice, root *node) *change {
				m, ok := someDuty(d, root)
				if !ok {
					return nil
				}
				return changed(root, "half of duty "+m.key, func(n *node) bool {
					half := m.value.clone()
					scaleCurrents(half, 0.5)
					n.get("duties").set("half", half)
					return true
				})
			}},
		{name: "one more need", says: "a need more betters nothing", compare: worse, change: moreNeeds,
			spared: map[string]string{
				"stray-ratio":      "a claimed range is what the stray of an idle channel is held against",
				"channel-accuracy": "a claimed range is the scale that an error is a share of"}},
		{name: "foreign wire", says: "a foreign wire more betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				return changed(root, "a wire more",
					func(n *node) bool { addWire(d, n, "Wmore", d.times(50, 2000), wireHz(n)); return true })
			}},
		{name: "foreign field", says: "a uniform field of any direction betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				if root.get("surroundings", "uniform") != nil {
					return nil
				}
				t := d.times(20e-6, 2e-3)
				return changed(root, fmt.Sprintf("a uniform field of %g T", t), func(n *node) bool {
					n.under("surroundings").set("uniform", q(t, fluxDensity))
					return true
				})
			}},
		{name: "ripple", says: "ripple betters nothing", compare: worse,
			spared: map[string]string{"ambient-field": fullScale, "range-use": usesMore, "channel-accuracy": fullScale,
				"zeroing":          fullScale,
				"shield-remanence": fullScale, "calibration": fullScale,
				"plausibility": "a ripple adds to all that flows in a peak duty, which may lift it over the continuous ones"},
			change: func(d dice, root *node) *change {
				m, ok := someDuty(d, root)
				if !ok {
					return nil
				}
				if m.value.get("ripple") != nil || m.value.get("currents") == nil && m.value.get("three-phase") == nil {
					return nil
				}
				a := digits(largestA(m.value)*d.times(0.01, 0.3), 2)
				hz := 8e3
				if kindOf(root) != "alternating" && !d.chance(0.03) {
					hz = digits(math.Max(1, 4*wireHz(root)), 2) // so slow that the field keeps its closed form
				}
				return changed(root, fmt.Sprintf("ripple of %g A in duty %s", a, m.key), func(n *node) bool {
					n.get("duties", m.key).set("ripple", obj("frequency", q(hz, frequency), "rms", q(a, current)))
					return true
				})
			}},
		{name: "larger placement", says: "a larger tolerance of place betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				return changed(root, "tolerances of place doubled", func(n *node) bool {
					any := false
					for _, m := range n.section("sensors") {
						if p := m.value.get("placement"); p != nil {
							for _, k := range p.members {
								k.value.value *= 2
								any = any || k.value.value > 0
							}
						}
					}
					return any
				})
			}},
		{name: "larger tolerance", says: "a larger tolerance, drift, offset, hysteresis betters nothing",
			compare: worse, change: largerTolerance},
		{name: "larger body", says: "a larger body betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				return changed(root, "bodies half as large again", func(n *node) bool {
					any := false
					for _, m := range n.section("parts") {
						if b := m.value.get("body"); b != nil {
							for _, k := range b.members {
								k.value.value *= 1.5
							}
							any = true
						}
					}
					return any
				})
			}},
		{name: "more current", says: "more of every current betters nothing that is not a share of it", compare: worse,
			spared: map[string]string{"ambient-field": fullScale, "range-use": usesMore, "channel-accuracy": fullScale,
				"zeroing":          fullScale,
				"shield-remanence": fullScale, "calibration": fullScale, "phase-sum": fullScale},
			change: func(d dice, root *node) *change {
				k := d.times(1.05, 3)
				return changed(root, fmt.Sprintf("every current %g times", k), func(n *node) bool {
					for _, m := range n.section("duties") {
						scaleCurrents(m.value, k)
					}
					return true
				})
			}},
		{name: "smaller range", says: "a part linear to less betters nothing but the use of its range", compare: worse,
			spared: map[string]string{"range-use": smallParts,
				"channel-accuracy": "non-linearity is a share of the range",
				"zeroing":          "non-linearity is a share of the range",
				"phase-sum":        "non-linearity is a share of the range",
				"battery-view":     "non-linearity is a share of the range",
				"trip":             "non-linearity is a share of the range"},
			change: func(d dice, root *node) *change {
				k := d.times(0.3, 0.95)
				return changed(root, fmt.Sprintf("every range %g times", k), func(n *node) bool {
					for _, m := range n.section("parts") {
						if r := m.value.get("linear-range"); r != nil {
							r.value *= k
						}
					}
					return n.hasSection("parts")
				})
			}},
		{name: "coarser converter", says: "two bits fewer better nothing", compare: worse,
			change: func(_ dice, root *node) *change {
				return changed(root, "two bits fewer", func(n *node) bool {
					b := n.get("readout", "converter", "bits")
					if b == nil || n.get("readout", "firmware") != nil {
						return false
					}
					b.value -= 2
					return true
				})
			}},
		{name: "slower filter", says: "a slower filter betters nothing but noise and ripple", compare: worse,
			spared: map[string]string{"resolution": lessNoise, "channel-accuracy": lessNoise, "phase-sum": lessNoise,
				"zeroing": lessNoise, "trip": lessNoise},
			change: func(d dice, root *node) *change {
				k := d.times(0.1, 0.9)
				return changed(root, fmt.Sprintf("the corner of the filter %g times", k), func(n *node) bool {
					c := n.get("readout", "filter", "corner")
					if c == nil {
						return false
					}
					c.value *= k
					return true
				})
			}},
	}
}

// wireHz is the frequency of a foreign wire more: the highest of the layout, so that nothing new must be solved for.
func wireHz(root *node) float64 {
	for _, m := range root.section("duties") {
		if f := m.value.get("frequency"); f != nil {
			return f.value
		}
	}
	return 0
}

// someDuty picks a duty; false where there is none.
func someDuty(d dice, root *node) (member, bool) {
	list := root.section("duties")
	if len(list) == 0 {
		return member{}, false
	}
	return pick(d, list...), true
}

// scaleCurrents multiplies every current of a duty.
func scaleCurrents(duty *node, k float64) {
	duty.each(func(n *node) {
		if n.kind == quantity && n.dim == current {
			n.value *= k
		}
	})
}

func largestA(duty *node) float64 {
	top := 0.0
	duty.each(func(n *node) {
		if n.kind == quantity && n.dim == current {
			top = max(top, n.value, -n.value)
		}
	})
	return top
}

// moreNeeds adds a need that the layout does not have for any channel.
func moreNeeds(d dice, root *node) *change {
	top := 1.0
	for _, m := range root.section("duties") {
		top = max(top, largestA(m.value))
	}
	key := pick(d, "accuracy", "smallest-current", "range", "bandwidth", "stray", "ambient", "placement", "range-use")
	value := map[string]*node{
		"accuracy": q(d.times(0.005, 0.3), share), "smallest-current": q(top*d.times(0.001, 0.1), current),
		"range":     q(top*d.times(0.5, 4), current),
		"bandwidth": q(d.times(500, 50e3), frequency), "stray": q(d.times(0.002, 0.2), share),
		"ambient":   q(top*d.times(0.002, 0.2), current),
		"placement": q(d.times(0.005, 0.2), share), "range-use": q(d.between(0.1, 0.9, 0.1), share),
	}[key]
	for _, m := range root.section("needs") {
		if m.value.get(key) != nil {
			return nil
		}
	}
	return changed(root, fmt.Sprintf("a need more: %s %g", key, value.value), func(n *node) bool {
		n.under("needs").under("all").set(key, value)
		return true
	})
}

// largerTolerance makes one datum that says how far off something may be half as large again.
func largerTolerance(d dice, root *node) *change {
	keys := []string{"tolerance", "supply-tolerance", "drift", "life", "initial", "hysteresis", "non-linearity"}
	count := func(n *node, visit func(key string, v *node)) {
		for _, section := range []string{"parts", "readout"} {
			n.get(section).each(func(m *node) {
				for i := range m.members {
					if slices.Contains(keys, m.members[i].key) && m.members[i].value.kind == quantity {
						visit(m.members[i].key, m.members[i].value)
					}
				}
			})
		}
	}
	total := 0
	count(root, func(string, *node) { total++ })
	if total == 0 {
		return nil
	}
	at, i, what := d.IntN(total), 0, ""
	c := changed(root, "", func(n *node) bool {
		count(n, func(key string, v *node) {
			if i == at {
				v.value *= 1.5
				what = key
			}
			i++
		})
		return true
	})
	c.note = fmt.Sprintf("  %s number %d half as large again", what, at)
	return c
}
