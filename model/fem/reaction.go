package fem

import (
	"math/cmplx"

	"busgauss/model/parallel"
	"busgauss/model/sparse"
)

func cabs(z complex128) float64 { return cmplx.Abs(z) }

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

// solve returns the reactions to sources, with error estimates.
func (s *system[T]) solve(srcs []source, est *estimator[T]) *reaction[T] {
	g := s.g
	r := &reaction[T]{s: s, drives: newDrives(g, srcs)}
	n := len(srcs)
	all := make([]T, n*g.n)
	parallel.Each(n, maxWorkers, func(_, i int) { s.load(&r.drives[i], all[i*g.n:(i+1)*g.n]) })
	s.factor.Solve(all, n)
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
		if est != nil {
			r.eta[i] = est.estimate(r, i)
		}
	})
	return r
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
