package iron

import (
	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/sparse"
)

// action is what the magnetised pieces of a mesh do to the potential at its nodes, for one parity:
//
//	(K φ)_i = (1/4π) Σ_e G_e(r_i)·∇φ_e
//
// row by row, and the vectors G/4π it is summed of, three numbers a tetrahedron: what Newton's method needs, whose
// permeabilities differ from one tetrahedron to the next. Seven digits of them are plenty. It knows the geometry only, so that
// any permeabilities fit in later.
type action struct {
	m   *tetra
	own [][]float64 // K of each piece on itself; equal pieces share
	raw [][]float32 // the vectors of each piece on itself; nil where they are not asked for; equal pieces share
	far [][]distant // what the other pieces do to each; nil until asked for
	at  [][2]int    // piece and place in it of all of far

	mu    []float64 // relative permeabilities of the pieces for small signals
	small *keptFactors
}

// distant is what one piece does to the nodes of another, as crosses: smooth, and of a rank far below its size.
type distant struct {
	from int         // piece that acts
	u    [][]float64 // of each node that is acted on, the share of each cross in it; nil: cross k is node k
	v    [][]float64 // of each cross, by node
	w    [][]float32 // of each cross, by vector
}

// times adds K x to y.
func (a *action) times(x, y []float64) {
	sums := make([][]float64, len(a.at))
	parallel.Each(len(a.at), maxWorkers, func(_, k int) {
		d := a.distant(k)
		r := a.m.nodeRange[d.from]
		sums[k] = products(d.v, x[r[0]:r[1]])
	})
	a.each(func(p, i, row int) {
		r := a.m.nodeRange[p]
		n := r[1] - r[0]
		y[i] += sparse.Dot(a.own[p][row*n:(row+1)*n], x[r[0]:r[1]]) + a.fromFar(p, row, sums)
	})
}

// timesTwo is times for two vectors.
func (a *action) timesTwo(x0, x1, y0, y1 []float64) {
	sums := [2][][]float64{make([][]float64, len(a.at)), make([][]float64, len(a.at))}
	parallel.Each(len(a.at), maxWorkers, func(_, k int) {
		d := a.distant(k)
		r := a.m.nodeRange[d.from]
		sums[0][k], sums[1][k] = make([]float64, len(d.v)), make([]float64, len(d.v))
		for c, v := range d.v {
			sums[0][k][c], sums[1][k][c] = sparse.DotTwo(v, x0[r[0]:r[1]], x1[r[0]:r[1]])
		}
	})
	a.each(func(p, i, row int) {
		r := a.m.nodeRange[p]
		n := r[1] - r[0]
		re, im := sparse.DotTwo(a.own[p][row*n:(row+1)*n], x0[r[0]:r[1]], x1[r[0]:r[1]])
		y0[i] += re + a.fromFar(p, row, sums[0])
		y1[i] += im + a.fromFar(p, row, sums[1])
	})
}

// of sets out to (1/4π) Σ G·v at every node.
func (a *action) of(v []geom.Point3, out []float64) {
	flat := make([][]float64, a.m.pieces)
	for p, r := range a.m.tetRange {
		flat[p] = flattened(v[r[0]:r[1]])
	}
	sums := make([][]float64, len(a.at))
	parallel.Each(len(a.at), maxWorkers, func(_, k int) {
		d := a.distant(k)
		sums[k] = singleProducts(d.w, flat[d.from])
	})
	a.each(func(p, i, row int) {
		width := len(flat[p])
		out[i] = sparse.DotSingle(a.raw[p][row*width:(row+1)*width], flat[p]) + a.fromFar(p, row, sums)
	})
}

func (a *action) distant(k int) *distant { return &a.far[a.at[k][0]][a.at[k][1]] }

// each calls do with every node: its piece, its number and that in the piece.
func (a *action) each(do func(p, i, row int)) {
	parallel.Each(len(a.m.nodes), maxWorkers, func(_, i int) {
		p := int(a.m.nodePiece[i])
		do(p, i, i-a.m.nodeRange[p][0])
	})
}

// fromFar returns what the other pieces do to a node of piece p, from the sums of the crosses, in the order of at.
func (a *action) fromFar(p, row int, sums [][]float64) float64 {
	sum := 0.0
	first := p * (a.m.pieces - 1)
	for k := range a.far[p] {
		if u := a.far[p][k].u; u != nil {
			sum += sparse.Dot(u[row], sums[first+k])
		} else {
			sum += sums[first+k][row]
		}
	}
	return sum
}

func products(rows [][]float64, x []float64) []float64 {
	out := make([]float64, len(rows))
	for k, row := range rows {
		out[k] = sparse.Dot(row, x)
	}
	return out
}

func singleProducts(rows [][]float32, x []float64) []float64 {
	out := make([]float64, len(rows))
	for k, row := range rows {
		out[k] = sparse.DotSingle(row, x)
	}
	return out
}

// flattened returns the numbers of vectors in a row.
func flattened(v []geom.Point3) []float64 {
	out := make([]float64, 0, 3*len(v))
	for _, x := range v {
		out = append(out, x.X, x.Y, x.Z)
	}
	return out
}

// meet finds what pieces do to one another.
func (a *action) meet(par parity) {
	m := a.m
	a.far = make([][]distant, m.pieces)
	for p := range m.pieces {
		for q := range m.pieces {
			if q != p {
				a.at = append(a.at, [2]int{p, len(a.far[p])})
				a.far[p] = append(a.far[p], distant{from: q})
			}
		}
	}
	parallel.Each(len(a.at), maxWorkers, func(_, k int) { m.act(a.at[k][0], a.distant(k), par) })
}

// act finds the crosses of what a piece does to piece p, or where they would be too many all of it.
func (m *tetra) act(p int, d *distant, par parity) {
	nodes, tets := m.nodeRange[p], m.tetRange[d.from]
	rows, cols := nodes[1]-nodes[0], 3*(tets[1]-tets[0])
	s := newScratch(m)
	row := func(i int, out []float64) {
		m.row(nodes[0]+i, tets, s)
		for e, g := range s.both[par][tets[0]:tets[1]] {
			out[3*e], out[3*e+1], out[3*e+2] = perFourPi*g.X, perFourPi*g.Y, perFourPi*g.Z
		}
	}
	u, w, ok := crossed(matrix{rows, cols, row, func(j int, out []float64) {
		for i := range out {
			g := m.vectorAt(nodes[0]+i, tets[0]+j/3, par)
			out[i] = perFourPi * [3]float64{g.X, g.Y, g.Z}[j%3]
		}
	}}, rows/3)
	if ok {
		d.u = make([][]float64, rows)
		for i := range d.u {
			d.u[i] = make([]float64, len(u))
			for k := range u {
				d.u[i][k] = u[k][i]
			}
		}
	} else {
		w = make([][]float64, rows)
		for i := range w {
			w[i] = make([]float64, cols)
			row(i, w[i])
		}
	}
	for _, of := range w {
		d.v = append(d.v, m.gradientSums(d.from, of))
		d.w = append(d.w, singles(of))
	}
}

// gradientSums returns Σ g_e·∇N_j at every node j of a piece, from the numbers g of its tetrahedra.
func (m *tetra) gradientSums(piece int, g []float64) []float64 {
	nodes, tets := m.nodeRange[piece], m.tetRange[piece]
	out := make([]float64, nodes[1]-nodes[0])
	for e := tets[0]; e < tets[1]; e++ {
		x, y, z := g[0], g[1], g[2]
		g = g[3:]
		t, d := &m.tets[e], &m.grad[e]
		for j := range 4 {
			out[int(t[j])-nodes[0]] += x*d[j].X + y*d[j].Y + z*d[j].Z
		}
	}
	return out
}

func singles(v []float64) []float32 {
	out := make([]float32, len(v))
	for i, x := range v {
		out[i] = float32(x)
	}
	return out
}

// field is a vector in every tetrahedron of one piece.
type field struct {
	piece int
	v     []geom.Point3
}

// apart sets in out what of sets for fields, but for the pieces that they lie in.
func (a *action) apart(fields []field, out [][]float64) {
	parallel.Each(len(fields), maxWorkers, func(_, k int) {
		flat := flattened(fields[k].v)
		for at := range a.at {
			p, d := a.at[at][0], a.distant(at)
			if d.from != fields[k].piece {
				continue
			}
			sums := singleProducts(d.w, flat)
			to := out[k][a.m.nodeRange[p][0]:a.m.nodeRange[p][1]]
			if d.u == nil {
				copy(to, sums)
				continue
			}
			for i := range to {
				to[i] = sparse.Dot(d.u[i], sums)
			}
		}
	})
}
