package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// SectionPoint is the field of the plane section at a point, as peak phasors: A_z
// in Wb/m, Bx and By in tesla.
type SectionPoint struct{ AWbPerM, BxT, ByT complex128 }

// Sketch returns the field of the plane section in component c of the duty of m,
// all bars together, for drawings: isolines of A_z are flux lines. It is cheap at
// each point and has no bound. Bars and shields are taken as long, and saturating
// iron in the state that TotalAt takes where that state is one of the section.
func (m *Model) Sketch(c *waveform.Component) (func(geom.Point) SectionPoint, error) {
	f, err := m.FieldOf(c)
	if err != nil {
		return nil, err
	}
	if m.OneState() {
		n, err := m.stateOf(c.SteadyA())
		if err != nil {
			return nil, err
		}
		sign := 1.0
		if o, ok := n.(opposite); ok {
			sign, n = -1, o.of
		}
		if s, ok := n.(sectionState); ok {
			return func(q geom.Point) SectionPoint {
				a, x, y := s.of.Sketch(q)
				return SectionPoint{complex(float64(sign*a), 0), complex(float64(sign*x), 0), complex(float64(sign*y), 0)}
			}, nil
		}
	}
	return func(q geom.Point) SectionPoint {
		var sum SectionPoint
		for b, i := range f.BarsA(c.PeakA) {
			if i == 0 {
				continue
			}
			p := f.section.sketch(q, layout.BarIndex(b))
			sum.AWbPerM += portable.Times(i, p.AWbPerM)
			sum.BxT += portable.Times(i, p.BxT)
			sum.ByT += portable.Times(i, p.ByT)
		}
		return sum
	}, nil
}
