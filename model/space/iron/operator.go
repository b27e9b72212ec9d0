package iron

import (
	"fmt"
	"math"
	"sync"

	"busgauss/model/dense"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// operator is a square matrix that can be multiplied and approximately inverted.
type operator interface {
	multiply(x, y []float64)  // y = A x
	precondition(x []float64) // x = M⁻¹ x, M close to A
}

// blocks are the factors of what each piece does to itself: a good approximation of
// the whole, because pieces act on one another weakly.
type blocks struct {
	m  *tetra
	lu []*factors // of each piece; equal pieces share
}

func (b *blocks) precondition(x []float64) { b.solve(x, 1) }

// solve is precondition for several vectors in a row.
func (b *blocks) solve(x []float64, vectors int) {
	n := len(x) / vectors
	shared := map[*factors]int{}
	var of []*factors
	var in [][][]float64 // of each of them and vector in turn, the parts that it solves for
	for p, f := range b.lu {
		k, ok := shared[f]
		if !ok {
			k = len(of)
			shared[f] = k
			of, in = append(of, f), append(in, make([][][]float64, vectors)...)
		}
		r := b.m.nodeRange[p]
		for v := range vectors {
			in[k*vectors+v] = append(in[k*vectors+v], x[v*n+r[0]:v*n+r[1]])
		}
	}
	parallel.Each(len(in), maxWorkers, func(_, i int) { of[i/vectors].solve(in[i]) })
}

// keptFactors are the factors of linear iron with the permeabilities of small signals.
type keptFactors struct {
	once sync.Once
	of   *blocks
}

// servesUpTo is the ratio of susceptibilities up to which the factors of small signals do for others: a few more steps cost
// less than new ones.
const servesUpTo = 8

// factors returns factors of I + K χ for each piece by itself, or some near enough.
func (a *action) factors(mu []float64) *blocks {
	for p := range mu {
		r := (mu[p] - 1) / (a.mu[p] - 1)
		if !(r < servesUpTo && r > 1.0/servesUpTo) {
			return a.newFactors(mu)
		}
	}
	a.small.once.Do(func() { a.small.of = a.newFactors(a.mu) })
	return a.small.of
}

func (a *action) newFactors(mu []float64) *blocks {
	out := &blocks{m: a.m}
	for p, r := range a.m.nodeRange {
		if q := a.m.twin[p]; int(q) != p && mu[p] == mu[q] {
			out.lu = append(out.lu, out.lu[q])
			continue
		}
		n := r[1] - r[0]
		own := scaled(a.own[p], mu[p]-1)
		for i := range n {
			own[i*n+i]++
		}
		out.lu = append(out.lu, factorised(own, n))
	}
	return out
}

// factors are the triangular factors of a square matrix, in single precision: they only steer the steps.
type factors struct {
	a     []float32 // unit lower and upper triangle, row by row
	pivot []int
}

// factorised takes a square matrix, row by row, and spoils it.
func factorised(a []float64, n int) *factors {
	f := &factors{make([]float32, n*n), dense.Factorise(a, n)} // a poor condition is for the residual to judge
	for i, v := range a {
		f.a[i] = float32(v)
	}
	return f
}

// solve overwrites each x with the solution for the right-hand side x, along the rows.
func (f *factors) solve(all [][]float64) {
	n := len(f.pivot)
	for i, j := range f.pivot {
		for _, x := range all {
			x[i], x[j] = x[j], x[i]
		}
	}
	for i := range n {
		row := f.a[i*n:][:i]
		for _, x := range all {
			x[i] -= sparse.DotSingle(row, x)
		}
	}
	for i := n - 1; i >= 0; i-- {
		row := f.a[i*n:][:n]
		for _, x := range all {
			x[i] = (x[i] - sparse.DotSingle(row[i+1:], x[i+1:])) / float64(row[i])
		}
	}
}

// linearOperator is I + K χ.
type linearOperator struct {
	blocks
	k   *action
	chi []float64 // of each node
	in  []float64
}

func newLinearOperator(k *action, mu []float64) *linearOperator {
	m := k.m
	n := len(m.nodes)
	o := &linearOperator{k: k, chi: make([]float64, n), in: make([]float64, n)}
	for i, p := range m.nodePiece {
		o.chi[i] = mu[p] - 1
	}
	o.blocks = *k.factors(mu)
	return o
}

func (o *linearOperator) multiply(x, y []float64) {
	for j := range x {
		o.in[j] = o.chi[j] * x[j]
	}
	copy(y, x)
	o.k.times(o.in, y)
}

const (
	linearResidual = 1e-9
	gmresSteps     = 120
)

// SolveError says that the linear system did not come to its tolerance.
type SolveError struct {
	Steps               int
	Residual, Tolerance float64 // relative to the right-hand side
}

func (e *SolveError) Error() string {
	return fmt.Sprintf("iron: linear system did not converge in %d steps: residual %.2g, asked %.2g", e.Steps, e.Residual, e.Tolerance)
}

// gmres solves A x = b from the start x, preconditioned on the right, until the
// residual is below tol of b. It returns x and the steps taken.
//
// Source: Y. Saad, Iterative Methods for Sparse Linear Systems, 2nd ed., algorithm 9.5.
func gmres(a operator, b, x []float64, tol float64) ([]float64, int, error) {
	n := len(b)
	size := norm(b)
	if size == 0 {
		clear(x)
		return x, 0, nil
	}
	r := make([]float64, n)
	a.multiply(x, r)
	for i := range r {
		r[i] = b[i] - r[i]
	}
	beta := norm(r)
	if beta <= tol*size {
		return x, 0, nil
	}
	basis := [][]float64{scaled(r, 1/beta)}
	var h [][]float64 // columns of the triangular factor
	var cs, sn []float64
	g := []float64{beta}
	for k := 0; k < gmresSteps; k++ {
		z := append([]float64(nil), basis[k]...)
		a.precondition(z)
		w := make([]float64, n)
		a.multiply(z, w)
		col := make([]float64, k+2)
		for range 2 { // twice is enough for orthogonality
			for i, v := range basis {
				d := sparse.Dot(v, w)
				col[i] += d
				for j := range w {
					w[j] -= float64(d * v[j])
				}
			}
		}
		col[k+1] = norm(w)
		last := col[k+1]
		for i := range k {
			col[i], col[i+1] = float64(cs[i]*col[i])+float64(sn[i]*col[i+1]), float64(-sn[i]*col[i])+float64(cs[i]*col[i+1])
		}
		l := portable.Hypot(col[k], col[k+1])
		cs, sn = append(cs, col[k]/l), append(sn, col[k+1]/l)
		col[k] = l
		h = append(h, col)
		g = append(g, -sn[k]*g[k])
		g[k] *= cs[k]
		done := math.Abs(g[k+1]) <= tol*size
		if !done && k+1 < gmresSteps && last > 0 {
			basis = append(basis, scaled(w, 1/last))
			continue
		}
		y := make([]float64, k+1)
		for i := k; i >= 0; i-- {
			y[i] = g[i]
			for j := i + 1; j <= k; j++ {
				y[i] -= float64(h[j][i] * y[j])
			}
			y[i] /= h[i][i]
		}
		clear(w)
		for i, f := range y {
			for j := range w {
				w[j] += float64(f * basis[i][j])
			}
		}
		a.precondition(w)
		for i := range x {
			x[i] += w[i]
		}
		if !done {
			return x, k + 1, &SolveError{k + 1, math.Abs(g[k+1]) / size, tol}
		}
		return x, k + 1, nil
	}
	return x, gmresSteps, &SolveError{gmresSteps, math.Abs(g[len(g)-1]) / size, tol}
}

func norm(v []float64) float64 { return math.Sqrt(sparse.Dot(v, v)) }

func scaled(v []float64, f float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = f * v[i]
	}
	return out
}

// maxWorkers is the most goroutines of one parallel loop.
const maxWorkers = 8
