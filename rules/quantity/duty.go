package quantity

import (
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/rules/enforce"
)

// duty is one set of currents with the model that answers for it.
type duty struct {
	*Facts
	d *layout.Duty
}

func dutyQuantities() []definition[*duty] {
	return slices.Concat(dutyCurrents(), dutyReadings())
}

// dutyCurrents returns what a duty declares and the currents that come of it.
func dutyCurrents() []definition[*duty] {
	return []definition[*duty]{
		text("kind", "its kind: continuous, peak, fault", func(x *duty) string { return x.d.Kind.String() }),
		flag("is_three_phase", "a balanced set flows in three bars or circuits",
			func(x *duty) bool { return x.d.ThreePhase != nil }),
		number("frequency", "Hz", "its fundamental frequency; 0 for direct current",
			func(x *duty) enforce.Value { return exactly(x.d.FreqHz.V) }),
		number("circuits", "", "number of circuits that it gives a current, bars by themselves among them",
			func(x *duty) enforce.Value {
				return exactly(float64(len(x.carrying())))
			}),
		number("bars", "", "number of bars in the circuits that it gives a current", func(x *duty) enforce.Value {
			n := 0
			for _, c := range x.carrying() {
				for _, k := range x.l.Circuits[c].Members {
					if k.Factor != 0 {
						n++
					}
				}
			}
			return exactly(float64(n))
		}),
		number("harmonics", "",
			"number of frequencies that are harmonics of its sets, those of a waveform given by points among them",
			func(x *duty) enforce.Value {
				return x.components(func(c *waveform.Component) bool {
					return c.FreqHz > 0 && !c.Ripple() && !c.Fundamental()
				})
			}),
		number("groups", "", "number of groups of frequencies whose phases against each other are not known",
			func(x *duty) enforce.Value {
				return exactly(float64(waveform.Of(x.l, x.d).Groups))
			}),
		number("peak_factor", "1",
			"first peak of a fault over the peak of its alternating current; 1 where it is symmetrical (IEC 60909-0)",
			func(x *duty) enforce.Value { return exactly(waveform.Of(x.l, x.d).PeakFactor) }),
		number("ripple_frequency", "Hz", "frequency of its ripple", func(x *duty) enforce.Value {
			if x.d.Ripple == nil {
				return undecided("it declares no ripple")
			}
			return exactly(x.d.Ripple.FreqHz.V)
		}),
		number("ripple_current", "A", "largest peak of its ripple in a circuit; 0 without one",
			func(x *duty) enforce.Value {
				return exactly(waveform.RipplePeakA(x.d))
			}),
		number("current", "A", "largest current of a bar over all time of it", func(x *duty) enforce.Value {
			top := largest{e: bounded.Exact(0), any: true}
			for b := range x.l.Bars {
				top.add(x.barPeakA(layout.BarIndex(b), x.d))
			}
			return top.value("")
		}),
		number("residue", "1", "largest sum of the currents of all bars at one frequency, over the largest of a circuit; 0 where no current flows (rule return-path)",
			func(x *duty) enforce.Value { return exactly(probe.ResidueOf(x.l, x.d).Share) }),
	}
}

// dutyReadings returns what a duty does to the channels and shields.
func dutyReadings() []definition[*duty] {
	return []definition[*duty]{
		number("stray_ratio", "1", "reading of other circuits over the own one, or over full scale where it idles, worst of all channels (rule stray-ratio)",
			func(x *duty) enforce.Value {
				e, _, err := x.stray()
				if err != nil {
					return undecided("%v", err)
				}
				return valued(e)
			}),
		{enforce.Quantity{Name: "stray_channel", Type: enforce.Text,
			Doc: "channel of stray_ratio, by its nominal value; the first of equals"},
			func(x *duty) enforce.Value {
				_, at, err := x.stray()
				if err != nil {
					return undecided("%v", err)
				}
				return enforce.Word(at)
			}},
		number("linear_range_share", "1",
			"share of the linear range at the worst placement, worst of all channels (rule linear-range)",
			func(x *duty) enforce.Value {
				var top largest
				for i := range x.l.Sensors {
					c := x.channel(layout.SensorIndex(i))
					if open := c.rangeOpen(); open != "" {
						return undecided("sensor %q: %s", c.s.ID, open)
					}
					r, err := x.m.RangeIn(c.s, x.d)
					top.add(r.Share, err)
				}
				return top.value("there is no channel")
			}),
		number("false_sum", "1", "sum that the channels of the three circuits tell in a balanced set, coupling at direct current, over the current of one", falseSum),
		number("saturation_share", "1", "flux density of the wall over saturation, worst of all shields of iron (rule shield-saturation); 0 without iron", func(x *duty) enforce.Value {
			top := largest{e: bounded.Exact(0), any: true}
			for i := range x.l.Shields {
				k := &shield{Facts: x.Facts, i: layout.ShieldIndex(i), k: &x.l.Shields[i], mat: &x.l.Materials[x.l.Shields[i].Material]}
				if !k.mat.Magnetic() {
					continue
				}
				sat, open := k.saturation()
				if open != "" {
					return undecided("shield %q: %s", k.k.ID, open)
				}
				wall, err := x.m.FullWall(k.i, x.d)
				top.add(wall.Scale(1/sat), err)
			}
			return top.value("")
		}),
	}
}

// carrying returns the circuits that the duty gives a current.
func (x *duty) carrying() []layout.CircuitIndex {
	cur := waveform.Of(x.l, x.d)
	var out []layout.CircuitIndex
	for i := range x.l.Circuits {
		carries := cur.LeftOverA[i] != 0
		for k := range cur.Components {
			carries = carries || cur.Components[k].PeakA[i] != 0
		}
		if carries {
			out = append(out, layout.CircuitIndex(i))
		}
	}
	return out
}

// components counts those for which is holds.
func (x *duty) components(is func(*waveform.Component) bool) enforce.Value {
	cur := waveform.Of(x.l, x.d)
	n := 0
	for i := range cur.Components {
		if is(&cur.Components[i]) {
			n++
		}
	}
	return exactly(float64(n))
}

// stray returns the largest stray ratio of all channels and where it is.
func (x *duty) stray() (bounded.Estimate, string, error) {
	var top largest
	at, size := "", -1.0
	for i := range x.l.Sensors {
		s := &x.l.Sensors[i]
		r, err := x.m.Stray(s, x.d)
		if err != nil {
			return bounded.Estimate{}, "", &field.Unknown{Reason: "sensor \"" + s.ID + "\": " + err.Error()}
		}
		if r.OwnA == 0 {
			continue
		}
		top.add(r.Ratio, nil)
		if r.Ratio.Value > size {
			at, size = s.ID, r.Ratio.Value
		}
	}
	if !top.any {
		return bounded.Estimate{}, "", &field.Unknown{Reason: "no channel reads a current"}
	}
	return top.e, at, nil
}

func falseSum(x *duty) enforce.Value {
	if x.d.ThreePhase == nil {
		return undecided("it is no balanced set of three")
	}
	b, err := x.m.Balanced(x.d.ThreePhase)
	return estimated(b.FalseSum, err)
}
