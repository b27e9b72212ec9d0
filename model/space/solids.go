package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// endlessM stands for the half length of a long bar where a solid is needed, ten
// kilometres: beyond any layout, and small enough for the tolerance of lengths
// to stay below a tenth of a micrometre.
const endlessM = 1e4

// Solids returns the metal of the bar as convex pieces, their union the bar with
// its cuts filled. Pieces of one bar touch each other. A long bar reaches ten
// kilometres each way. Round sections are inscribed polygons
// (layout.Bar.SectionCorners); outlines that are not convex are split into triangles.
func (c *Conductor) Solids() []geom.Convex {
	if len(c.legs) > 0 {
		return c.solids
	}
	l := c.home()
	l.From.Z, l.To.Z = -endlessM, endlessM
	return solidsOf(c.bar, &l)
}

// Contains reports whether there is metal of the bar at p; its surface belongs to
// it, what its cuts take does not.
func (c *Conductor) Contains(p geom.Point3) bool { return c.DistanceM(p) <= 0 }

// DistanceM returns the distance in metres from p to the metal of the bar; 0 inside.
// Round bars are round. Where a cut is nearest the rims of its holes are polygons (plan.Outline).
func (c *Conductor) DistanceM(p geom.Point3) float64 {
	if len(c.legs) == 0 {
		if c.plate != nil {
			return c.plateM(p, 0)
		}
		return c.acrossM(p.Sub(c.bar.At.Point().Space(0)), c.bar.TurnRad.V)
	}
	least := math.Inf(1)
	per := len(c.solids) / len(c.legs)
	home := c.bar.HomeLeg(c.legs)
	for i := range c.legs {
		d := math.Inf(1)
		for _, s := range c.solids[i*per : (i+1)*per] {
			d = math.Min(d, s.DistanceM(p))
		}
		if i == home && c.plate != nil {
			d = c.plateM(p, d)
		}
		least = math.Min(least, d)
	}
	if c.bar.Section.Kind == layout.Round && least > 0 {
		least = math.Min(least, c.roundM(p))
	}
	return least
}

// acrossM returns the distance from a point, as seen from the bar's place, to the
// section of a long bar.
func (c *Conductor) acrossM(d geom.Point3, turnRad float64) float64 {
	q := d.XY().Rotate(-turnRad)
	if c.bar.Section.Kind == layout.Round {
		return math.Max(0, q.Norm()-c.bar.Section.DiameterM.V/2)
	}
	return c.bar.SectionCorners().DistanceM(q)
}

// roundM returns the distance from p to the mantle of the legs of a round bar whose
// nearest line lies between the planes that cut it; +Inf where there is none.
func (c *Conductor) roundM(p geom.Point3) float64 {
	a := c.bar.Section.DiameterM.V / 2
	least := math.Inf(1)
	for i := range c.legs {
		l := &c.legs[i]
		d := p.Sub(l.From)
		q := geom.Point{X: d.Dot(l.U), Y: d.Dot(l.V)}
		rho := q.Norm()
		near := q
		if rho > a {
			near = q.Scale(a / rho)
		}
		from, to := l.Edge(near)
		z := d.Dot(l.Along)
		if z >= from.Sub(l.From).Dot(l.Along) && z <= to.Sub(l.From).Dot(l.Along) {
			least = math.Min(least, math.Max(0, rho-a))
		}
	}
	return least
}

// plateM returns the distance from p to the metal of the piece with cuts, wholeM
// being that to the piece with its cuts filled. Next to a mitre the
// greater of the two may be short of the distance, never long.
func (c *Conductor) plateM(p geom.Point3, wholeM float64) float64 {
	d := c.plate.distanceM(p)
	if d == 0 && c.plate.taken(p) {
		// In the sliver between a rim and the polygon that stands for it.
		d = math.SmallestNonzeroFloat64
	}
	return math.Max(d, wholeM)
}

// solidsOf returns leg l of bar b as convex pieces.
func solidsOf(b *layout.Bar, l *layout.Leg) []geom.Convex {
	section := b.SectionCorners().Normal()
	var out []geom.Convex
	for _, part := range convexParts(section) {
		from, to := make([]geom.Point3, len(part)), make([]geom.Point3, len(part))
		for i, q := range part {
			from[i], to[i] = l.Edge(q)
		}
		out = append(out, geom.Prism(from, to))
	}
	return out
}

// convexParts returns p itself when it is convex, else triangles that fill it, cut off
// ear by ear. p is simple and counter-clockwise.
// Source: G. H. Meisters, Polygons have ears, Amer. Math. Monthly 82 (1975) 648-651.
func convexParts(p geom.Polygon) []geom.Polygon {
	convex := true
	for i := range p {
		if turnAt(p, i) < 0 {
			convex = false
		}
	}
	if convex {
		return []geom.Polygon{p}
	}
	rest := append(geom.Polygon(nil), p...)
	var out []geom.Polygon
	for len(rest) > 3 {
		i := ear(rest)
		n := len(rest)
		if turnAt(rest, i) > 0 {
			out = append(out, geom.Polygon{rest[(i+n-1)%n], rest[i], rest[(i+1)%n]})
		}
		rest = append(rest[:i], rest[i+1:]...)
	}
	return append(out, rest)
}

// turnAt returns twice the area of the triangle at corner i, negative where p turns in.
func turnAt(p geom.Polygon, i int) float64 {
	n := len(p)
	a, b, c := p[(i+n-1)%n], p[i], p[(i+1)%n]
	return b.Sub(a).Cross(c.Sub(b))
}

// ear returns a corner whose triangle holds no other corner; of several the one
// of the largest area, so that slivers are kept small.
func ear(p geom.Polygon) int {
	n := len(p)
	best, area := 0, math.Inf(-1)
	for i := range p {
		t := turnAt(p, i)
		if t < 0 || t <= area {
			continue
		}
		tri := geom.Polygon{p[(i+n-1)%n], p[i], p[(i+1)%n]}
		free := true
		for j := range p {
			if j != i && j != (i+1)%n && j != (i+n-1)%n && turnAt(p, j) < 0 && tri.Contains(p[j]) {
				free = false
				break
			}
		}
		if free {
			best, area = i, t
		}
	}
	return best
}
