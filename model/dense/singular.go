package dense

import (
	"cmp"
	"math"
	"slices"
)

const (
	rightAngle = 1e-15 // cosine below which two columns are at right angles
	mostSweeps = 60    // some ten do
	noLength   = 1e-18 // of a column, by the largest entry, below which it is rounding and stands as it likes
)

// Singular is a matrix of m rows and n columns cut into singular values: a V_k = Scaled_k, of length Values_k, where all V_k have
// length one and all V_k, and all Scaled_k that are more than rounding, are at right angles.
type Singular struct {
	Values []float64   // len n, falling; those beyond m are zero but for rounding
	V      [][]float64 // len n, of len n each
	Scaled [][]float64 // len n, of len m each
}

// SingularValues returns the singular values of a, with the vectors on both sides, and is false where columns could not be
// made to stand at right angles or entries are not finite. a stays as it is. Rounding leaves errors of about 1e-15 of the largest.
//
// Columns are turned in pairs until all stand at right angles, the entries first scaled by a power of two.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 8.6.3 (one-sided Jacobi; M. R. Hestenes, J. SIAM 6
// (1958) 51; from memory).
func SingularValues(a [][]float64) (s *Singular, ok bool) {
	m, n := len(a), len(a[0])
	most := 0.0
	for _, row := range a {
		for _, v := range row {
			most = max(most, math.Abs(v)) // NaN stays
		}
	}
	if math.IsNaN(most) || math.IsInf(most, 0) {
		return nil, false
	}
	_, exponent := math.Frexp(most)
	w, v := make([][]float64, n), make([][]float64, n)
	for j := range n {
		w[j], v[j] = make([]float64, m), make([]float64, n)
		v[j][j] = 1
		for i := range m {
			w[j][i] = math.Ldexp(a[i][j], -exponent)
		}
	}
	for range mostSweeps {
		if ok = sweep(w, v); ok {
			break
		}
	}
	lengths, order := make([]float64, n), make([]int, n)
	for j := range n {
		order[j] = j
		lengths[j] = math.Sqrt(dot(w[j], w[j]))
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(lengths[j], lengths[i]) })
	s = &Singular{}
	for _, j := range order {
		for i := range w[j] {
			w[j][i] = math.Ldexp(w[j][i], exponent)
		}
		s.Values = append(s.Values, math.Ldexp(lengths[j], exponent))
		s.V, s.Scaled = append(s.V, v[j]), append(s.Scaled, w[j])
	}
	return s, ok
}

// sweep turns all pairs of columns of w once, and those of v with them, and reports whether all stood at right angles before.
func sweep(w, v [][]float64) bool {
	done := true
	for p := range w {
		for q := p + 1; q < len(w); q++ {
			pp, qq, pq := dot(w[p], w[p]), dot(w[q], w[q]), dot(w[p], w[q])
			one, two := math.Sqrt(pp), math.Sqrt(qq)
			if min(one, two) <= noLength || math.Abs(pq) <= rightAngle*one*two {
				continue
			}
			done = false
			zeta := (qq - pp) / (2 * pq)
			t := math.Copysign(1, zeta) / (math.Abs(zeta) + math.Sqrt(1+float64(zeta*zeta)))
			c := 1 / math.Sqrt(1+float64(t*t))
			turn(w[p], w[q], c, c*t)
			turn(v[p], v[q], c, c*t)
		}
	}
	return done
}

// turn turns two columns into c x − s y and s x + c y.
func turn(x, y []float64, c, s float64) {
	for i := range x {
		x[i], y[i] = float64(c*x[i])-float64(s*y[i]), float64(s*x[i])+float64(c*y[i])
	}
}

func dot(x, y []float64) float64 {
	sum := 0.0
	for i, v := range x {
		sum += float64(v * y[i])
	}
	return sum
}
