package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// TotalAt returns the flux density at q in component c of the duty of m, all bars
// together, in tesla; with the true state of saturating iron where OneState says so.
func (m *Model) TotalAt(q geom.Point3, c *layout.Component) (Vec, error) {
	if m.OneState() {
		n, err := m.state(instantCurrents([]layout.Component{*c}, 0))
		if err != nil {
			return Vec{}, err
		}
		return n.at(q, m.rough), nil
	}
	f, err := m.Field(c.FreqHz)
	if err != nil {
		return Vec{}, err
	}
	var sum Vec
	for b, a := range c.PeakA {
		if a != 0 {
			sum = sum.Add(f.At(q, layout.BarIndex(b)).Scale(a))
		}
	}
	return sum, nil
}
