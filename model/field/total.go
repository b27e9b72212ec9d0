package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// TotalAt returns the flux density at q in component c of the duty of m, all bars
// together, in tesla; with the true state of saturating iron where OneState says so.
func (m *Model) TotalAt(q geom.Point3, c *waveform.Component) (Vec, error) {
	if m.OneState() {
		n, err := m.stateOf(c.SteadyA())
		if err != nil {
			return Vec{}, err
		}
		v := n.at(q, m.rough)
		barsA, err := m.steadyBarsA(c.SteadyA())
		v.Far, _ = m.farOf([]layout.Element{{At: q, Weight: 1}}, barsA)
		return v, err
	}
	f, err := m.FieldOf(c)
	if err != nil {
		return Vec{}, err
	}
	var sum Vec
	for b, a := range Together(m.Layout, c.PeakA) {
		if a != 0 {
			sum = sum.Add(f.At(q, layout.CircuitIndex(b)).Scale(a))
		}
	}
	return sum, nil
}
