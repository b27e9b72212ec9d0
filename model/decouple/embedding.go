package decouple

import (
	"math"

	"busgauss/model/dense"
	"busgauss/model/portable"
)

// embedding takes complex matrices for real ones: as they are where nothing is
// complex, else m×n as (Re −Im; Im Re), 2m×2n. Products, inverses and
// least-squares solutions that are unique go over into each other.
type embedding struct{ complex bool }

func (e embedding) of(a [][]complex128) [][]float64 {
	m, n := shape(a)
	if !e.complex {
		out := zeros(m, n)
		for i := range a {
			for j, v := range a[i] {
				out[i][j] = real(v)
			}
		}
		return out
	}
	out := zeros(2*m, 2*n)
	for i := range a {
		for j, v := range a[i] {
			out[i][j], out[i][n+j] = real(v), -imag(v)
			out[m+i][j], out[m+i][n+j] = imag(v), real(v)
		}
	}
	return out
}

// back returns the complex m×n matrix of its embedding.
func (e embedding) back(a [][]float64, m, n int) [][]complex128 {
	out := make([][]complex128, m)
	for i := range out {
		for j := range n {
			v := complex(a[i][j], 0)
			if e.complex {
				v = complex(a[i][j], a[m+i][j])
			}
			out[i] = append(out[i], v)
		}
	}
	return out
}

// allowed returns orthonormal columns that span the embedded currents of n circuits
// whose sums, rows of zero, vanish; nil where there are none.
func (e embedding) allowed(zero [][]complex128, n int) [][]float64 {
	if len(zero) == 0 {
		return e.of(identity(n))
	}
	_, null := pseudoInverse(e.of(zero))
	return null
}

// parts returns the circuits, of n, that have a part in the embedded currents, the
// columns of a.
func (e embedding) parts(a [][]float64, n int) []int {
	size := make([]float64, n)
	most := 0.0
	for i := range a {
		for _, v := range a[i] {
			size[i%n] = portable.Hypot(size[i%n], v)
		}
	}
	for _, v := range size {
		most = max(most, v)
	}
	var out []int
	for i, v := range size {
		if v > leastPart*most {
			out = append(out, i)
		}
	}
	return out
}

// pseudoInverse returns the pseudo-inverse of a, and orthonormal columns that span
// what a maps to zero; nil where that is nothing.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., sections 2.4
// and 5.5.
func pseudoInverse(a [][]float64) (inverse, null [][]float64) {
	m, n := len(a), len(a[0])
	s, ok := dense.SingularValues(a)
	if !ok {
		panic("decouple: singular values of finite numbers do not converge")
	}
	rank := 0
	for rank < min(m, n) && s.Values[rank] > leastSingular*s.Values[0] {
		rank++
	}
	if rank < n {
		null = zeros(n, n-rank)
		for k := rank; k < n; k++ {
			for i, v := range s.V[k] {
				null[i][k-rank] = v
			}
		}
	}
	inverse = zeros(n, m)
	for i := range n {
		for j := range m {
			for k := range rank {
				inverse[i][j] += float64(s.V[k][i] * (s.Scaled[k][j] / s.Values[k]) / s.Values[k])
			}
		}
	}
	return inverse, null
}

// largest returns the largest singular value of a, its 2-norm.
func largest(a [][]float64) float64 {
	s, ok := dense.SingularValues(a)
	if !ok {
		return math.NaN()
	}
	return s.Values[0]
}

// product returns a b.
func product(a, b [][]float64) [][]float64 {
	out := zeros(len(a), len(b[0]))
	for i, row := range a {
		for k, v := range row {
			for j, w := range b[k] {
				out[i][j] += float64(v * w)
			}
		}
	}
	return out
}

func zeros(m, n int) [][]float64 {
	out := make([][]float64, m)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}
