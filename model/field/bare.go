package field

import (
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// bare is the section of bars by themselves: closed forms, with the bound of what a
// uniform current density leaves out.
type bare struct {
	layout *layout.Layout
	eddy   eddyBound
}

func (s bare) at(p geom.Point, b layout.BarIndex, _ bool) Vec {
	v := BarB(&s.layout.Bars[b], p)
	out := Vec{X: complex(v.X, 0), Y: complex(v.Y, 0)}
	n := out.Norm()
	own, idle := s.eddy.at(s.layout, p, b)
	e := own
	if idle {
		e = s.eddy.neighbour
	}
	out.Bound = n * (e.inPhase + 1e-9)
	out.Quad = n * e.quadrature
	return out
}

func (s bare) uniform(geom.Point, bool) (alongX, alongY Vec) {
	e := s.eddy.neighbour // of idle bars in the field of something else
	return Vec{X: 1, Bound: e.inPhase, Quad: e.quadrature}, Vec{Y: 1, Bound: e.inPhase, Quad: e.quadrature}
}

func (s bare) wall(layout.ShieldIndex, []complex128) (Wall, error) {
	panic("field: wall of a layout without shields")
}

func (s bare) sketch(q geom.Point, b layout.BarIndex) SectionPoint {
	bar := &s.layout.Bars[b]
	v := BarB(bar, q)
	return SectionPoint{complex(barPotential(bar, q), 0), complex(v.X, 0), complex(v.Y, 0)}
}

func (s bare) sides() []section { return []section{s} }

// BarB returns the flux density at p in tesla of one ampere in a long straight bar by
// itself, spread evenly over its section: closedform.RectangleB, CircleB or PolygonB.
func BarB(b *layout.Bar, p geom.Point) geom.Point {
	q := p.Sub(b.At.Point()).Rotate(-b.TurnRad.V)
	var v geom.Point
	switch b.Section.Kind {
	case layout.Rectangle:
		v = closedform.RectangleB(q, b.Section.WidthM.V, b.Section.ThicknessM.V, 1)
	case layout.Round:
		v = closedform.CircleB(q, b.Section.DiameterM.V/2, 1)
	default:
		v = closedform.PolygonB(q, b.Section.Corners, 1)
	}
	return v.Rotate(b.TurnRad.V)
}

// barPotential returns A_z of one ampere in a long straight bar, in Wb/m.
func barPotential(b *layout.Bar, p geom.Point) float64 {
	q := p.Sub(b.At.Point()).Rotate(-b.TurnRad.V)
	switch b.Section.Kind {
	case layout.Rectangle:
		return closedform.RectangleAWbPerM(q, b.Section.WidthM.V, b.Section.ThicknessM.V, 1)
	case layout.Round:
		return closedform.CircleAWbPerM(q, b.Section.DiameterM.V/2, 1)
	}
	return closedform.PolygonAWbPerM(q, b.Section.Corners, 1)
}
