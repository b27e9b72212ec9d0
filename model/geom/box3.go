package geom

import "math"

// Box3 is a box along the axes in space. A box with Min above Max is empty;
// EmptyBox3 is the neutral element of Join.
type Box3 struct{ Min, Max Point3 }

// EmptyBox3 returns a box that holds nothing.
func EmptyBox3() Box3 {
	inf := math.Inf(1)
	return Box3{Point3{inf, inf, inf}, Point3{-inf, -inf, -inf}}
}

// Join returns the smallest box that holds both b and c.
func (b Box3) Join(c Box3) Box3 {
	return Box3{
		Point3{math.Min(b.Min.X, c.Min.X), math.Min(b.Min.Y, c.Min.Y), math.Min(b.Min.Z, c.Min.Z)},
		Point3{math.Max(b.Max.X, c.Max.X), math.Max(b.Max.Y, c.Max.Y), math.Max(b.Max.Z, c.Max.Z)},
	}
}

// Extend returns the smallest box that holds b and q.
func (b Box3) Extend(q Point3) Box3 { return b.Join(Box3{q, q}) }

// Apart reports whether more than gapM metres lie between b and c along an axis.
func (b Box3) Apart(c Box3, gapM float64) bool {
	return math.Max(b.Min.X-c.Max.X, c.Min.X-b.Max.X) > gapM || math.Max(b.Min.Y-c.Max.Y, c.Min.Y-b.Max.Y) > gapM ||
		math.Max(b.Min.Z-c.Max.Z, c.Min.Z-b.Max.Z) > gapM
}

// Box returns the smallest box that holds c.
func (c Convex) Box() Box3 {
	out := EmptyBox3()
	for _, p := range c.corners {
		out = out.Extend(p)
	}
	return out
}
