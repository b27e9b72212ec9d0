package quantity

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/rules/enforce"
)

// duty is one set of currents with the model that answers for it.
type duty struct {
	*Facts
	d *layout.Duty
}

func dutyQuantities() []definition[*duty] {
	return []definition[*duty]{
		text("kind", "its kind: continuous, peak, fault", func(x *duty) string { return x.d.Kind.String() }),
		flag("is_three_phase", "a balanced set flows in three bars", func(x *duty) bool { return x.d.ThreePhase != nil }),
		number("frequency", "Hz", "its fundamental frequency; 0 for direct current", func(x *duty) enforce.Value { return exactly(x.d.FreqHz.V) }),
		number("bars", "", "number of bars that it gives a current", func(x *duty) enforce.Value {
			return exactly(float64(len(x.l.CarryingBars(x.d))))
		}),
		number("harmonics", "", "number of harmonics that it declares", func(x *duty) enforce.Value { return exactly(float64(len(x.d.Harmonics))) }),
		number("ripple_frequency", "Hz", "frequency of its ripple", func(x *duty) enforce.Value {
			if x.d.Ripple == nil {
				return undecided("it declares no ripple")
			}
			return exactly(x.d.Ripple.FreqHz.V)
		}),
		number("ripple_current", "A", "peak of its ripple; 0 without one", func(x *duty) enforce.Value {
			if x.d.Ripple == nil {
				return exactly(0)
			}
			return exactly(x.d.Ripple.Amount.PeakValueA())
		}),
		number("current", "A", "largest current of a bar, sum of the amplitudes of its frequencies", func(x *duty) enforce.Value {
			top := 0.0
			for b := range x.l.Bars {
				sum := 0.0
				for _, c := range x.l.Components(x.d) {
					sum += cmplx.Abs(c.PeakA[b])
				}
				top = max(top, sum)
			}
			return exactly(top)
		}),
		number("residue", "1", "largest sum of the currents of all bars at one frequency, over the largest of them; 0 where no current flows (rule return-path)", residue),
		number("stray_ratio", "1", "reading of other bars over that of the own bar, or over full scale where it idles, worst of all channels (rule stray-ratio)",
			func(x *duty) enforce.Value {
				e, _, err := x.stray()
				if err != nil {
					return undecided("%v", err)
				}
				return valued(e)
			}),
		{enforce.Quantity{Name: "stray_channel", Type: enforce.Text, Doc: "channel of stray_ratio, by its nominal value; the first of equals"},
			func(x *duty) enforce.Value {
				_, at, err := x.stray()
				if err != nil {
					return undecided("%v", err)
				}
				return enforce.Word(at)
			}},
		number("linear_range_share", "1", "share of the linear range at the worst placement, worst of all channels (rule linear-range)", func(x *duty) enforce.Value {
			var top largest
			for i := range x.l.Sensors {
				c := x.channel(layout.SensorIndex(i))
				part, open := c.linearPart()
				if open != "" {
					return undecided("sensor %q: %s", c.s.ID, open)
				}
				c.rangeShare(&top, part, x.d)
			}
			return top.value("there is no channel")
		}),
		number("false_sum", "1", "sum that the channels of the three bars tell in a balanced set, coupling at direct current, over the current of one", falseSum),
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
				wall, err := x.m.WallPeak(k.i, x.d)
				top.add(wall.Scale(1/sat), err)
			}
			return top.value("")
		}),
	}
}

func residue(x *duty) enforce.Value {
	worst := 0.0
	for _, c := range x.l.Components(x.d) {
		var sum complex128
		top := 0.0
		for _, a := range c.PeakA {
			sum += a
			top = max(top, cmplx.Abs(a))
		}
		if top > 0 {
			worst = max(worst, cmplx.Abs(sum)/top)
		}
	}
	return exactly(worst)
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
		return bounded.Estimate{}, "", &field.Unknown{Reason: "no channel's bar carries a current"}
	}
	return top.e, at, nil
}

// falseSum is, with C the reading of each of the three channels per ampere of each
// of the three bars at direct current,
//
//	|Σ_k Σ_j (C_kj/C_kk) e^{−jj·120°}|
//
// in which the three own readings add up to nothing.
func falseSum(x *duty) enforce.Value {
	t := x.d.ThreePhase
	if t == nil {
		return undecided("it is no balanced set of three")
	}
	f, err := x.m.Field(0)
	if err != nil {
		return undecided("%v", err)
	}
	var sum complex128
	half := 0.0
	for _, c := range t.Circuits {
		b := x.l.FirstBar(c)
		s := x.firstOn(c)
		if s == nil {
			return undecided("no channel reads bar %q", x.l.Bars[b].ID)
		}
		own := f.PerAmpere(s, b).Axis
		for j, o := range t.Circuits {
			other := x.l.FirstBar(o)
			if other == b {
				continue
			}
			q := over(f.PerAmpere(s, other).Axis, own)
			sum += cmplx.Rect(q.value, -float64(j)*2*math.Pi/3)
			half += q.half
		}
	}
	v := cmplx.Abs(sum)
	return valued(bounded.Estimate{Value: v, Low: math.Max(0, v-half), High: v + half})
}

func (f *Facts) firstOn(c layout.CircuitIndex) *layout.Sensor {
	for i := range f.l.Sensors {
		if f.l.Sensors[i].Circuit == c {
			return &f.l.Sensors[i]
		}
	}
	return nil
}
