package field

import (
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// alone is sectionAt without what an enclosure far away may add.
func (f *Field) alone(p geom.Point, b layout.BarIndex) Vec {
	if section, err := f.solved(); err != nil {
		return notKnown
	} else if section != nil {
		return section.at(p, int(b), len(f.layout.Bars), f.rough)
	}
	v := BarB(&f.layout.Bars[b], p)
	out := Vec{X: complex(v.X, 0), Y: complex(v.Y, 0)}
	n := out.Norm()
	own, idle := f.eddy.at(f.layout, p, b)
	e := own
	if idle {
		e = f.eddy.neighbour
	}
	out.Bound = n * (e.inPhase + 1e-9)
	out.Quad = n * e.quadrature
	return out
}

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
