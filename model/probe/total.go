package probe

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// TotalAt returns the flux density at q in component c of the duty of m, all bars
// together, in tesla; with the true state of saturating iron where Read takes it.
func (m *Model) TotalAt(q geom.Point3, c *layout.Component) (Vec, error) {
	if m.exactIron() && c.FreqHz == 0 && direct(m.Layout.Components(m.duty)) {
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

// InSpace reports whether values of the layout are taken in space; where bars or
// shields declare ends and they are not, reason says why.
func (m *Model) InSpace() (in bool, reason string) {
	e := m.extent()
	return e.space, e.reason
}

// Section returns a model of the same layout that stays in the plane section.
func (m *Model) Section() *Model {
	n := NewModel(m.Layout)
	n.level, n.duty = m.level, m.duty
	n.cache.where.Do(func() { n.cache.extent = extent{reason: "only the plane section was asked for"} })
	return n
}

// quick returns f without bounds.
func (f *Field) quick() *Field {
	q := *f
	q.rough = true
	return &q
}
