package mesh

import (
	"math"

	"busgauss/model/geom"
)

// Source names what an edge of the mesh came from.
type Source struct {
	Ref Ref
	Tag Tag
}

// piece is a constraint edge between two points of the drawing, undivided. The refinement divides it into
// subsegments that remember it.
type piece struct {
	a, b   int32
	from   []Source // one, or more where loops share the edge
	arc    int32
	kind   kind
	edgeM  float64
	owner  int32
	sharp  [2]bool // another piece leaves a or b at less than 60°
	stroke int32
}

// builder makes the constrained triangulation of a drawing inside a box.
type builder struct {
	triangulation
	d      *drawing
	pieces []piece
	pairs  [][2]int32
}

// newBuilder triangulates the points of a drawing in a box well around it. The box's corners come first.
func newBuilder(d *drawing) (*builder, error) {
	b := &builder{d: d}
	n := len(d.pts)
	b.pts = make([]geom.Point, 0, 2*n+4)
	b.tris = make([]triangle, 0, 4*n+8)
	size := d.box.Size()
	h := 4 * max(size.X, size.Y)
	c := d.box.Centre()
	for _, q := range [4]geom.Point{{X: -h, Y: -h}, {X: h, Y: -h}, {X: h, Y: h}, {X: -h, Y: h}} {
		b.addPoint(c.Add(q))
	}
	for _, p := range d.pts {
		b.addPoint(p)
	}
	b.addTriangle()
	b.addTriangle()
	none := [3]int32{-1, -1, -1}
	b.tris[0] = triangle{v: [3]int32{0, 1, 2}, n: [3]int32{-1, 1, -1}, s: none}
	b.tris[1] = triangle{v: [3]int32{0, 2, 3}, n: [3]int32{-1, -1, 0}, s: none}
	b.at[0], b.at[1], b.at[2], b.at[3] = 0, 0, 0, 1
	hint := int32(0)
	grown := d.box.Grow(0.1 * max(size.X, size.Y))
	for _, i := range insertionOrder(d.pts, grown) {
		k, _, ok := b.walk(hint, d.pts[i], true)
		if !ok || !b.insert(i+boxCorners, k) {
			return nil, &InputError{What: "points cannot be told apart", Loop: -1, Edge: -1}
		}
		hint = b.fresh[0]
	}
	return b, nil
}

const boxCorners = 4

// recoverAll makes every stroke an edge. Strokes of the drawing come before those of layers, so that a
// crossing is reported between the former where both take part.
func (b *builder) recoverAll() error {
	for pass := range 2 {
		for i := range b.d.strokes {
			s := &b.d.strokes[i]
			if (s.owner >= 0) != (pass == 1) {
				continue
			}
			if err := b.recover(s.a+boxCorners, s.b+boxCorners, int32(i)); err != nil {
				return err
			}
		}
	}
	return nil
}

// recover makes the straight line from p to q a chain of edges, divided at every point within the snap
// distance of it.
func (b *builder) recover(p, q, stroke int32) error {
	todo := [][2]int32{{p, q}}
	for len(todo) > 0 {
		e := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		on, err := b.recoverOne(e[0], e[1], stroke)
		if err != nil {
			return err
		}
		if on >= 0 {
			todo = append(todo, [2]int32{on, e[1]}, [2]int32{e[0], on})
		}
	}
	return nil
}

// onSegment says whether w lies between p and q within the snap distance.
func (b *builder) onSegment(w, p, q int32) bool {
	u, v := b.pts[q].Sub(b.pts[p]), b.pts[w].Sub(b.pts[p])
	l := u.Norm()
	s := u.Dot(v)
	return s > 0 && s < l*l && math.Abs(u.Cross(v)) <= b.d.tolM*l
}

// recoverOne makes p–q an edge, or returns a point that lies on it.
func (b *builder) recoverOne(p, q, stroke int32) (on int32, err error) {
	if k, i, ok := b.findEdge(p, q); ok {
		for range 2 {
			if w := b.tris[k].v[i]; b.onSegment(w, p, q) {
				return w, nil
			}
			n := b.tris[k].n[i]
			if n < 0 {
				break
			}
			k, i = n, b.edgeOf(n, b.tris[k].v[prev(i)])
		}
		b.constrain(p, q, stroke)
		return -1, nil
	}
	// The triangle at p through which the line leaves.
	k := b.at[p]
	first := k
	var i int32
	for {
		i = b.cornerOf(k, p)
		u, v := b.tris[k].v[next(i)], b.tris[k].v[prev(i)]
		if b.onSegment(u, p, q) {
			return u, nil
		}
		if orient(b.pts[p], b.pts[q], b.pts[u]) < 0 && orient(b.pts[p], b.pts[q], b.pts[v]) > 0 {
			if b.onSegment(v, p, q) {
				return v, nil
			}
			break
		}
		if k = b.tris[k].n[next(i)]; k == first || k < 0 {
			return -1, &InputError{What: "edge cannot be placed", Loop: b.d.strokes[stroke].ref.Loop, Edge: b.d.strokes[stroke].ref.Edge}
		}
	}
	b.pairs = b.pairs[:0]
	for {
		tri := &b.tris[k]
		u, v := tri.v[next(i)], tri.v[prev(i)]
		if s := tri.s[i]; s >= 0 {
			return -1, b.crossing(stroke, s, p, q, u, v)
		}
		b.pairs = append(b.pairs, [2]int32{u, v})
		n := tri.n[i]
		j := b.edgeOf(n, v)
		w := b.tris[n].v[j]
		if w == q {
			break
		}
		if b.onSegment(w, p, q) {
			return w, nil
		}
		k = n
		if orient(b.pts[p], b.pts[q], b.pts[w]) > 0 {
			i = b.edgeOf(n, u) // leaves between u and w
		} else {
			i = b.edgeOf(n, w)
		}
	}
	b.flipOut(p, q)
	b.constrain(p, q, stroke)
	return -1, nil
}

// flipOut flips the listed edges until none crosses p–q, then restores the Delaunay property around.
// Source: S. W. Sloan, Comput. Struct. 47 (1993) 441, doi:10.1016/0045-7949(93)90239-A.
func (b *builder) flipOut(p, q int32) {
	var made [][2]int32
	for len(b.pairs) > 0 {
		e := b.pairs[0]
		b.pairs = b.pairs[1:]
		k, i, _ := b.findEdge(e[0], e[1])
		if !b.convex(k, i) {
			b.pairs = append(b.pairs, e)
			continue
		}
		x := b.tris[k].v[i]
		n := b.tris[k].n[i]
		y := b.tris[n].v[b.edgeOf(n, b.tris[k].v[prev(i)])]
		b.flip(k, i)
		ox, oy := 0.0, 0.0
		if x != p && x != q && y != p && y != q {
			ox, oy = orient(b.pts[p], b.pts[q], b.pts[x]), orient(b.pts[p], b.pts[q], b.pts[y])
		}
		if (ox > 0 && oy < 0) || (ox < 0 && oy > 0) {
			b.pairs = append(b.pairs, [2]int32{x, y})
		} else if !(x == p && y == q) && !(x == q && y == p) {
			made = append(made, [2]int32{x, y})
		}
	}
	for len(made) > 0 {
		e := made[len(made)-1]
		made = made[:len(made)-1]
		k, i, ok := b.findEdge(e[0], e[1])
		if !ok || b.tris[k].s[i] >= 0 || b.tris[k].n[i] < 0 || (e[0] == p && e[1] == q) || (e[0] == q && e[1] == p) {
			continue
		}
		n := b.tris[k].n[i]
		v := &b.tris[k].v
		y := b.tris[n].v[b.edgeOf(n, v[prev(i)])]
		if inCircle(b.pts[v[0]], b.pts[v[1]], b.pts[v[2]], b.pts[y]) > 0 && b.convex(k, i) {
			x, a, c := v[i], v[next(i)], v[prev(i)]
			b.flip(k, i)
			made = append(made, [2]int32{x, a}, [2]int32{a, y}, [2]int32{y, c}, [2]int32{c, x})
		}
	}
}

// constrain marks the edge p–q, or adds the stroke to those that share it.
func (b *builder) constrain(p, q, stroke int32) {
	k, i, _ := b.findEdge(p, q)
	s := &b.d.strokes[stroke]
	src := Source{s.ref, s.tag}
	if id := b.tris[k].s[i]; id >= 0 {
		old := &b.pieces[id]
		if s.kind == plain {
			if old.kind != plain {
				old.from = nil
				old.kind, old.owner = plain, -1
			}
			old.from = append(old.from, src)
		} else if old.kind == row && s.kind == limit {
			old.kind = limit
		}
		if old.arc < 0 {
			old.arc = s.arc
		}
		if s.edgeM > 0 && (old.edgeM == 0 || s.edgeM < old.edgeM) {
			old.edgeM = s.edgeM
		}
		return
	}
	id := int32(len(b.pieces))
	b.pieces = append(b.pieces, piece{a: p, b: q, from: []Source{src}, arc: s.arc, kind: s.kind, edgeM: s.edgeM, owner: s.owner, stroke: stroke})
	b.tris[k].s[i] = id
	if n := b.tris[k].n[i]; n >= 0 {
		b.tris[n].s[b.edgeOf(n, b.tris[k].v[prev(i)])] = id
	}
}

// crossing describes two strokes that cross. A layer that runs into something is not an error of the
// drawing: it is reported to the caller as layerCrossing.
func (b *builder) crossing(stroke, old, p, q, u, v int32) error {
	s, o := &b.d.strokes[stroke], &b.d.strokes[b.pieces[old].stroke]
	if s.owner >= 0 {
		return &layerCrossing{s.owner, o.owner}
	}
	a, d := b.pts[p], b.pts[q].Sub(b.pts[p])
	e := b.pts[v].Sub(b.pts[u])
	f := b.pts[u].Sub(a).Cross(e) / d.Cross(e)
	return &CrossingError{First: b.pieces[old].from[0].Ref, Second: s.ref, At: a.Add(d.Scale(f))}
}

// layerCrossing is caught by Triangulate, which tries again with fewer rows.
type layerCrossing struct{ loop, other int32 }

func (e *layerCrossing) Error() string { return "mesh: layers run into an edge" }
