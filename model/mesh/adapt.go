package mesh

import "busgauss/model/geom"

// Refine halves the edge length wanted inside the marked triangles and refines again from the mesh as it
// is: nodes stay where they are, constraint edges and arcs are kept, and shape bounds hold again. Marked
// triangles of skin layers are divided in four instead, by points in the middle of their edges.
//
// len(marked) is the number of triangles. The Mesh is replaced as a whole; on error (CeilingError) it is
// unchanged. Options of the first triangulation go on to apply, and maxTriangles, when above zero, replaces
// its ceiling.
func (m *Mesh) Refine(marked []bool, maxTriangles int) error {
	if len(marked) != len(m.Tris) {
		panic("mesh: one mark for each triangle")
	}
	opt := m.opt
	if maxTriangles > 0 {
		opt.MaxTriangles = maxTriangles
	}
	r := m.refiner()
	r.setup(opt, m.tolM)
	// The size wanted comes from the old mesh, which stays as it is meanwhile.
	old := *m
	base := opt.Size
	hint := int32(0)
	r.size = func(p geom.Point, region RegionID) float64 {
		h := 0.0
		if base != nil {
			h = base(p, region)
		}
		// Points asked for are mostly close to one another, and never far outside: beyond the chord of an arc the
		// triangle at the chord answers.
		k, ok := old.walkFrom(hint, p)
		if !ok && !old.nearRim(k, p) {
			if found := old.Locate(p); found >= 0 {
				k = int32(found)
			}
		}
		hint = k
		if !marked[k] || old.Layer[k] {
			return h
		}
		if half := old.longestM(int(k)) / 2; !(h > 0) || half < h {
			return half
		}
		return h
	}
	if err := r.quarterLayers(m, marked); err != nil {
		return err
	}
	if err := r.run(); err != nil {
		return err
	}
	fresh := r.mesh(m.tolM)
	fresh.opt, fresh.Rows, fresh.InputNodes = opt, m.Rows, m.InputNodes
	*m = *fresh
	return nil
}

// nearRim says whether p lies beyond an arc chord on the rim of triangle k, within its diametral circle.
func (m *Mesh) nearRim(k int32, p geom.Point) bool {
	for e := range int32(3) {
		if s := m.EdgeOf[k][e]; m.Adj[k][e] < 0 && s >= 0 && m.Edges[s].Arc >= 0 &&
			obtuse(m.Nodes[m.Edges[s].A], m.Nodes[m.Edges[s].B], p) {
			return true
		}
	}
	return false
}

// longestM returns the longest edge of a triangle in metres.
func (m *Mesh) longestM(k int) float64 {
	t := m.Tris[k]
	a, b, c := m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]
	return max(a.Sub(b).Norm(), b.Sub(c).Norm(), c.Sub(a).Norm())
}

// refiner rebuilds the working state from a mesh, sharing nothing that it changes.
func (m *Mesh) refiner() *refiner {
	r := &refiner{pieces: m.pieces, arcs: m.Arcs}
	n, k := len(m.Nodes), len(m.Tris)
	r.pts = append(make([]geom.Point, 0, 2*n), m.Nodes...)
	r.on = append(make([]int32, 0, 2*n), m.on...)
	r.at, r.start = make([]int32, n, 2*n), make([]int32, n, 2*n)
	r.tris, r.mark = make([]triangle, k, 2*k), make([]int32, k, 2*k)
	for i := range r.start {
		r.start[i] = -1
	}
	for i := range r.tris {
		r.tris[i] = triangle{v: m.Tris[i], n: m.Adj[i], s: m.EdgeOf[i], region: m.Region[i], fixed: m.Layer[i]}
		for _, v := range m.Tris[i] {
			r.at[v] = int32(i)
		}
	}
	r.subs = make([]sub, len(m.Edges), 2*len(m.Edges))
	for i, e := range m.Edges {
		r.subs[i] = sub{a: e.A, b: e.B, piece: e.piece, frozen: e.stuck}
	}
	return r
}

// quarterLayers inserts the middle of every edge of the marked layer triangles. Layer lines are divided as
// constraints, diagonals as free points on them.
func (r *refiner) quarterLayers(m *Mesh, marked []bool) error {
	type edge struct{ a, b int32 }
	var free []edge
	var lines []int32
	seen := make([]bool, len(m.Edges))
	for k := range m.Tris {
		if !marked[k] || !m.Layer[k] {
			continue
		}
		for e := range int32(3) {
			if s := m.EdgeOf[k][e]; s >= 0 {
				if !seen[s] {
					seen[s] = true
					lines = append(lines, s)
				}
				continue
			}
			if n := m.Adj[k][e]; n > int32(k) || !marked[n] {
				free = append(free, edge{m.Tris[k][next(e)], m.Tris[k][prev(e)]})
			}
		}
	}
	for _, s := range lines {
		if err := r.ceiling(); err != nil {
			return err
		}
		r.divide(s)
	}
	for _, g := range free {
		if err := r.ceiling(); err != nil {
			return err
		}
		a, b := r.pts[g.a], r.pts[g.b]
		p := geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		k, edge, ok := r.walk(r.at[g.a], p, false)
		if !ok || edge >= 0 {
			continue
		}
		v := r.addPoint(p)
		if !r.insert(v, k) {
			r.dropPoint()
			continue
		}
		r.on = append(r.on, freePoint)
		r.afterInsert()
	}
	return r.drainSubs()
}
