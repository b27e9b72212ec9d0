package fem

import (
	"math"
	"sort"

	"busgauss/model/element"
	"busgauss/model/mesh"
	"busgauss/model/portable"
)

// rim is the exact exterior: the block of the matrix that stands for the field
// outside the circle.
//
//	D = Σ_n (n/π) (c_n c_nᵀ + s_n s_nᵀ),  c_n[i] = ∫ Ni cos nθ dθ, s_n likewise
//
// in units of the reluctivity of free space, plus c_0 c_0ᵀ/2π, which fixes the
// mean on the circle at zero: the reaction has no net current. Terms run up to
// the number of edges on the circle; above that the elements carry nothing.
//
// Source: see the package comment. Curved edges count as arcs; their nodes lie
// on the circle, and the parabola between leaves it by less than 1e-6 of the
// radius for 40 edges.
type rim struct {
	node  []int32 // ascending
	block [][]float64
}

func newRim(g *grid) *rim {
	type arc struct {
		node  [3]int32
		angle [3]float64
	}
	var arcs []arc
	for t := range g.m.Tris {
		for e := range 3 {
			s := g.m.EdgeOf[t][e]
			if g.m.Adj[t][e] >= 0 || s < 0 || !onRim(&g.m.Edges[s]) {
				continue
			}
			a, mid, b := edgeNodes(e)
			x := arc{node: [3]int32{g.q.Tris[t][a], g.q.Tris[t][mid], g.q.Tris[t][b]}}
			for i, n := range x.node {
				p := g.q.Nodes[n].Sub(g.d.centre)
				x.angle[i] = portable.Atan2(p.Y, p.X)
			}
			for i := 1; i < 3; i++ { // continuous along the edge
				for x.angle[i] < x.angle[i-1] {
					x.angle[i] += 2 * math.Pi
				}
			}
			arcs = append(arcs, x)
		}
	}
	r := &rim{}
	for _, a := range arcs {
		r.node = append(r.node, a.node[0], a.node[1])
	}
	sort.Slice(r.node, func(i, j int) bool { return r.node[i] < r.node[j] })
	place := make(map[int32]int, len(r.node))
	for i, n := range r.node {
		place[n] = i
	}
	nb := len(r.node)
	r.block = make([][]float64, nb)
	for i := range r.block {
		r.block[i] = make([]float64, i+1)
	}
	gauss := element.Gauss(8)
	c, s := make([]float64, nb), make([]float64, nb)
	for n := 0; n <= len(arcs); n++ {
		clear(c)
		clear(s)
		for _, a := range arcs {
			span := a.angle[2] - a.angle[0]
			for _, q := range gauss {
				sin, cos := portable.Sincos(float64(n) * (a.angle[0] + float64(span*q.X)))
				w := [3]float64{(1 - q.X) * (1 - 2*q.X), 4 * q.X * (1 - q.X), q.X * (2*q.X - 1)}
				for i := range 3 {
					k := place[a.node[i]]
					c[k] += float64(span * q.W * w[i] * cos)
					s[k] += float64(span * q.W * w[i] * sin)
				}
			}
		}
		f := float64(n) / math.Pi
		if n == 0 {
			f = 1 / (2 * math.Pi)
		}
		for i := range nb {
			row, ci, si := r.block[i], f*c[i], f*s[i]
			for j := range row {
				row[j] += float64(ci*c[j]) + float64(si*s[j])
			}
		}
	}
	return r
}

func onRim(e *mesh.Edge) bool {
	for _, f := range e.From {
		if f.Tag == rimTag {
			return true
		}
	}
	return false
}

func (r *rim) triplets() int { return len(r.node) * (len(r.node) + 1) / 2 }

func (r *rim) pattern(rows, cols []int32) ([]int32, []int32) {
	for i, a := range r.node {
		for _, b := range r.node[:i+1] {
			rows, cols = append(rows, a), append(cols, b)
		}
	}
	return rows, cols
}
