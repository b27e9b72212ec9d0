package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Use is one alternating component of a duty.
type Use struct {
	Duty *layout.Duty
	Part waveform.Component
}

// Uses returns every declared component above 0 Hz in which some circuit carries a current,
// duty by duty.
func (m *Model) Uses() []Use {
	var out []Use
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		for _, c := range waveform.Of(m.Layout, d).Components {
			if c.FreqHz > 0 && !c.Derived && carries(&c) {
				out = append(out, Use{d, c})
			}
		}
	}
	return out
}

// UsesOf returns the uses in which what s reads carries a current.
func (m *Model) UsesOf(s *layout.Sensor) []Use {
	var out []Use
	for _, u := range m.Uses() {
		if s.Circuit != layout.None && u.Part.PeakA[s.Circuit] != 0 {
			out = append(out, u)
		}
	}
	return out
}

func carries(c *waveform.Component) bool {
	for _, a := range c.PeakA {
		if a != 0 {
			return true
		}
	}
	return false
}

// Gain is the own reading of a sensor per ampere at one frequency against direct
// current: relative change of the amplitude, and phase by which it lags the
// current.
type Gain struct {
	Change bounded.Estimate // negative where it reads low
	LagRad bounded.Estimate // positive where it is late
}

// Gain returns what bar and shields do to the own reading of s at freqHz. It is
// taken from the plane section; ends of bars and shields change both readings
// alike to first order, and in space the change is taken to be off by as much as
// the section itself is at steady current (see SectionOff). Part, filter and delay
// come on top.
func (m *Model) Gain(s *layout.Sensor, freqHz float64) (Gain, error) {
	still, moving, err := m.SidesAt(freqHz)
	if err != nil {
		return Gain{}, err
	}
	var out Gain
	for i := range still {
		a, b := still[i].OwnInSection(s).Axis, moving[i].OwnInSection(s).Axis
		change := b.Abs().Over(a.Abs()).Plus(bounded.Exact(-1))
		lag := -cmplx.Phase(b.V / a.V)
		w := phaseBound(a) + phaseBound(b)
		off := still[i].SectionOff(s)
		w += off * math.Abs(lag)
		more := off * math.Abs(change.Value)
		change.Low, change.High = change.Low-more, change.High+more
		side := Gain{change, bounded.Estimate{Value: lag, Low: lag - w, High: lag + w}}
		if i == 0 {
			out = side
			continue
		}
		out.Change, out.LagRad = bounded.Spanning(out.Change, side.Change), bounded.Spanning(out.LagRad, side.LagRad)
	}
	return out, nil
}

// phaseBound returns the half width of the phase of p in radians; NaN where p
// may be zero.
func phaseBound(p bounded.Phasor) float64 {
	n := cmplx.Abs(p.V)
	return math.Asin(p.Bound/n) + math.Atan(p.Quad/n)
}

// StrayRise is how the part of another circuit in a sensor's reading grows from
// direct current to a frequency, both carrying the same current.
type StrayRise struct {
	Beside    layout.CircuitIndex
	Still, At bounded.Estimate // on-axis field over own on-axis field at 0 Hz and at the frequency
	Rise      bounded.Estimate // At less Still
}

// StrayRise returns the rise of the circuit for which it is largest. A shield of
// finite depth may let in several times as much at both frequencies, so the
// rise may be that much larger; ends of bars change both ratios alike.
func (m *Model) StrayRise(s *layout.Sensor, freqHz float64) (StrayRise, error) {
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
			side := StrayRise{Beside: b, Still: strayShare(still[i], s, b), At: strayShare(moving[i], s, b)}
			side.Rise = side.At.Plus(side.Still.Scale(-1))
			if m.inSpace() {
				side.intoSpace(still[i], moving[i], s)
			}
			if i == 0 {
				one = side
				continue
			}
			one.Still, one.At, one.Rise = bounded.Spanning(one.Still, side.Still), bounded.Spanning(one.At, side.At), bounded.Spanning(one.Rise, side.Rise)
		}
		one.widen(m.StrayDepth())
		// Written so that NaN counts as the worst.
		if worst.Beside == layout.None || !(one.Rise.High <= worst.Rise.High) && !math.IsNaN(worst.Rise.High) {
			worst = one
		}
	}
	return worst, nil
}

func strayShare(f *field.Field, s *layout.Sensor, c layout.CircuitIndex) bounded.Estimate {
	return f.BesideInSection(s, c).Axis.Abs().Over(f.OwnInSection(s).Axis.Abs())
}

// intoSpace replaces the shares of the plane section by those in space. The rise is
// the difference of two shares that carry nearly the same error at steady
// current, so its bound is that of the rise in the section, and what the change
// with frequency itself is off by: see field.Field.At.
func (r *StrayRise) intoSpace(still, moving *field.Field, s *layout.Sensor) {
	share := func(f *field.Field) (bounded.Estimate, float64) {
		stray, own := f.Beside(s, r.Beside).Axis, f.Own(s).Axis.Abs()
		return stray.Abs().Over(own), (stray.Bound + stray.Quad) / own.Value
	}
	section := r.Rise
	var before, after float64
	r.Still, before = share(still)
	r.At, after = share(moving)
	slack := math.Max(section.High-section.Value, section.Value-section.Low) + math.Max(0, after-before)
	rise := r.At.Value - r.Still.Value
	r.Rise = bounded.Estimate{Value: rise, Low: rise - slack, High: rise + slack}
}

// widen takes shields of finite depth into the bounds: both shares may be k times as
// large.
func (r *StrayRise) widen(k float64) {
	r.Still.High *= k
	r.At.High *= k
	if r.Rise.High > 0 {
		r.Rise.High *= k
	}
	if r.Rise.Low < 0 {
		r.Rise.Low *= k
	}
}
