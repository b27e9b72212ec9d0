package fem

import (
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

func cabs(z complex128) float64 { return portable.Abs(z) }

// conj returns the complex conjugate.
func conj[T sparse.Scalar](x T) T {
	if z, ok := any(x).(complex128); ok {
		return any(cmplx.Conj(z)).(T)
	}
	return x
}

// reaction holds the solutions of a system for several sources.
type reaction[T sparse.Scalar] struct {
	s      *system[T]
	drives []drive
	ar     [][]T       // nodal reaction for each source
	v      [][]T       // potential of each active piece over jω, for each source
	eta    [][]float64 // estimated energy-norm error for each source and triangle
}

// solve returns the reactions to drives, with error estimates.
func (s *system[T]) solve(drives []drive, est *estimator) *reaction[T] {
	g := s.g
	r := &reaction[T]{s: s, drives: drives}
	n := len(drives)
	all := make([]T, n*g.n)
	parallel.Each(n, maxWorkers, func(_, i int) { s.load(&r.drives[i], all[i*g.n:(i+1)*g.n]) })
	s.solveFor(all, n)
	r.ar, r.v, r.eta = make([][]T, n), make([][]T, n), make([][]float64, n)
	parallel.Each(n, maxWorkers, func(_, i int) {
		x := all[i*g.n : (i+1)*g.n]
		perPiece := make([]T, len(g.d.pieces))
		for k, v := range s.balance(&r.drives[i], x) {
			for _, p := range s.groups[k].pieces {
				perPiece[p] = v
			}
		}
		r.ar[i], r.v[i] = x, perPiece
	})
	if est != nil {
		each := sourcesAtOnce[T]()
		parallel.Each((n+each-1)/each, maxWorkers, func(_, i int) {
			r.estimate(est, each*i, min(each, n-each*i), nil)
		})
	}
	return r
}

// part returns the reactions to count drives from at on; it holds nothing of the others but their solutions.
func (r *reaction[T]) part(at, count int) *reaction[T] {
	to := at + count
	return &reaction[T]{s: r.s, drives: slices.Clone(r.drives[at:to]), ar: slices.Clone(r.ar[at:to]), v: slices.Clone(r.v[at:to]),
		eta: slices.Clone(r.eta[at:to])}
}

// sourcesAtOnce is how many sources fill the lanes of an estimate.
func sourcesAtOnce[T sparse.Scalar]() int {
	if _, ok := any(*new(T)).(complex128); ok {
		return 1
	}
	return 2
}

// estimate finds the errors of count sources from src on, as many as fill the lanes or fewer; see squares for load.
func (r *reaction[T]) estimate(e *estimator, src, count int, load pointLoad) {
	in, nt := e.borrow(), len(e.g.q.Tris)
	for k := range count {
		d := &r.drives[src+k]
		putLanes(in.ar, k, r.ar[src+k])
		putLanes(in.v, k, r.v[src+k])
		putLanes(in.as, k, d.as)
		putLanes(in.bubble, k, d.bubble)
		putLanes(in.density, k, d.density)
		r.eta[src+k] = make([]float64, nt)
	}
	e.squares(in, load)
	if count == 1 {
		for t, q := range in.out {
			r.eta[src][t] = math.Sqrt(q[0] + q[1]) // of a real source alone the second is nothing
		}
	} else {
		for t, q := range in.out {
			r.eta[src][t], r.eta[src+1][t] = math.Sqrt(q[0]), math.Sqrt(q[1])
		}
	}
	e.g.made.scratch.Put(in)
}

// total returns As + Ar at the nodes of triangle t; only iron and conductors have
// it.
func (r *reaction[T]) total(src, t int) (a [6]T) {
	ar, as := r.ar[src], r.drives[src].as
	for i, n := range r.s.g.q.Tris[t] {
		a[i] = ar[n] + r.s.lift(as[n])
	}
	return a
}

// reduced returns Ar at the nodes of triangle t.
func (r *reaction[T]) reduced(src, t int) (a [6]T) {
	ar := r.ar[src]
	for i, n := range r.s.g.q.Tris[t] {
		a[i] = ar[n]
	}
	return a
}
