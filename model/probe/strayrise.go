package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// StrayRise is how the part of another circuit in a sensor's reading changes from
// direct current to a frequency, both carrying the same current.
type StrayRise struct {
	Beside    layout.CircuitIndex // None: nothing flows beside
	Still, At bounded.Estimate    // on-axis field over own on-axis field at 0 Hz and at the frequency
	Rise      bounded.Estimate    // size of the difference of the two as phasors
	ShiftRad  float64             // by how much the phase turns, positive where it leads
}

// StrayRise returns the change of the circuit for which it is largest, of one of which the
// sensor reads a leg the other legs too. With r the field of the other
// circuit over the own one, both on the axis and per ampere, it is
//
//	|r(f) − r(0)|
//
// which is what a correction made at direct current leaves. With a and b the readings at direct current and δ and γ
// their changes, each with the bound of the change (field.Change), that is |δ − r(0) γ|/|b + γ|. A shield of
// finite depth may let in several times as much at both frequencies, so the
// change may be that much larger; ends of bars change both ratios alike. Tolerances of sizes and materials add to it.
func (m *Model) StrayRise(s *layout.Sensor, freqHz float64) (StrayRise, error) {
	out, err := m.strayRiseDrawn(s, freqHz)
	if err != nil {
		return out, err
	}
	out.Rise, err = m.withTolerances(out.Rise, func(n *Model) (float64, error) {
		r, err := n.strayRiseDrawn(s, freqHz)
		return r.Rise.Value, err
	})
	return out, err
}

// strayRiseDrawn is StrayRise of the sizes and materials as drawn.
func (m *Model) strayRiseDrawn(s *layout.Sensor, freqHz float64) (StrayRise, error) {
	worst := StrayRise{Beside: layout.None}
	still, moving, err := m.SidesAt(freqHz)
	if err != nil {
		return worst, err
	}
	for k := range m.Layout.Circuits {
		b := layout.CircuitIndex(k)
		if !s.Hears(b) {
			continue
		}
		var one StrayRise
		for i := range still {
			side := riseOf(b, moving[i].BesideChange(still[i], s, b), moving[i].OwnChange(still[i], s))
			if i == 0 {
				one = side
				continue
			}
			one.Still, one.At, one.Rise = bounded.Spanning(one.Still, side.Still), bounded.Spanning(one.At, side.At),
				bounded.Spanning(one.Rise, side.Rise)
		}
		one.widen(m.StrayDepth())
		// Written so that NaN counts as the worst.
		if worst.Beside == layout.None || !(one.Rise.High <= worst.Rise.High) && !math.IsNaN(worst.Rise.High) {
			worst = one
		}
	}
	return worst, nil
}

// ratio is one reading over another, with the bound of its size and that of the phasor.
type ratio struct {
	v     complex128
	size  bounded.Estimate
	bound float64
}

// ratioOf divides a by b: to first order and more the phasor is off by
// (Δa + |a/b| Δb)/(|b| − Δb), an error in quadrature counting in full.
func ratioOf(a, b bounded.Phasor) ratio {
	out := ratio{v: portable.Quotient(a.V, b.V), size: a.Abs().Over(b.Abs())}
	least := portable.Abs(b.V) - b.Bound
	if !(least > 0) {
		out.bound = math.NaN()
		return out
	}
	out.bound = (portable.Hypot(a.Bound, a.Quad) + float64(portable.Abs(out.v)*portable.Hypot(b.Bound, b.Quad))) / least
	return out
}

func riseOf(b layout.CircuitIndex, stray, own field.Change) StrayRise {
	before := ratioOf(stray.Still, own.Still)
	after := ratioOf(stray.Still.Add(stray.By), own.Still.Add(own.By))
	out := StrayRise{Beside: b, Still: before.size, At: after.size}
	size := portable.Abs(own.Still.V + own.By.V)
	rise := portable.Abs(stray.By.V-portable.Times(before.v, own.By.V)) / size
	least := size - own.Still.Bound - own.By.Bound
	slack := portable.Hypot(stray.By.Bound, stray.By.Quad) + float64(portable.Abs(before.v)*portable.Hypot(own.By.Bound, own.By.Quad)) +
		float64(portable.Abs(own.By.V)*before.bound) + float64(rise*(own.Still.Bound+own.By.Bound))
	if !(least > 0) {
		slack = math.NaN()
	}
	out.Rise = bounded.Around(rise, slack/least)
	if before.v != 0 {
		out.ShiftRad = portable.Phase(portable.Quotient(after.v, before.v))
	}
	return out
}

// widen takes shields of finite depth into the bounds: both shares may be k times as
// large.
func (r *StrayRise) widen(k float64) {
	r.Still.High *= k
	r.At.High *= k
	r.Rise.High *= k
}
