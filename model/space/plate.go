package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space/plan"
)

// plate is the plan of the piece of a bar that has cuts, in the frame of its section.
type plate struct {
	axis        geom.Point3 // a point of the centre line, at z = 0 of the layout
	u, v        geom.Point3
	halfV       float64
	widthM      float64
	cuts        []layout.Cut
	metal       geom.Region // X across, Y along, from nearM to farM; full beyond
	nearM, farM float64
}

// newPlate returns the plan d about leg l, which runs along z.
func newPlate(l *layout.Leg, d plan.Drawing) (*plate, error) {
	p := &plate{
		axis: l.From.XY().Space(0), u: l.U, v: l.V,
		halfV: d.ThicknessM / 2, widthM: d.WidthM, cuts: d.Cuts,
	}
	metal, err := plan.Outline(d)
	if err != nil {
		return nil, err
	}
	box := metal.Box()
	p.metal, p.nearM, p.farM = metal, box.Min.Y, box.Max.Y
	return p, nil
}

// local returns p in the frame of the section: across, through the thickness,
// along (z of the layout).
func (p *plate) local(q geom.Point3) geom.Point3 {
	d := q.Sub(p.axis)
	return geom.Point3{X: d.Dot(p.u), Y: d.Dot(p.v), Z: q.Z}
}

// taken reports whether a cut took the metal at q.
func (p *plate) taken(q geom.Point3) bool {
	at := p.local(q)
	for i := range p.cuts {
		if p.cuts[i].Taken(at.X, at.Z, p.widthM) {
			return true
		}
	}
	return false
}

// distanceM returns the distance from q to the plate as if it went on along z
// for ever. Rims of holes count as the polygons of plan.Outline.
func (p *plate) distanceM(q geom.Point3) float64 {
	at := p.local(q)
	along := math.Min(p.farM, math.Max(p.nearM, at.Z))
	return portable.Hypot(p.metal.DistanceM(geom.Point{X: at.X, Y: along}), math.Max(0, math.Abs(at.Y)-p.halfV))
}
