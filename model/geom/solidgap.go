package geom

import "math"

// OverlapConvex reports whether a and b share volume. Solids that only touch, and
// those that run into each other by less than the tolerance, do not overlap.
//
// Two convex polyhedra are apart when the direction of a face of one of them, or
// one across an edge of each, parts them. Source: S. Gottschalk, M. C. Lin,
// D. Manocha, OBBTree, SIGGRAPH 1996 (theorem of the separating axis; reference
// from memory).
func OverlapConvex(a, b Convex) bool {
	if a.Empty() || b.Empty() || b.centre.Sub(a.centre).Norm() > a.radiusM+b.radiusM {
		return false
	}
	tol := math.Max(a.toleranceM(), b.toleranceM())
	parted := func(n Point3) bool {
		lowA, highA := a.extent(n)
		lowB, highB := b.extent(n)
		return math.Min(highA-lowB, highB-lowA) <= tol
	}
	if d := b.centre.Sub(a.centre); d.Norm() > 0 && parted(d.Scale(1/d.Norm())) {
		return false
	}
	for i := range a.faces {
		if parted(a.faces[i].normal) {
			return false
		}
	}
	for i := range b.faces {
		if parted(b.faces[i].normal) {
			return false
		}
	}
	along, other := a.directions(), b.directions()
	for _, u := range along {
		for _, v := range other {
			n := u.Cross(v)
			// Edges as good as parallel: a face has parted the solids if they can be.
			if size := n.Norm(); size > 1e-9 && parted(n.Scale(1/size)) {
				return false
			}
		}
	}
	return true
}

// GapConvexM returns the smallest distance in metres between a and b; 0 when they
// touch or overlap, +Inf when one of them is empty. Exact but for rounding: the
// least over corners and faces and over pairs of edges.
func GapConvexM(a, b Convex) float64 {
	if a.Empty() || b.Empty() {
		return math.Inf(1)
	}
	if OverlapConvex(a, b) {
		return 0
	}
	least := math.Inf(1)
	for _, pair := range [2][2]*Convex{{&a, &b}, {&b, &a}} {
		for i := range pair[0].faces {
			f := &pair[0].faces[i]
			for _, p := range pair[1].corners {
				if h := f.normal.Dot(p) - f.level; h >= 0 && h < least {
					least = math.Min(least, f.distanceM(p))
				}
			}
		}
	}
	for i := range a.edges {
		p := &a.edges[i]
		for j := range b.edges {
			q := &b.edges[j]
			// No nearer than the balls about the edges.
			d := q.mid.Sub(p.mid)
			if reach := least + p.half + q.half; d.Dot(d) < reach*reach {
				least = math.Min(least, segmentGap3M(p.a, p.b, q.a, q.b))
			}
		}
	}
	if least <= math.Max(a.toleranceM(), b.toleranceM()) {
		return 0
	}
	return least
}

// extent returns the ends of the shadow of c on the unit vector n.
func (c *Convex) extent(n Point3) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, p := range c.corners {
		d := n.Dot(p)
		low, high = math.Min(low, d), math.Max(high, d)
	}
	return low, high
}

// directions returns the unit directions of the edges, each once.
func (c *Convex) directions() []Point3 {
	var out []Point3
next:
	for i := range c.edges {
		u := c.edges[i].b.Sub(c.edges[i].a).Scale(0.5 / c.edges[i].half)
		for _, v := range out {
			if u.Cross(v).Norm() < 1e-12 {
				continue next
			}
		}
		out = append(out, u)
	}
	return out
}

// segmentGap3M returns the distance between the segments p0 p1 and q0 q1 in space.
// Source: C. Ericson, Real-Time Collision Detection, section 5.1.9 (closest points
// of two segments; reference from memory).
func segmentGap3M(p0, p1, q0, q1 Point3) float64 {
	u, v, w := p1.Sub(p0), q1.Sub(q0), p0.Sub(q0)
	a, e, b := u.Dot(u), v.Dot(v), u.Dot(v)
	c, f := u.Dot(w), v.Dot(w)
	s := 0.0
	if n := u.Cross(v); n.Dot(n) > 1e-20*a*e { // not parallel
		s = math.Min(1, math.Max(0, (float64(b*f)-float64(c*e))/n.Dot(n)))
	}
	t := (float64(b*s) + f) / e
	if t < 0 {
		t, s = 0, math.Min(1, math.Max(0, -c/a))
	} else if t > 1 {
		t, s = 1, math.Min(1, math.Max(0, (b-c)/a))
	}
	return p0.Add(u.Scale(s)).Sub(q0.Add(v.Scale(t))).Norm()
}
