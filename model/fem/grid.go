package fem

import (
	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/sparse"
)

// grid is a mesh with everything that does not depend on material values.
type grid struct {
	d      *drawing
	m      *mesh.Mesh
	q      *mesh.Quadratic
	n      int   // unknowns
	piece  []int // active piece of each triangle, -1 air
	metric []element.Metric
	area   []float64
	// reacts lists the triangles of iron and of conductors, sourced their nodes.
	reacts, sourced []int32
	faces           []face // edges between iron and what is not iron
	// surface holds the boundary of every iron piece: faces, then edges where two
	// iron pieces touch, once for each.
	surface []face
	rim     *rim

	made *made

	unitMass [6][6]float64
	rule     []element.Node
}

// face is an edge of an iron triangle against air or a non-magnetic piece,
// counter-clockwise about the iron.
type face struct {
	tri, edge int // edge opposite corner edge
	node      [3]int32
	at        [3]geom.Point // start, middle, end
}

// edgeNodes returns the local node numbers of edge e (opposite corner e): start,
// middle, end.
func edgeNodes(e int) (a, m, b int) {
	a, b = (e+1)%3, (e+2)%3
	return a, 3 + a, b
}

func newGrid(d *drawing, m *mesh.Mesh) *grid {
	g := &grid{d: d, m: m, q: m.P2(), made: &made{}, unitMass: element.Mass(), rule: element.Rule7()}
	g.n = len(g.q.Nodes)
	nt := len(m.Tris)
	g.piece, g.metric, g.area = make([]int, nt), make([]element.Metric, nt), make([]float64, nt)
	for t := range m.Tris {
		g.piece[t] = int(m.Region[t]) - 1
		v := m.Tris[t]
		a, b, c := m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]]
		g.metric[t], g.area[t] = element.NewMetric(a.X, a.Y, b.X, b.Y, c.X, c.Y)
	}
	var contacts []face
	for t := range m.Tris {
		if !g.iron(t) {
			continue
		}
		for e := range 3 {
			o := m.Adj[t][e]
			if o < 0 || g.piece[o] == g.piece[t] {
				continue
			}
			a, mid, b := edgeNodes(e)
			f := face{tri: t, edge: e, node: [3]int32{g.q.Tris[t][a], g.q.Tris[t][mid], g.q.Tris[t][b]}}
			for i, n := range f.node {
				f.at[i] = g.q.Nodes[n]
			}
			if g.iron(int(o)) {
				contacts = append(contacts, f)
			} else {
				g.faces = append(g.faces, f)
			}
		}
	}
	needed := make([]bool, g.n)
	for t, six := range g.q.Tris {
		if g.iron(t) || g.conducts(t) {
			g.reacts = append(g.reacts, int32(t))
			for _, n := range six {
				needed[n] = true
			}
		}
	}
	for n, is := range needed {
		if is {
			g.sourced = append(g.sourced, int32(n))
		}
	}
	g.surface = append(append([]face(nil), g.faces...), contacts...)
	g.rim = newRim(g)
	return g
}

func (g *grid) iron(t int) bool { return g.piece[t] >= 0 && g.d.media[g.piece[t]].iron }

func (g *grid) conducts(t int) bool { return g.piece[t] >= 0 && g.d.media[g.piece[t]].conducts }

// analyse makes the pattern and its analysis.
func (g *grid) analyse() *matrixPattern {
	count := 21*len(g.q.Tris) + g.rim.triplets()
	rows, cols := make([]int32, 0, count), make([]int32, 0, count)
	for _, six := range g.q.Tris {
		for i := range 6 {
			for j := range i + 1 {
				a, b := six[i], six[j]
				if a < b {
					a, b = b, a
				}
				rows, cols = append(rows, a), append(cols, b)
			}
		}
	}
	rows, cols = g.rim.pattern(rows, cols)
	pattern, scatter := sparse.NewPattern(g.n, rows, cols)
	return &matrixPattern{pattern, scatter, sparse.Analyse(pattern)}
}

// nodes returns the coordinates of triangle t.
func (g *grid) nodes(t int) (x, y [6]float64) {
	for i, n := range g.q.Tris[t] {
		x[i], y[i] = g.q.Nodes[n].X, g.q.Nodes[n].Y
	}
	return x, y
}

// stiffness returns ∫ ∇Ni·∇Nj over triangle t.
func (g *grid) stiffness(t int) [6][6]float64 {
	if !g.q.Curved[t] {
		return g.metric[t].Stiffness()
	}
	x, y := g.nodes(t)
	k, _ := element.Curved(&x, &y, g.rule)
	return k
}

// mass returns ∫ Ni Nj over triangle t in square metres.
func (g *grid) mass(t int) [6][6]float64 {
	if g.q.Curved[t] {
		x, y := g.nodes(t)
		_, m := element.Curved(&x, &y, g.rule)
		return m
	}
	m := g.unitMass
	for i := range 6 {
		for j := range 6 {
			m[i][j] *= g.area[t]
		}
	}
	return m
}
