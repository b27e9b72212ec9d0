package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
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
		for _, c := range m.Currents(d).Components {
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

// crumb is the share of the largest current of a duty below which a component of it is no current of its own: common
// practice, no more than the errors of a good channel.
const crumb = 1e-3

// MainOf reports whether u is a fundamental that s must follow: one that is no crumb of what s reads in the duty.
func (m *Model) MainOf(s *layout.Sensor, u *Use) bool {
	if !u.Part.Fundamental() {
		return false
	}
	most := 0.0
	for _, c := range m.Currents(u.Duty).Components {
		most = math.Max(most, portable.Abs(m.OwnIn(s, &c)))
	}
	return portable.Abs(m.OwnIn(s, &u.Part)) >= crumb*most
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
// the change (see field.Change) and what tolerances of sizes and materials add. Part, filter and delay come on top.
func (m *Model) Gain(s *layout.Sensor, freqHz float64) (Gain, error) {
	out, err := m.GainDrawn(s, freqHz)
	if err != nil {
		return out, err
	}
	if out.Change, err = m.withTolerances(out.Change, func(n *Model) (float64, error) {
		g, err := n.GainDrawn(s, freqHz)
		return g.Change.Value, err
	}); err != nil {
		return out, err
	}
	out.LagRad, err = m.withTolerances(out.LagRad, func(n *Model) (float64, error) {
		g, err := n.GainDrawn(s, freqHz)
		return g.LagRad.Value, err
	})
	return out, err
}

// GainDrawn is Gain of the sizes and materials as drawn.
func (m *Model) GainDrawn(s *layout.Sensor, freqHz float64) (Gain, error) {
	still, moving, err := m.SidesAt(freqHz)
	if err != nil {
		return Gain{}, err
	}
	var out Gain
	for i := range still {
		ratio := moving[i].OwnChange(still[i], s).At()
		lag, w := -portable.Phase(ratio.V), phaseBound(ratio)
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
	n := portable.Abs(p.V)
	bound := p.Bound + p.Far
	if bound >= n {
		return math.Pi
	}
	return portable.Asin(bound/n) + portable.Atan(p.Quad/n)
}
