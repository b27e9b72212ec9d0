package probe

import (
	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// TotalAt returns the flux density at q in component c of the duty of m, all bars
// together, in tesla; with the true state of saturating iron where Read takes it.
func (m *Model) TotalAt(q geom.Point3, c *layout.Component) (Vec, error) {
	if m.oneState() {
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

// Section returns a model of the same layout that stays in the plane section; its
// fields are kept with those of m.
func (m *Model) Section() *Model {
	c := m.cache
	c.sectionOnce.Do(func() {
		c.section = NewModel(m.Layout)
		in := c.section.cache
		in.where.Do(func() { in.extent = extent{reason: "only the plane section was asked for"} })
	})
	n := *m
	n.cache, n.draft = c.section.cache, false
	return &n
}

// SectionWallPeak is WallPeak in the plane section, as if bars and shields had no
// end: what a plane study promises.
func (m *Model) SectionWallPeak(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	l := *m.Layout
	l.Shields = append([]layout.Shield(nil), l.Shields...)
	for k := range l.Shields {
		l.Shields[k].DepthM = layout.Num{}
	}
	n := m.Section()
	n.Layout = &l
	return n.Stated().WallPeak(i, d)
}

// quick returns f without bounds.
func (f *Field) quick() *Field {
	q := *f
	q.rough = true
	return &q
}
