package geom

import (
	"math"
	"slices"
)

// GapM returns the smallest distance in metres between a and b and the two
// points, one on each boundary, that have it. The distance is 0 when they touch
// or overlap; the points are then the same and lie in both.
func GapM(a, b Polygon) (distM float64, pa, pb Point) {
	return GapRegionsM(Solid(a), Solid(b))
}

// OverlapRegions reports whether a and b share area. Pieces that only touch, and
// those that run into each other by less than the tolerance, do not overlap, nor
// does a bar in the hole of a ring overlap the ring.
func OverlapRegions(a, b Region) bool {
	_, ok := common(a, b)
	return ok
}

// GapRegionsM is GapM for regions with holes.
func GapRegionsM(a, b Region) (distM float64, pa, pb Point) {
	if at, ok := common(a, b); ok {
		return 0, at, at
	}
	distM = math.Inf(1)
	for _, pol := range a.boundaries() {
		for _, other := range b.boundaries() {
			for i := range pol {
				a0, a1 := pol.Edge(i)
				for j := range other {
					b0, b1 := other.Edge(j)
					if d, p, q := SegmentGapM(a0, a1, b0, b1); d < distM {
						distM, pa, pb = d, p, q
					}
				}
			}
		}
	}
	if distM <= a.Box().Join(b.Box()).toleranceM() {
		return 0, pa, pa
	}
	return distM, pa, pb
}

// common returns a point in the inside of both a and b. Either a boundary of a
// runs inside b, and then so does the middle of a piece of it between two
// crossings; or no boundary of a cuts the inside of b, which then lies wholly in
// a or wholly outside, and any inner point of b tells. An inner point of a is
// tried as well because it is cheap.
func common(a, b Region) (Point, bool) {
	if len(a.Outer) < 3 || len(b.Outer) < 3 || !a.Box().Meets(b.Box()) {
		return Point{}, false
	}
	tol := a.Box().Join(b.Box()).toleranceM()
	for _, q := range []Point{innerPoint(a), innerPoint(b)} {
		if a.deepInside(q, tol) && b.deepInside(q, tol) {
			return q, true
		}
	}
	return pieceInside(a, b, tol)
}

// innerPoint returns a point in the material of r.
func innerPoint(r Region) Point {
	q := r.Outer.interiorPoint()
	if len(r.Holes) == 0 || r.deepInside(q, 0) {
		return q
	}
	// The first hole swallowed it: go half-way from a corner of the outer
	// polygon to the nearest boundary of a hole.
	best, at := math.Inf(1), q
	for _, v := range r.Outer {
		for _, h := range r.Holes {
			if d, n := h.nearestOnBoundary(v); d < best {
				best, at = d, v.Add(n).Scale(0.5)
			}
		}
	}
	return at
}

// pieceInside cuts every edge of a where it meets an edge of b and returns the
// middle of the first piece that lies inside b.
func pieceInside(a, b Region, tol float64) (Point, bool) {
	box := b.Box().Grow(tol)
	for _, pol := range a.boundaries() {
		for i := range pol {
			p0, p1 := pol.Edge(i)
			if !box.Meets(EmptyBox().Extend(p0).Extend(p1)) {
				continue
			}
			cuts := []float64{0, 1}
			for _, other := range b.boundaries() {
				for j := range other {
					q0, q1 := other.Edge(j)
					cuts = appendCuts(cuts, p0, p1, q0, q1, tol)
				}
			}
			slices.Sort(cuts)
			for k := 1; k < len(cuts); k++ {
				at := p0.Add(p1.Sub(p0).Scale((cuts[k-1] + cuts[k]) / 2))
				if b.deepInside(at, tol) {
					return at, true
				}
			}
		}
	}
	return Point{}, false
}

// appendCuts adds the places on p0 p1, as shares of its length, where q0 q1
// crosses it or touches it.
func appendCuts(cuts []float64, p0, p1, q0, q1 Point, tol float64) []float64 {
	d := p1.Sub(p0)
	l2 := d.Dot(d)
	share := func(q Point) float64 { return q.Sub(p0).Dot(d) / l2 }
	if at, ok := properCrossing(p0, p1, q0, q1); ok {
		return append(cuts, share(at))
	}
	for _, q := range []Point{q0, q1} {
		if NearestOnSegment(q, p0, p1).Sub(q).Norm() <= tol {
			cuts = append(cuts, min(max(share(q), 0), 1))
		}
	}
	return cuts
}
