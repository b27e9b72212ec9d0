package fem

import (
	"fmt"
	"math"

	"busgauss/model/sparse"
)

const (
	newtonTolerance = 1e-7 // energy norm of the step over that of the field
	searchEnough    = 0.3  // slope left along the step, of that at its start
	searchTries     = 12
)

// mulFixed sets out to the part of the matrix that does not depend on the curve
// times x.
func mulFixed(z *saturated, x, out []float64) {
	sparse.MulVec(z.s.g.matrix().pattern, z.fixed, x, out)
}

// newton solves for the load factor, starting from and ending in x.
//
// The energy of a monotone curve is convex, so that a step which lowers its slope
// along the step is progress: full steps are tried first, and where the slope
// changes sign and is still large its zero is bracketed (false position, Illinois
// variant). pay is called before each step, whose error ends it. Sources: P. Concus, SIAM J. Numer. Anal. 9 (1972); M. Dowell, P.
// Jarratt, BIT 11 (1971) 168 (from memory).
func (z *saturated) newton(x []float64, factor float64, steps int, pay func() error) (used int, decrement float64, err error) {
	s, g := z.s, z.s.g
	n := g.n
	r, trial, rt := make([]float64, n), make([]float64, n), make([]float64, n)
	for used = 0; ; used++ {
		if err := pay(); err != nil {
			return used, math.NaN(), err
		}
		z.residual(x, r, factor)
		z.tangents(x, factor)
		s.assembleTangent(z)
		if s.factor, err = sparse.FactorNumeric(g.matrix().sym, s.values, s.factor); err != nil {
			return used, math.NaN(), fmt.Errorf("plane field: Newton step %d: %w", used+1, err)
		}
		d := append([]float64(nil), r...)
		s.factor.Solve(d, 1)
		slope := 0.0
		for i := range d {
			d[i] = -d[i]
			slope += float64(r[i] * d[i])
		}
		for i := range trial {
			trial[i] = x[i] + d[i]
		}
		sparse.MulVec(g.matrix().pattern, s.values, trial, rt)
		size := dot(rt, trial)
		decrement = math.Sqrt(-slope / size)
		if !(slope < 0) && slope != 0 || !finite(slope) {
			return used, math.NaN(), nil
		}
		if slope == 0 || decrement <= newtonTolerance || size == 0 {
			for i := range x {
				x[i] += d[i]
			}
			return used, decrement, nil
		}
		if used >= steps {
			return used, decrement, nil
		}
		along := func(t float64) float64 {
			for i := range x {
				trial[i] = x[i] + float64(t*d[i])
			}
			z.residual(trial, rt, factor)
			return dot(rt, d)
		}
		t := search(along, slope)
		for i := range x {
			x[i] += float64(t * d[i])
		}
	}
}

// search returns the step length for a slope function that starts at slope < 0.
func search(along func(float64) float64, slope float64) float64 {
	hi, at := 1.0, along(1)
	if at <= -slope*searchEnough {
		return 1
	}
	lo, atLo := 0.0, slope
	for range searchTries {
		t := lo - atLo*(hi-lo)/(at-atLo)
		v := along(t)
		if math.Abs(v) <= -slope*searchEnough {
			return t
		}
		if v < 0 {
			lo, atLo = t, v
			at /= 2
		} else {
			hi, at = t, v
			atLo /= 2
		}
	}
	return lo + (hi-lo)/2
}

// assembleTangent fills the values from the fixed part and the tangents.
func (s *system[T]) assembleTangent(z *saturated) {
	vs, ok := any(s.values).([]float64)
	if !ok {
		panic("fem: tangents are real")
	}
	g := s.g
	copy(vs, z.fixed)
	scatter := g.matrix().scatter
	for e := range z.elems {
		at, k := 21*z.elems[e].tri, &z.s.tangent[e]
		for i := range 6 {
			for j := range i + 1 {
				vs[scatter[at]] += k[i][j]
				at++
			}
		}
	}
}

// price is that of the grid of the latest state.
func (w *Saturating) price() price {
	g := w.z.s.g
	return g.priceOf(1, 1, len(w.p.Sensors), 0, len(w.z.elems))
}

// pay takes what a step of Newton's method takes.
func (w *Saturating) pay() error {
	cost := w.price()
	return w.opt.Work.Take(cost.factor+2*cost.dual+float64(tangentSteps*float64(len(w.z.elems))), what(w.z.s.g.n, "a step of Newton's method"))
}

// Bytes estimates what the state keeps.
func (n *Nonlinear) Bytes() int64 {
	if n.l == nil {
		return 0
	}
	cost := n.l.cost()
	return int64(cost.bytes) + 1000*int64(len(n.l.s.tangent))
}

// LetGo frees the factor of the matrix; see Solution.LetGo.
func (n *Nonlinear) LetGo() {
	if n.l != nil {
		n.l.s.letGo()
	}
}
