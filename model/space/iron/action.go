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
	far []distant   // what pieces do to one another, by the piece that is acted on; nil until asked for
	u   [][]float64 // of each node, the share of each cross of its piece's far in it, of those in crosses; see distant

	rows  []sharedRow // all of them
	mu    []float64   // relative permeabilities of the pieces for small signals
	small *keptFactors
}

// distant is what one piece does to the nodes of another, as crosses: smooth, and of a rank far below its size.
type distant struct {
	to, from int         // piece that is acted on, and that acts
	whole    bool        // no crosses: one row for each node
	first    int         // of its crosses among those of all that acts on the piece
	u        [][]float64 // of each cross, by node
	v        [][]float64 // of each cross, or of each node, by node of from
	w        [][]float32 // the same by vector
}

// others returns those of far that act on piece p.
func (a *action) others(p int) []distant {
	n := a.m.pieces - 1
	return a.far[p*n : (p+1)*n]
}

// farSums holds a number for every cross, in a row for all that acts on a piece.
type farSums struct {
	crosses [][]float64 // by piece
	whole   [][]float64 // by place in far, of those that are whole
}

// fewPairs is below how many pairs of pieces their sums are not worth a second goroutine.
const fewPairs = 20

// sums fills the numbers of every cross.
func (a *action) sums(of func(k int, d *distant, out []float64)) farSums {
	out := farSums{make([][]float64, a.m.pieces), make([][]float64, len(a.far))}
	for p := range out.crosses {
		n := 0
		for _, d := range a.others(p) {
			if !d.whole {
				n += len(d.v)
			}
		}
		out.crosses[p] = make([]float64, n)
	}
	workers := maxWorkers
	if len(a.far) < fewPairs {
		workers = 1
	}
	parallel.Each(len(a.far), workers, func(_, k int) {
		d := &a.far[k]
		if d.whole {
			out.whole[k] = make([]float64, len(d.v))
			of(k, d, out.whole[k])
			return
		}
		of(k, d, out.crosses[d.to][d.first:d.first+len(d.v)])
	})
	return out
}

// fromFar returns what the other pieces do to node i, number row of piece p.
func (a *action) fromFar(p, i, row int, s *farSums) float64 {
	sum := 0.0
	if len(a.u[i]) > 0 {
		sum = sparse.Dot(a.u[i], s.crosses[p])
	}
	for k := p * (a.m.pieces - 1); k < (p+1)*(a.m.pieces-1); k++ {
		if s.whole[k] != nil {
			sum += s.whole[k][row]
		}
	}
	return sum
}

// times adds K x to y.
func (a *action) times(x, y []float64) {
	far := a.sums(func(_ int, d *distant, out []float64) {
		r := a.m.nodeRange[d.from]
		products(d.v, x[r[0]:r[1]], out)
	})
	a.each(func(p, i, row int) {
		r := a.m.nodeRange[p]
		n := r[1] - r[0]
		y[i] += sparse.Dot(a.own[p][row*n:(row+1)*n], x[r[0]:r[1]]) + a.fromFar(p, i, row, &far)
	})
}

// timesTwo is times for two vectors.
func (a *action) timesTwo(x0, x1, y0, y1 []float64) {
	var far [2]farSums
	for k, x := range [2][]float64{x0, x1} {
		far[k] = a.sums(func(_ int, d *distant, out []float64) {
			r := a.m.nodeRange[d.from]
			products(d.v, x[r[0]:r[1]], out)
		})
	}
	a.each(func(p, i, row int) {
		r := a.m.nodeRange[p]
		n := r[1] - r[0]
		re, im := sparse.DotTwo(a.own[p][row*n:(row+1)*n], x0[r[0]:r[1]], x1[r[0]:r[1]])
		y0[i] += re + a.fromFar(p, i, row, &far[0])
		y1[i] += im + a.fromFar(p, i, row, &far[1])
	})
}

// of sets out to (1/4π) Σ G·v at every node.
func (a *action) of(v []geom.Point3, out []float64) {
	flat := make([][]float64, a.m.pieces)
	for p, r := range a.m.tetRange {
		flat[p] = flattened(v[r[0]:r[1]])
	}
	far := a.sums(func(_ int, d *distant, out []float64) { singleProducts(d.w, flat[d.from], out) })
	a.each(func(p, i, row int) {
		width := len(flat[p])
		out[i] = sparse.DotSingle(a.raw[p][row*width:(row+1)*width], flat[p]) + a.fromFar(p, i, row, &far)
	})
}

// each calls do with every node: its piece, its number and that in the piece. Nodes of equal pieces, which share a row, come
// one after the other.
func (a *action) each(do func(p, i, row int)) {
	parallel.Each(len(a.rows), maxWorkers, func(_, k int) {
		row := a.rows[k].row
		for _, p := range a.rows[k].pieces {
			do(p, a.m.nodeRange[p][0]+row, row)
		}
	})
}

// sharedRow is a row of what equal pieces do to themselves.
type sharedRow struct {
	pieces []int
	row    int
}

func newAction(l *level) *action {
	a := &action{m: l.m, mu: l.mu, small: &keptFactors{}}
	for q, first := range l.m.twin {
		if int(first) != q {
			continue
		}
		var equal []int
		for p, of := range l.m.twin {
			if int(of) == q {
				equal = append(equal, p)
			}
		}
		for row := range l.m.nodeRange[q][1] - l.m.nodeRange[q][0] {
			a.rows = append(a.rows, sharedRow{equal, row})
		}
	}
	return a
}

func products(rows [][]float64, x, out []float64) {
	for k, row := range rows {
		out[k] = sparse.Dot(row, x)
	}
}

func singleProducts(rows [][]float32, x, out []float64) {
	for k, row := range rows {
		out[k] = sparse.DotSingle(row, x)
	}
}

// flattened returns the numbers of vectors in a row.
func flattened(v []geom.Point3) []float64 {
	out := make([]float64, 0, 3*len(v))
	for _, x := range v {
		out = append(out, x.X, x.Y, x.Z)
	}
	return out
}

// meet finds what pieces do to one another. Pairs that are shifted copies of an earlier pair do the same.
func (a *action) meet(par parity) {
	m := a.m
	a.far = make([]distant, 0, m.pieces*(m.pieces-1))
	like := make([]int, 0, cap(a.far))
	var found []int
	for p := range m.pieces {
		for q := range m.pieces {
			if q == p {
				continue
			}
			k := len(a.far)
			a.far = append(a.far, distant{to: p, from: q})
			if like = append(like, m.likePair(a.far, k)); like[k] == k {
				found = append(found, k)
			}
		}
	}
	parallel.Each(len(found), maxWorkers, func(_, i int) { m.act(&a.far[found[i]], par) })
	for k, o := range like {
		d := a.far[o]
		d.to, d.from = a.far[k].to, a.far[k].from
		a.far[k] = d
	}
	a.u = make([][]float64, len(m.nodes))
	for k := range a.far {
		d := &a.far[k]
		if d.whole {
			continue
		}
		first := m.nodeRange[d.to][0]
		d.first = len(a.u[first])
		for i := range m.nodeRange[d.to][1] - first {
			for c := range d.u {
				a.u[first+i] = append(a.u[first+i], d.u[c][i])
			}
		}
	}
	for k := range a.far {
		a.far[k].u = nil // which a.u has
	}
}

// likePair returns the first pair that pair k is a shifted copy of; itself where there is none.
func (m *tetra) likePair(far []distant, k int) int {
	apart := func(d *distant) geom.Point3 {
		return m.nodes[m.nodeRange[d.to][0]].Sub(m.nodes[m.nodeRange[d.from][0]])
	}
	d := &far[k]
	for j := range far[:k] {
		o := &far[j]
		if m.twin[o.to] == m.twin[d.to] && m.twin[o.from] == m.twin[d.from] &&
			apart(o).Sub(apart(d)).Norm() <= 1e-12*apart(d).Norm() {
			return j
		}
	}
	return k
}

// fewNodes is up to how many nodes the action on a piece is not worth crosses.
const fewNodes = 150

// act finds the crosses of what one piece does to another, or where they would be too many all of it.
func (m *tetra) act(d *distant, par parity) {
	nodes, tets := m.nodeRange[d.to], m.tetRange[d.from]
	rows, cols := nodes[1]-nodes[0], 3*(tets[1]-tets[0])
	s := newScratch(m)
	row := func(i int, out []float64) {
		m.row(nodes[0]+i, tets, s)
		for e, g := range s.both[par][tets[0]:tets[1]] {
			out[3*e], out[3*e+1], out[3*e+2] = perFourPi*g.X, perFourPi*g.Y, perFourPi*g.Z
		}
	}
	col := func(j int, out []float64) {
		for i := range out {
			g := m.vectorAt(nodes[0]+i, tets[0]+j/3, par)
			out[i] = perFourPi * [3]float64{g.X, g.Y, g.Z}[j%3]
		}
	}
	var w [][]float64
	ok := false
	if rows > fewNodes {
		d.u, w, ok = crossed(matrix{rows, cols, row, col}, rows/3)
	}
	if d.whole = !ok; d.whole {
		one := make([]float64, cols)
		for i := range rows {
			row(i, one)
			d.v, d.w = append(d.v, m.gradientSums(d.from, one)), append(d.w, singles(one))
		}
	}
	for _, of := range w {
		d.v, d.w = append(d.v, m.gradientSums(d.from, of)), append(d.w, singles(of))
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
			out[int(t[j])-nodes[0]] += float64(x*d[j].X) + float64(y*d[j].Y) + float64(z*d[j].Z)
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
	for k, f := range fields {
		flat := flattened(f.v)
		far := a.sums(func(_ int, d *distant, sums []float64) {
			if d.from == f.piece {
				singleProducts(d.w, flat, sums)
			}
		})
		a.each(func(p, i, row int) {
			if p != f.piece {
				out[k][i] = a.fromFar(p, i, row, &far)
			}
		})
	}
}
