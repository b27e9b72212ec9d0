package eddy

import (
	"fmt"
	"slices"

	"busgauss/model/dense"
	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/si"
	"busgauss/model/sparse"
)

// permeable is what metal of a permeability above 1 does to a field, of one mesh and parity. H = T − ∇φ, φ
// trilinear in each cell, P the potential of a vector in the cells and S that of a flux through their surface:
//
//	φ = φ_s + P ∇φ' + S q              at the nodes of the surface
//	q = ∫ ∇ψ·μ(T − ∇φ) dV             there: what flux leaves, over μ0
//	0 = ∫ ∇ψ·μ(T − ∇φ) dV             at those within
//
// φ' is φ on the surface and what it would be within without T. Outside T + M has the field of ∇φ + B/μ0, and of B, which
// has no source within, that of what leaves. So flux that goes in and turns round within a thin skin comes out whole, which
// the cells' mean magnetisation would not tell. P takes the mean of its vector in each cell, S densities linear
// along the sides. The nodes within are eliminated; what is left is factorised once, for all sources and frequencies.
//
// Source: A. Bossavit, J. C. Vérité, IEEE Trans. Magn. 18 (1982) 431 (field within, integral equation on the surface; from
// memory); the split is our own.
type permeable struct {
	*potentials
	mu     []float64     // relative permeability of each cell
	stiff  [][]nodeShare // of each node, ∫∇ψ·μ∇ψ' dV with the others, m
	within *sparse.Factor[float64]
	lu     []float32 // by row, unit lower and upper triangle of factors, which steer: see settle
	pivot  []int
}

type nodeShare struct {
	node  int32
	share float64
}

// newPermeable takes the relative permeability of each piece.
func newPermeable(of *potentials, mu []float64) (*permeable, error) {
	y := &permeable{potentials: of}
	for _, p := range of.m.piece {
		y.mu = append(y.mu, mu[p])
	}
	y.stiffness()
	if err := y.eliminate(); err != nil {
		return nil, err
	}
	y.factorise()
	return y, nil
}

// stiffness fills in stiff.
func (y *permeable) stiffness() {
	y.stiff = make([][]nodeShare, len(y.m.nodes))
	add := func(i, j int32, v float64) {
		for k := range y.stiff[i] {
			if s := &y.stiff[i][k]; s.node == j {
				s.share += v
				return
			}
		}
		y.stiff[i] = append(y.stiff[i], nodeShare{j, v})
	}
	for c := range y.m.cells {
		var between [8][8]float64
		for e, a := range edgeOf {
			for g, b := range edgeOf {
				v := float64(y.mu[c] * y.mass[c][e][g])
				between[a[1]][b[1]] += v
				between[a[0]][b[0]] += v
				between[a[1]][b[0]] -= v
				between[a[0]][b[1]] -= v
			}
		}
		for a, n := range y.m.cells[c] {
			for b, k := range y.m.cells[c] {
				add(n, k, between[a][b])
			}
		}
	}
}

// eliminate factorises the equations of the nodes within.
func (y *permeable) eliminate() error {
	if y.counts[1] == 0 {
		return nil
	}
	var rows, cols []int32
	var values []float64
	for n, i := range y.inner {
		if i < 0 {
			continue
		}
		for _, s := range y.stiff[n] {
			if j := y.inner[s.node]; j >= 0 {
				rows, cols, values = append(rows, i), append(cols, j), append(values, s.share)
			}
		}
	}
	pattern, scatter := sparse.NewPattern(y.counts[1], rows, cols)
	sum := make([]float64, pattern.Len())
	sparse.Assemble(sum, scatter, values)
	var err error
	if y.within, err = sparse.FactorNumeric(sparse.Analyse(pattern), sum, nil); err != nil {
		return fmt.Errorf("potentials within the iron: %w", err)
	}
	return nil
}

// factorise makes and factorises 1 − P∇ + S∫∇ψ·μ∇ of the outer nodes, those within eliminated.
func (y *permeable) factorise() {
	n, all := y.counts[0], len(y.m.nodes)
	lu := make([]float64, n*n)
	rows, withins := rooms(all), rooms(y.counts[1])
	parallel.Each(n, len(rows), func(w, i int) {
		row, within := rows[w], withins[w]
		for k, v := range y.pull[i*all : (i+1)*all] {
			row[k] = -float64(v)
		}
		for k, o := range y.outer {
			if o < 0 {
				continue
			}
			f := float64(y.layer[i*n+int(o)])
			for _, s := range y.stiff[k] {
				row[s.node] += float64(f * s.share)
			}
		}
		for k, q := range y.inner {
			if q >= 0 {
				within[q] = row[k]
			}
		}
		if y.within != nil {
			y.within.Solve(within, 1)
		}
		out := lu[i*n : (i+1)*n]
		out[i] = 1
		for k, o := range y.outer {
			if o >= 0 {
				out[o] += row[k]
			}
		}
		for k, q := range y.inner {
			if q < 0 {
				continue
			}
			for _, s := range y.stiff[k] {
				if o := y.outer[s.node]; o >= 0 {
					out[o] -= float64(within[q] * s.share)
				}
			}
		}
	})
	y.pivot = dense.Factorise(lu, n)
	y.lu = make([]float32, n*n)
	single(y.lu, lu)
}

// steer overwrites each x with what the factors make of it.
func (y *permeable) steer(xs [][]float64) {
	n := y.counts[0]
	parallel.Each(len(xs), 8, func(_, k int) {
		x := xs[k]
		for i, j := range y.pivot {
			x[i], x[j] = x[j], x[i]
		}
		for i := range n {
			x[i] -= sparse.DotSingle(y.lu[i*n:][:i], x)
		}
		for i := n - 1; i >= 0; i-- {
			row := y.lu[i*n:][:n]
			x[i] = (x[i] - sparse.DotSingle(row[i+1:], x[i+1:])) / float64(row[i])
		}
	})
}

// multiply returns what factorise factorises times each x.
func (y *permeable) multiply(xs [][]float64) [][]float64 {
	n, all := y.counts[0], len(y.m.nodes)
	phi, leaves, out := make([][]float64, len(xs)), make([][]float64, len(xs)), make([][]float64, len(xs))
	parallel.Each(len(xs), 8, func(_, k int) {
		phi[k], leaves[k] = y.spread(nil, xs[k]), make([]float64, n)
		for i, o := range y.outer {
			if o < 0 {
				continue
			}
			for _, s := range y.stiff[i] {
				leaves[k][o] += float64(s.share * phi[k][s.node])
			}
		}
		out[k] = slices.Clone(xs[k])
	})
	parallel.Each(n, 8, func(_, i int) {
		for k := range xs {
			out[k][i] += sparse.DotSingle(y.layer[i*n:(i+1)*n], leaves[k]) - sparse.DotSingle(y.pull[i*all:(i+1)*all], phi[k])
		}
	})
	return out
}

// settle overwrites each right-hand side with its solution, in steps that the factors steer.
func (y *permeable) settle(rights [][]float64) {
	left := make([][]float64, len(rights))
	for k, r := range rights {
		left[k] = slices.Clone(r)
	}
	y.steer(rights)
	for range steerings {
		off := y.multiply(rights)
		for k := range off {
			for i := range off[k] {
				off[k][i] = left[k][i] - off[k][i]
			}
		}
		y.steer(off)
		for k := range off {
			axpy(1, off[k], rights[k])
		}
	}
}

// steerings is how often what the factors leave is taken off: each takes four digits or more.
const steerings = 2

// held is T and φ of one vector: circulations along the edges of cells, and potentials of nodes.
type held struct {
	t      [][12]float64 // nil without T
	phi    []float64     // smooth + turned
	smooth []float64     // φ'
	turned []float64     // what T makes of φ within; nil without T
}

// field returns the circulation of H along the edges of cell c.
func (y *permeable) field(h *held, c int) (out [12]float64) {
	for e := range out {
		a, b := y.m.ends(c, e)
		out[e] = h.phi[a] - h.phi[b]
		if h.t != nil {
			out[e] += h.t[c][e]
		}
	}
	return out
}

// leaving returns ∫∇ψ·μH dV of all nodes, A·m.
func (y *permeable) leaving(h *held) []float64 {
	out := make([]float64, len(y.m.nodes))
	for c := range y.m.cells {
		field := y.field(h, c)
		for e := range 12 {
			sum := 0.0
			for g, v := range field {
				sum += float64(y.mass[c][e][g] * v)
			}
			a, b := y.m.ends(c, e)
			out[a] -= float64(y.mu[c] * sum)
			out[b] += float64(y.mu[c] * sum)
		}
	}
	return out
}

// outside returns the values at the outer nodes.
func (y *permeable) outside(all []float64) []float64 {
	out := make([]float64, y.counts[0])
	for n, o := range y.outer {
		if o >= 0 {
			out[o] = all[n]
		}
	}
	return out
}

// moments returns what has the field of h outside: ∫∇φ' dV of the cells in A·m², then the density of what leaves at the outer
// nodes in A/m.
func (y *permeable) moments(h *held) []float64 {
	out := make([]float64, 0, 3*len(y.m.cells)+y.counts[0])
	for c := range y.m.cells {
		var sum geom.Point3
		for e := range 12 {
			a, b := y.m.ends(c, e)
			sum = sum.Add(y.mean[c][e].Scale(h.smooth[b] - h.smooth[a]))
		}
		out = append(out, sum.X, sum.Y, sum.Z)
	}
	density := y.outside(y.leaving(h))
	y.dense.Solve(density, 1)
	return append(out, density...)
}

// solve fills in φ of each h, for its T and the potential of sources at the outer nodes: one of both.
func (y *permeable) solve(hs []*held, applied [][]float64) {
	n, w := y.counts[0], len(hs)
	right := make([][]float64, w)
	for k := range right {
		right[k] = make([]float64, n)
	}
	if applied == nil {
		leaves := make([][]float64, w)
		parallel.Each(w, 8, func(_, k int) {
			h := hs[k]
			h.phi = make([]float64, len(y.m.nodes))
			h.turned = y.spread(y.leaving(h), nil)
			h.phi = h.turned
			leaves[k] = y.outside(y.leaving(h))
		})
		parallel.Each(n, 8, func(_, i int) {
			for k := range right {
				right[k][i] = sparse.DotSingle(y.layer[i*n:(i+1)*n], leaves[k])
			}
		})
	}
	for k := range applied {
		copy(right[k], applied[k])
	}
	y.settle(right)
	parallel.Each(w, 8, func(_, k int) {
		h := hs[k]
		h.smooth = y.spread(nil, right[k])
		h.phi = slices.Clone(h.smooth)
		for i, v := range h.turned {
			h.phi[i] += v
		}
	})
}

// spread returns the potential that these drive within, ∫∇ψ·μT dV of all nodes or nil, with values at the outer nodes or
// nought.
func (y *permeable) spread(drives, outer []float64) []float64 {
	phi, right := make([]float64, len(y.m.nodes)), make([]float64, y.counts[1])
	if outer != nil {
		for k, o := range y.outer {
			if o >= 0 {
				phi[k] = outer[o]
			}
		}
	}
	for k, q := range y.inner {
		if q < 0 {
			continue
		}
		if drives != nil {
			right[q] = drives[k]
		}
		if outer != nil {
			for _, s := range y.stiff[k] {
				if y.outer[s.node] >= 0 {
					right[q] -= float64(s.share * phi[s.node])
				}
			}
		}
	}
	if y.within != nil {
		y.within.Solve(right, 1)
	}
	for k, q := range y.inner {
		if q >= 0 {
			phi[k] = right[q]
		}
	}
	return phi
}

// fluxes returns ∫W·B dV of the edges of cell c in Wb.
func (y *permeable) fluxes(h *held, c int) (out [12]float64) {
	field := y.field(h, c)
	for e := range out {
		for g, v := range field {
			out[e] += float64(si.Mu0HPerM * y.mu[c] * y.mass[c][e][g] * v)
		}
	}
	return out
}
