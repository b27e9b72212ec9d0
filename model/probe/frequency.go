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

// Gain returns what bar and shields do to the own reading of s at freqHz, with the bound of
// the change: see field.Change. Part, filter and delay come on top.
func (m *Model) Gain(s *layout.Sensor, freqHz float64) (Gain, error) {
	still, moving, err := m.SidesAt(freqHz)
	if err != nil {
		return Gain{}, err
	}
	var out Gain
	for i := range still {
		ratio := moving[i].OwnChange(still[i], s).At()
		lag, w := -cmplx.Phase(ratio.V), phaseBound(ratio)
		side := Gain{ratio.Abs().Plus(bounded.Exact(-1)), bounded.Estimate{Value: lag, Low: lag - w, High: lag + w}}
		if i == 0 {
			out = side
			continue
		}
		out.Change, out.LagRad = bounded.Spanning(out.Change, side.Change), bounded.Spanning(out.LagRad, side.LagRad)
	}
	return out, nil
}

// phaseBound returns the half width of the phase of p in radians; π where p
// may be zero.
func phaseBound(p bounded.Phasor) float64 {
	n := cmplx.Abs(p.V)
	bound := p.Bound + p.Far
	if bound >= n {
		return math.Pi
	}
	return math.Asin(bound/n) + math.Atan(p.Quad/n)
}

// StrayRise is how the part of another circuit in a sensor's reading grows from
// direct current to a frequency, both carrying the same current.
type StrayRise struct {
	Beside    layout.CircuitIndex
	Still, At bounded.Estimate // on-axis field over own on-axis field at 0 Hz and at the frequency
	Rise      bounded.Estimate // At less Still
}

// StrayRise returns the rise of the circuit for which it is largest. With r the share at 0 Hz
// and δ, γ the changes of stray and own reading, each with its own bound,
//
//	rise = |r + δ|/|1 + γ| − |r|
//
// A shield of finite depth may let in several times as much at both frequencies, so in the plane section
// the rise may be that much larger.
func (m *Model) StrayRise(s *layout.Sensor, freqHz float64) (StrayRise, error) {
	worst := StrayRise{Beside: layout.None}
	still, moving, err := m.SidesAt(freqHz)
	if err != nil {
		return worst, err
	}
	for k := range m.Layout.Circuits {
		b := layout.CircuitIndex(k)
		if b == s.Circuit {
			continue
		}
		var one StrayRise
		for i := range still {
			side := strayRise(still[i], moving[i], s, b)
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

func strayRise(still, moving *field.Field, s *layout.Sensor, b layout.CircuitIndex) StrayRise {
	stray, own := moving.BesideChange(still, s, b), moving.OwnChange(still, s)
	scale, gain := own.Still.Abs(), own.At().Abs()
	out := StrayRise{
		Beside: b, Still: stray.Still.Abs().Over(scale),
		At: stray.Still.Add(stray.By).Abs().Over(scale).Over(gain),
	}
	rise := out.At.Value - out.Still.Value
	// What is common to both shares scales the rise, and no more.
	slack := (stray.By.Bound + stray.By.Quad) / scale.Low / gain.Low
	slack += out.At.Value*(gain.High-gain.Low)/2/gain.Low + math.Abs(rise)*(scale.High-scale.Low)/2/scale.Low
	slack += (stray.Still.Bound + stray.Still.Quad) / scale.Low * math.Abs(1-1/gain.Value)
	if !(scale.Low > 0 && gain.Low > 0) {
		slack = math.NaN()
	}
	out.Rise = bounded.Estimate{Value: rise, Low: rise - slack, High: rise + slack}
	return out
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
