package space

import (
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Lines returns, for each place in the section of bar b as it stands in the plane section, the
// field of one ampere in a thin line that follows the bar from there, in tesla at a point
// off the line: through its bends, from end to end. A bar without ends has lines without. The
// error is that of Bar.Legs.
//
// Formula: that of closedform.SegmentB along each leg, closedform.FilamentB for a long bar.
func Lines(b *layout.Bar, places []geom.Point) ([]func(geom.Point3) geom.Point3, error) {
	legs, err := b.Legs()
	if err != nil {
		return nil, err
	}
	out := make([]func(geom.Point3) geom.Point3, len(places))
	for i, at := range places {
		if len(legs) == 0 {
			out[i] = func(q geom.Point3) geom.Point3 {
				v := closedform.FilamentB(q.XY().Sub(at), 1)
				return geom.Point3{X: v.X, Y: v.Y}
			}
			continue
		}
		local := at.Sub(b.At.Point()).Rotate(-b.TurnRad.V)
		pieces := make([]thread, len(legs))
		for k := range legs {
			from, to := legs[k].Edge(local)
			pieces[k] = thread{from, legs[k].Along, to.Sub(from).Dot(legs[k].Along)}
		}
		out[i] = func(q geom.Point3) (sum geom.Point3) {
			for k := range pieces {
				sum = sum.Add(pieces[k].b(q))
			}
			return sum
		}
	}
	return out, nil
}

// thread is a straight part of a line.
type thread struct {
	from, along geom.Point3
	lengthM     float64
}

func (t *thread) b(q geom.Point3) geom.Point3 {
	d := q.Sub(t.from)
	z := d.Dot(t.along)
	turn := t.along.Cross(d)
	return turn.Scale(mu0Over4Pi * line(turn.Dot(turn), -z, t.lengthM-z))
}
