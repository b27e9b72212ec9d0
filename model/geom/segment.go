package geom

import "math"

// NearestOnSegment returns the point of the segment from a to b that lies
// nearest to q.
func NearestOnSegment(q, a, b Point) Point {
	d := b.Sub(a)
	l2 := d.Dot(d)
	if l2 == 0 {
		return a
	}
	t := q.Sub(a).Dot(d) / l2
	switch {
	case t <= 0:
		return a
	case t >= 1:
		return b
	}
	return a.Add(d.Scale(t))
}

// SegmentGapM returns the smallest distance in metres between the segments ab
// and cd with a nearest point on each; 0 when they cross or touch.
func SegmentGapM(a, b, c, d Point) (distM float64, onAB, onCD Point) {
	if at, ok := properCrossing(a, b, c, d); ok {
		return 0, at, at
	}
	distM = math.Inf(1)
	try := func(p, q Point) {
		if r := q.Sub(p).Norm(); r < distM {
			distM, onAB, onCD = r, p, q
		}
	}
	try(a, NearestOnSegment(a, c, d))
	try(b, NearestOnSegment(b, c, d))
	try(NearestOnSegment(c, a, b), c)
	try(NearestOnSegment(d, a, b), d)
	return distM, onAB, onCD
}

// properCrossing returns the crossing of ab and cd when each segment has the
// ends of the other strictly on both sides.
func properCrossing(a, b, c, d Point) (Point, bool) {
	ab, cd := b.Sub(a), d.Sub(c)
	c1, c2 := ab.Cross(c.Sub(a)), ab.Cross(d.Sub(a))
	d1, d2 := cd.Cross(a.Sub(c)), cd.Cross(b.Sub(c))
	if !(c1 > 0 && c2 < 0 || c1 < 0 && c2 > 0) || !(d1 > 0 && d2 < 0 || d1 < 0 && d2 > 0) {
		return Point{}, false
	}
	return a.Add(ab.Scale(d1 / (d1 - d2))), true
}
