package laws

import (
	"fmt"
	"maps"
	"slices"
)

// worseFlowLaws ask more by what the waveform and the tolerances hold: no verdict gets better.
func worseFlowLaws() []law {
	fuller := map[string]string{"ambient-field": fullScale, "range-use": usesMore, "channel-accuracy": fullScale,
		"zeroing":          fullScale,
		"shield-remanence": fullScale, "calibration": fullScale, "phase-sum": fullScale}
	further := maps.Clone(fuller)
	further["coverage"] = "what was idle carries a current now"
	further["stray-ratio"] = "the bar that is read carries it too, and its reading grows"
	return []law{
		{name: "a further set", says: "currents more, of a frequency of their own, better nothing", compare: worse,
			spared: further,
			change: func(d dice, root *node) *change {
				m, ok := someDuty(d, root)
				if !ok || m.value.get("with") != nil || m.value.get("frequency") == nil ||
					m.value.get("asymmetry") != nil {
					return nil
				}
				a := digits(largestA(m.value)*d.times(0.01, 0.3), 2)
				hz := digits(m.value.num(0, "frequency")*1.37203, 6)
				return changed(root, fmt.Sprintf("%g A at %g Hz in all bars of duty %s", a, hz, m.key),
					func(n *node) bool {
						currents := obj()
						for k, c := range carriersOf(n) {
							currents.set(c.id, obj("rms", q(a, current), "phase", q(float64(k%2)*180*degree, angle)))
						}
						n.get("duties", m.key).set("with", seq(obj("frequency", q(hz, frequency), "currents", currents)))
						return true
					})
			}},
		{name: "asymmetry", says: "a decaying direct component betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				kappa := d.between(1.1, 1.9, 0.1)
				return changed(root, fmt.Sprintf("faults with a peak factor of %g", kappa), func(n *node) bool {
					any := false
					for _, m := range n.section("duties") {
						if m.value.str("kind") == "fault" && alternates(m.value) && m.value.get("asymmetry") == nil {
							m.value.set("asymmetry", obj("peak-factor", num(kappa)))
							any = true
						}
					}
					return any
				})
			}},
		{name: "iron nearer", says: "surroundings that may be nearer let nothing pass", compare: wider,
			change: func(_ dice, root *node) *change {
				return changed(root, "half as far clear", func(n *node) bool {
					c := n.under("surroundings")
					c.set("clear", metres(c.num(1, "clear")/2))
					return true
				})
			}},
		{name: "bars that move", says: "a tolerance of the place of a bar betters nothing", compare: worse,
			change: func(d dice, root *node) *change {
				id := pick(d, root.section("bars")...).key
				return changed(root, "bar "+id+" off by 0.3 mm", func(n *node) bool {
					if n.get("bars", id, "placement") != nil {
						return false
					}
					n.get("bars", id).set("placement",
						obj("x", metres(0.3e-3), "y", metres(0.3e-3), "turn", q(0.5*degree, angle)))
					return true
				})
			}},
		{name: "tighter need", says: "a need that asks for more betters nothing", compare: worse, change: tighterNeed},
	}
}

const degree = 3.14159265358979323846 / 180

// tighterNeed asks for more of one need.
func tighterNeed(d dice, root *node) *change {
	least := []string{"accuracy", "smallest-current", "stray", "ambient", "placement", "within", "angle", "per-day"}
	most := []string{"bandwidth", "range-use"}
	visit := func(n *node, f func(key string, v *node)) {
		n.get("needs").each(func(m *node) {
			for i := range m.members {
				if m.members[i].value.kind == quantity &&
					(slices.Contains(least, m.members[i].key) || slices.Contains(most, m.members[i].key)) {
					f(m.members[i].key, m.members[i].value)
				}
			}
		})
	}
	total := 0
	visit(root, func(string, *node) { total++ })
	if total == 0 {
		return nil
	}
	at, i, what := d.IntN(total), 0, ""
	k := d.times(0.2, 0.9)
	c := changed(root, "", func(n *node) bool {
		visit(n, func(key string, v *node) {
			if i == at {
				if what = key; key == "range-use" {
					v.value = min(1, v.value/k)
				} else if slices.Contains(most, key) {
					v.value /= k
				} else {
					v.value *= k
				}
			}
			i++
		})
		return true
	})
	c.note = fmt.Sprintf("  need %s number %d tighter by %g", what, at, k)
	return c
}
