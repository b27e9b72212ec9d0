package decouple

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"busgauss/model/portable"
)

// embedding takes complex matrices for real ones: as they are where nothing is
// complex, else m×n as (Re −Im; Im Re), 2m×2n. Products, inverses and
// least-squares solutions that are unique go over into each other.
type embedding struct{ complex bool }

func (e embedding) of(a [][]complex128) *mat.Dense {
	m, n := shape(a)
	if !e.complex {
		out := mat.NewDense(m, n, nil)
		for i := range a {
			for j, v := range a[i] {
				out.Set(i, j, real(v))
			}
		}
		return out
	}
	out := mat.NewDense(2*m, 2*n, nil)
	for i := range a {
		for j, v := range a[i] {
			out.Set(i, j, real(v))
			out.Set(i, n+j, -imag(v))
			out.Set(m+i, j, imag(v))
			out.Set(m+i, n+j, real(v))
		}
	}
	return out
}

// back returns the complex m×n matrix of its embedding.
func (e embedding) back(a *mat.Dense, m, n int) [][]complex128 {
	out := make([][]complex128, m)
	for i := range out {
		for j := range n {
			v := complex(a.At(i, j), 0)
			if e.complex {
				v = complex(a.At(i, j), a.At(m+i, j))
			}
			out[i] = append(out[i], v)
		}
	}
	return out
}

// allowed returns orthonormal columns that span the embedded currents of n circuits
// whose sums, rows of zero, vanish; nil where there are none.
func (e embedding) allowed(zero [][]complex128, n int) *mat.Dense {
	if len(zero) == 0 {
		return e.of(identity(n))
	}
	_, null := pseudoInverse(e.of(zero))
	return null
}

// parts returns the circuits, of n, that have a part in the embedded currents, the
// columns of a.
func (e embedding) parts(a *mat.Dense, n int) []int {
	rows, columns := a.Dims()
	size := make([]float64, n)
	most := 0.0
	for i := range rows {
		for j := range columns {
			size[i%n] = portable.Hypot(size[i%n], a.At(i, j))
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
func pseudoInverse(a *mat.Dense) (inverse, null *mat.Dense) {
	m, n := a.Dims()
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDFull) {
		panic("decouple: singular values of finite numbers do not converge")
	}
	values := svd.Values(nil) // falling
	rank := 0
	for rank < len(values) && values[rank] > leastSingular*values[0] {
		rank++
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	if rank < n {
		null = mat.DenseCopyOf(v.Slice(0, n, rank, n))
	}
	inverse = mat.NewDense(n, m, nil)
	for i := range n {
		for j := range m {
			sum := 0.0
			for k := range rank {
				sum += v.At(i, k) * u.At(j, k) / values[k]
			}
			inverse.Set(i, j, sum)
		}
	}
	return inverse, null
}

// largest returns the largest singular value of a, its 2-norm.
func largest(a *mat.Dense) float64 {
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDNone) {
		return math.NaN()
	}
	return svd.Values(nil)[0]
}
