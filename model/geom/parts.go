package geom

import "math"

// ConvexParts returns p itself when it is convex, else triangles that fill it, cut
// off ear by ear; p must be simple and counter-clockwise. The time grows with the
// third power of the number of corners at worst.
// Source: G. H. Meisters, Polygons have ears, Amer. Math. Monthly 82 (1975) 648-651.
func (p Polygon) ConvexParts() []Polygon {
	convex := true
	for i := range p {
		convex = convex && p.turnAt(i) >= 0
	}
	if convex {
		return []Polygon{p}
	}
	rest := append(Polygon(nil), p...)
	var out []Polygon
	for len(rest) > 3 {
		i, n := rest.ear(), len(rest)
		if rest.turnAt(i) > 0 {
			out = append(out, Polygon{rest[(i+n-1)%n], rest[i], rest[(i+1)%n]})
		}
		rest = append(rest[:i], rest[i+1:]...)
	}
	if rest.turnAt(0) > 0 {
		out = append(out, rest)
	}
	return out
}

// turnAt returns twice the area of the triangle at corner i, negative where p turns in.
func (p Polygon) turnAt(i int) float64 {
	n := len(p)
	a, b, c := p[(i+n-1)%n], p[i], p[(i+1)%n]
	return b.Sub(a).Cross(c.Sub(b))
}

// ear returns a corner whose triangle holds no other corner that turns in; of
// several the one of the largest area, so that slivers are kept small.
func (p Polygon) ear() int {
	n := len(p)
	in := make([]int, 0, n)
	for j := range p {
		if p.turnAt(j) < 0 {
			in = append(in, j)
		}
	}
	best, area := 0, math.Inf(-1)
next:
	for i := range p {
		t := p.turnAt(i)
		if t < 0 || t <= area {
			continue
		}
		tri := Polygon{p[(i+n-1)%n], p[i], p[(i+1)%n]}
		for _, j := range in {
			if j != (i+1)%n && j != (i+n-1)%n && tri.Contains(p[j]) {
				continue next
			}
		}
		best, area = i, t
	}
	return best
}

// ConvexParts returns convex polygons that fill r; r may have one hole, around
// which the outer polygon runs corner by corner, as in Ring.
func (r Region) ConvexParts() []Polygon {
	if len(r.Holes) == 0 {
		return r.Outer.ConvexParts()
	}
	hole := r.Holes[0]
	if len(r.Holes) > 1 || len(hole) != len(r.Outer) {
		panic("geom: region is no ring")
	}
	out := make([]Polygon, len(hole))
	for i := range hole {
		j := (i + 1) % len(hole)
		out[i] = Polygon{r.Outer[i], r.Outer[j], hole[j], hole[i]}
	}
	return out
}
