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
	sparse.MulVec(z.s.g.pattern, z.fixed, x, out)
}

// newton solves for the load factor, starting from and ending in x.
//
// The energy of a monotone curve is convex, so that a step which lowers its slope
// along the step is progress: full steps are tried first, and where the slope
// changes sign and is still large its zero is bracketed (false position, Illinois
// variant). Sources: P. Concus, SIAM J. Numer. Anal. 9 (1972); M. Dowell, P.
// Jarratt, BIT 11 (1971) 168 (from memory).
func (z *saturated) newton(x []float64, factor float64, steps int) (used int, decrement float64, err error) {
	s, g := z.s, z.s.g
	n := g.n
	r, trial, rt := make([]float64, n), make([]float64, n), make([]float64, n)
	for used = 0; ; used++ {
		z.residual(x, r, factor)
		z.tangents(x, factor)
		s.assembleTangent(z)
		if s.factor, err = sparse.FactorNumeric(g.sym, s.values, s.factor); err != nil {
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
		sparse.MulVec(g.pattern, s.values, trial, rt)
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
	for e := range z.elems {
		at, k := 21*z.elems[e].tri, &z.s.tangent[e]
		for i := range 6 {
			for j := range i + 1 {
				vs[g.scatter[at]] += k[i][j]
				at++
			}
		}
	}
}
