package geom

import "math"

// Polygon is a simple polygon given by its corners, counter-clockwise once
// Normal has been called. The first corner is not repeated at the end. Edge i
// runs from corner i to corner i+1, the last one back to corner 0.
type Polygon []Point

// Edge returns the two ends of edge i.
func (p Polygon) Edge(i int) (Point, Point) { return p[i], p[(i+1)%len(p)] }

// SignedAreaM2 returns the area in square metres, positive when the corners run
// counter-clockwise: half the sum of the cross products of the corners, taken
// from the first corner so that a far-away section loses no digits.
func (p Polygon) SignedAreaM2() float64 {
	sum := 0.0
	for i := 1; i+1 < len(p); i++ {
		sum += p[i].Sub(p[0]).Cross(p[i+1].Sub(p[0]))
	}
	return sum / 2
}

// AreaM2 returns the area in square metres, never negative.
func (p Polygon) AreaM2() float64 { return math.Abs(p.SignedAreaM2()) }

// Normal returns a copy of p with its corners counter-clockwise, beginning at
// the same corner. Nothing else changes: no corner is dropped.
func (p Polygon) Normal() Polygon {
	out := make(Polygon, len(p))
	copy(out, p)
	if p.SignedAreaM2() < 0 {
		for i, j := 1, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// Centroid returns the centre of area. A polygon without area gives NaN.
func (p Polygon) Centroid() Point {
	if len(p) == 0 {
		return Point{math.NaN(), math.NaN()}
	}
	var sum Point
	double := 0.0
	for i := 1; i+1 < len(p); i++ {
		u, v := p[i].Sub(p[0]), p[i+1].Sub(p[0])
		c := u.Cross(v)
		double += c
		sum = sum.Add(u.Add(v).Scale(c))
	}
	return p[0].Add(sum.Scale(1 / (3 * double)))
}

// Box returns the smallest box that holds p; EmptyBox for no corners.
func (p Polygon) Box() Box {
	b := EmptyBox()
	for _, q := range p {
		b = b.Extend(q)
	}
	return b
}

// Place returns p turned counter-clockwise by turnRad about its local origin
// and then moved so that the origin comes to at.
func (p Polygon) Place(at Point, turnRad float64) Polygon {
	out := make(Polygon, len(p))
	for i, q := range p {
		out[i] = q.Rotate(turnRad).Add(at)
	}
	return out
}

// Contains reports whether q lies in p. The boundary belongs to p, and so does
// every point nearer to it than the tolerance of the package comment.
func (p Polygon) Contains(q Point) bool {
	box := p.Box()
	tol := box.toleranceM()
	if len(p) == 0 || !box.Grow(tol).Contains(q) {
		return false
	}
	return p.encloses(q) || p.BoundaryDistanceM(q) <= tol
}

// encloses counts the turns of p round q by crossings of the ray to the right.
// A point on the boundary may come out either way.
func (p Polygon) encloses(q Point) bool {
	in := false
	for i := range p {
		a, b := p.Edge(i)
		if (a.Y > q.Y) == (b.Y > q.Y) {
			continue
		}
		// The side of the edge on which q lies, without a division.
		c := b.Sub(a).Cross(q.Sub(a))
		if (c > 0) == (b.Y > a.Y) {
			in = !in
		}
	}
	return in
}

// BoundaryDistanceM returns the distance in metres from q to the nearest point
// of the boundary, whether q lies inside or not; +Inf for no corners.
func (p Polygon) BoundaryDistanceM(q Point) float64 {
	d, _ := p.nearestOnBoundary(q)
	return d
}

// nearestOnBoundary returns the distance from q to the boundary and the point
// of the boundary that has it.
func (p Polygon) nearestOnBoundary(q Point) (float64, Point) {
	best, at := math.Inf(1), q
	for i := range p {
		a, b := p.Edge(i)
		n := NearestOnSegment(q, a, b)
		if d := n.Sub(q).Norm(); d < best {
			best, at = d, n
		}
	}
	return best, at
}

// DistanceM returns the distance in metres from q to p; 0 when q lies inside.
func (p Polygon) DistanceM(q Point) float64 {
	if p.Contains(q) {
		return 0
	}
	return p.BoundaryDistanceM(q)
}

// SelfCrossing returns the first two edges, i < j, that cross or touch where
// they should not: neighbours may share their common corner only. An edge of no
// length is reported first, with the one after it. ok is false for a simple polygon.
func (p Polygon) SelfCrossing() (i, j int, ok bool) {
	n := len(p)
	tol := p.Box().toleranceM()
	for i = range p {
		if a, b := p.Edge(i); b.Sub(a).Norm() <= tol {
			return min(i, (i+1)%n), max(i, (i+1)%n), true
		}
	}
	for i = range p {
		a, b := p.Edge(i)
		for j = i + 1; j < n; j++ {
			c, d := p.Edge(j)
			var bad bool
			switch {
			case j == i+1:
				bad = foldsBack(a, b, d, tol)
			case i == 0 && j == n-1:
				bad = foldsBack(c, a, b, tol)
			default:
				gap, _, _ := SegmentGapM(a, b, c, d)
				bad = gap <= tol
			}
			if bad {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// foldsBack reports whether the path a, b, c returns onto itself at b.
func foldsBack(a, b, c Point, tol float64) bool {
	u, v := a.Sub(b), c.Sub(b)
	if u.Dot(v) <= 0 {
		return false
	}
	short, long := u, v
	if u.Norm() > v.Norm() {
		short, long = v, u
	}
	return math.Abs(short.Cross(long)) <= tol*long.Norm()
}

// interiorPoint returns a point well inside p: from the lowest corner, which is
// convex, towards the opposite side or the corner that stands in the way.
// Source: J. O'Rourke, Computational Geometry in C, 2nd ed., section 1.2
// (existence of a diagonal; reference from memory).
func (p Polygon) interiorPoint() Point {
	n := len(p)
	k := 0
	for i := range p {
		if p[i].Y < p[k].Y || p[i].Y == p[k].Y && p[i].X < p[k].X {
			k = i
		}
	}
	a, v, b := p[(k+n-1)%n], p[k], p[(k+1)%n]
	tri := Polygon{a, v, b}.Normal()
	far, at := 0.0, -1
	for i := range p {
		if i == k || i == (k+1)%n || i == (k+n-1)%n || !tri.Contains(p[i]) {
			continue
		}
		if d := math.Abs(b.Sub(a).Cross(p[i].Sub(a))); at < 0 || d > far {
			far, at = d, i
		}
	}
	if at < 0 {
		return a.Add(v).Add(b).Scale(1.0 / 3)
	}
	return v.Add(p[at]).Scale(0.5)
}
