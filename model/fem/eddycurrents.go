package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// EddyCurrents is what the conducting pieces carry beside even densities: line currents at
// the points of the quadrature rule, which add up to none in each insulated piece.
type EddyCurrents struct {
	Piece []int        // of each point, in the order of the problem
	At    []geom.Point // m
	A     [][]complex128
	// A holds, for each source of the solution, the current at each point in A per ampere of a
	// bar (per tesla for the two uniform fields, which come last).
}

// EddyCurrents returns the eddy currents of s; without points where nothing conducts.
func (s *Solution) EddyCurrents() EddyCurrents {
	if s.engine == nil {
		return EddyCurrents{A: make([][]complex128, len(s.srcs))}
	}
	return s.engine.eddyCurrents()
}

func (l *linear[T]) eddyCurrents() EddyCurrents {
	return takenFrom(newCloud(l.r, l.conducting), l)
}

// takenFrom lists the points of a cloud.
func takenFrom[T sparse.Scalar](c *cloud[T], l *linear[T]) EddyCurrents {
	n, k := len(l.r.drives), len(rule3)
	out := EddyCurrents{At: c.at, A: make([][]complex128, n)}
	for i := range c.at {
		out.Piece = append(out.Piece, l.s.g.d.index[l.s.g.piece[c.tri[i/k]]])
	}
	for src := range out.A {
		out.A[src] = make([]complex128, len(c.at))
		for i := range c.at {
			out.A[src][i] = portable.Times(toComplex(c.j[i*n+src]), complex(2*math.Pi/mu0, 0))
		}
	}
	return out
}

// EddyB returns the flux density at q in tesla of the eddy currents of each source by
// themselves, without what iron makes of it.
func (s *Solution) EddyB(q geom.Point) (bx, by []complex128) {
	if s.engine == nil {
		return make([]complex128, len(s.srcs)), make([]complex128, len(s.srcs))
	}
	return s.engine.eddyB(q)
}

func (l *linear[T]) eddyB(q geom.Point) (bx, by []complex128) {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := len(l.r.drives)
	pv := &pointValue[T]{bx: make([]T, n), by: make([]T, n)}
	l.eddies(q, pv)
	for i := range n {
		bx, by = append(bx, toComplex(pv.bx[i])), append(by, toComplex(pv.by[i]))
	}
	return bx, by
}

// RoughReaction returns what iron adds to the flux density at q, in T/A of bar number bar, in a
// solution at direct current, in air or in a piece that does not react.
func (s *Solution) RoughReaction(q geom.Point, bar int) (bx, by float64) {
	if s.engine == nil {
		return 0, 0
	}
	x, y, total := s.engine.rough(q, bar)
	bx, by = real(x), real(y)
	if total {
		exact := s.srcs[bar].flux(q)
		bx, by = bx-exact.X, by-exact.Y
	}
	return bx, by
}
