package mesh

import "busgauss/model/geom"

// Quadratic is a mesh with a node in the middle of every edge. Corner nodes come first and keep their
// numbers; middle nodes follow in the order in which triangles, by rising index, first meet their edges.
type Quadratic struct {
	Nodes []geom.Point
	// Tris holds corners 0, 1, 2, then the nodes between 0 and 1, 1 and 2, 2 and 0.
	Tris [][6]int32
	// Mid is the middle node of each of Mesh.Edges.
	Mid []int32
	// Curved says which triangles have a middle node off the chord.
	Curved []bool
	// Straightened counts arc edges left straight because bending would have folded a triangle.
	Straightened int
}

// P2 returns the quadratic mesh. Middle nodes lie half-way along straight edges and on the arc, half-way
// between its ends, along arcs.
func (m *Mesh) P2() *Quadratic {
	q := &Quadratic{
		Tris:   make([][6]int32, len(m.Tris)),
		Mid:    make([]int32, len(m.Edges)),
		Curved: make([]bool, len(m.Tris)),
	}
	// Euler: a mesh of n nodes has fewer than 3n edges.
	q.Nodes = make([]geom.Point, len(m.Nodes), 4*len(m.Nodes))
	copy(q.Nodes, m.Nodes)
	bent := make([]bool, len(m.Edges))
	for k, t := range m.Tris {
		six := &q.Tris[k]
		six[0], six[1], six[2] = t[0], t[1], t[2]
		for e := range int32(3) {
			slot := 3 + next(e) // edge opposite corner 0 runs 1→2, whose node is number 4
			n := m.Adj[k][e]
			if n >= 0 && n < int32(k) {
				six[slot] = q.midOf(m, n, int32(k), t[next(e)])
				continue
			}
			a, b := m.Nodes[t[next(e)]], m.Nodes[t[prev(e)]]
			mid := geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
			if s := m.EdgeOf[k][e]; s >= 0 {
				q.Mid[s] = int32(len(q.Nodes))
				if arc := m.Edges[s].Arc; arc >= 0 {
					bent[s] = true
					mid = arcMiddle(m.Arcs[arc], a, b)
				}
			}
			six[slot] = int32(len(q.Nodes))
			q.Nodes = append(q.Nodes, mid)
		}
	}
	q.straighten(m, bent)
	return q
}

// midOf returns the middle node of the edge that triangle n shares with k, at which k's corner b starts.
func (q *Quadratic) midOf(m *Mesh, n, k, b int32) int32 {
	for e := range int32(3) {
		if m.Adj[n][e] == k && m.Tris[n][prev(e)] == b {
			return q.Tris[n][3+next(e)]
		}
	}
	panic("mesh: neighbours disagree")
}

// straighten puts the middle nodes of arcs back on the chord where the map from the reference triangle
// would fold, until none does.
func (q *Quadratic) straighten(m *Mesh, bent []bool) {
	for again := true; again; {
		again = false
		for k := range m.Tris {
			curved := false
			for _, s := range m.EdgeOf[k] {
				curved = curved || (s >= 0 && bent[s])
			}
			if !curved || q.unfolded(k) {
				continue
			}
			for e, s := range m.EdgeOf[k] {
				if s >= 0 && bent[s] {
					t := m.Tris[k]
					a, b := m.Nodes[t[(e+1)%3]], m.Nodes[t[(e+2)%3]]
					q.Nodes[q.Mid[s]] = geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
					bent[s] = false
					q.Straightened++
					again = true
				}
			}
		}
	}
	for k := range m.Tris {
		for _, s := range m.EdgeOf[k] {
			q.Curved[k] = q.Curved[k] || (s >= 0 && bent[s])
		}
	}
}

// unfolded says whether the Jacobian is positive over the whole triangle. It is a quadratic polynomial, so
// its Bernstein coefficients bound it from below: the corner values and, for each edge, twice the middle
// value less the mean of the ends.
func (q *Quadratic) unfolded(k int) bool {
	var p [6]geom.Point
	for i, n := range q.Tris[k] {
		p[i] = q.Nodes[n]
	}
	at := func(x, y float64) float64 {
		z := 1 - x - y
		// Derivatives of the six shape functions with respect to x and y.
		dx := [6]float64{1 - 4*z, 4*x - 1, 0, 4 * (z - x), 4 * y, -4 * y}
		dy := [6]float64{1 - 4*z, 0, 4*y - 1, -4 * x, 4 * x, 4 * (z - y)}
		var u, v geom.Point
		for i := range p {
			u.X += float64(dx[i] * p[i].X)
			u.Y += float64(dx[i] * p[i].Y)
			v.X += float64(dy[i] * p[i].X)
			v.Y += float64(dy[i] * p[i].Y)
		}
		return float64(u.X*v.Y) - float64(u.Y*v.X)
	}
	j0, j1, j2 := at(0, 0), at(1, 0), at(0, 1)
	m01, m12, m20 := at(0.5, 0), at(0.5, 0.5), at(0, 0.5)
	return j0 > 0 && j1 > 0 && j2 > 0 &&
		2*m01-(j0+j1)/2 > 0 && 2*m12-(j1+j2)/2 > 0 && 2*m20-(j2+j0)/2 > 0
}
