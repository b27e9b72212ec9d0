package mesh

import "busgauss/model/geom"

// triangle is one record of the working triangulation. Edge i lies opposite v[i] and runs from v[i+1] to
// v[i+2]. Records are never freed: every insertion makes at least as many triangles as it removes.
type triangle struct {
	v      [3]int32 // corners, counter-clockwise
	n      [3]int32 // neighbour over edge i, -1 outside
	s      [3]int32 // constraint on edge i, -1 none
	region RegionID
	fixed  bool // inside skin layers: never refined for shape or size
}

// border is an edge of a cavity, counter-clockwise seen from inside.
type border struct {
	a, b   int32
	n      int32 // triangle outside, -1 none
	j      int32 // its edge
	s      int32 // constraint, -1 none
	region RegionID
	fixed  bool
}

// triangulation is the working state, with scratch space that outlives one insertion.
type triangulation struct {
	pts  []geom.Point
	tris []triangle
	at   []int32 // one triangle around each point

	mark  []int32 // triangle was put in the cavity numbered so
	epoch int32
	start []int32 // new triangle whose border edge starts at this point
	cav   []int32
	rim   []border
	fresh []int32 // triangles made or changed by the last insertion
	stack []int32
}

func next(i int32) int32 { return (i + 1) % 3 }
func prev(i int32) int32 { return (i + 2) % 3 }

// addPoint appends a point that no triangle uses yet.
func (t *triangulation) addPoint(p geom.Point) int32 {
	t.pts = append(t.pts, p)
	t.at = append(t.at, -1)
	t.start = append(t.start, -1)
	return int32(len(t.pts) - 1)
}

// addTriangle appends an empty record.
func (t *triangulation) addTriangle() int32 {
	t.tris = append(t.tris, triangle{})
	t.mark = append(t.mark, 0)
	return int32(len(t.tris) - 1)
}

// edgeOf returns the edge of triangle k that runs from b to a.
func (t *triangulation) edgeOf(k, b int32) int32 {
	v := &t.tris[k].v
	switch b {
	case v[0]:
		return 2
	case v[1]:
		return 0
	}
	return 1
}

// cornerOf returns the index of point p in triangle k.
func (t *triangulation) cornerOf(k, p int32) int32 {
	v := &t.tris[k].v
	switch p {
	case v[0]:
		return 0
	case v[1]:
		return 1
	}
	return 2
}

// findEdge returns a triangle and its edge that joins a and b, in either sense.
func (t *triangulation) findEdge(a, b int32) (k, i int32, ok bool) {
	first := t.at[a]
	for k = first; k >= 0; {
		c := t.cornerOf(k, a)
		tri := &t.tris[k]
		if tri.v[next(c)] == b {
			return k, prev(c), true
		}
		if tri.v[prev(c)] == b {
			return k, next(c), true
		}
		if k = tri.n[next(c)]; k == first {
			return -1, 0, false
		}
	}
	// An open fan: the other way round from the first triangle.
	for k = t.tris[first].n[prev(t.cornerOf(first, a))]; k >= 0; {
		c := t.cornerOf(k, a)
		tri := &t.tris[k]
		if tri.v[next(c)] == b {
			return k, prev(c), true
		}
		k = tri.n[prev(c)]
	}
	return -1, 0, false
}

// walk steps from triangle k towards p and returns the triangle that holds p. When only constraints or
// the rim lie between it stops, and edge is the one in the way; edge is -1 otherwise. With through set it
// passes constraints. ok is false when the step limit ran out.
func (t *triangulation) walk(k int32, p geom.Point, through bool) (at, edge int32, ok bool) {
	last := int32(-1)
	for limit := len(t.tris) + 16; limit > 0; limit-- {
		tri := &t.tris[k]
		a, b, c := t.pts[tri.v[0]], t.pts[tri.v[1]], t.pts[tri.v[2]]
		blocked := int32(-1)
		step := int32(-1)
		for i := range int32(3) {
			if tri.n[i] >= 0 && tri.n[i] == last {
				continue
			}
			var o float64
			switch i {
			case 0:
				o = orient(b, c, p)
			case 1:
				o = orient(c, a, p)
			default:
				o = orient(a, b, p)
			}
			if o >= 0 {
				continue
			}
			if tri.n[i] < 0 || (!through && tri.s[i] >= 0) {
				blocked = i
				continue
			}
			step = tri.n[i]
			break
		}
		if step < 0 {
			return k, blocked, true
		}
		last, k = k, step
	}
	return k, -1, false
}
