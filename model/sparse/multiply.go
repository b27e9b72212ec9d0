package sparse

import (
	"math"

	"busgauss/model/portable"
)

// MulVec sets y = A x for the symmetric matrix of the given pattern and values
// (both triangles, from the stored lower one). x and y have length n and must
// not overlap. Wrong lengths panic. Sums run in the order of the columns.
func MulVec[T Scalar](p *Pattern, values, x, y []T) {
	if len(values) != p.Len() {
		panic("sparse: values do not fit the pattern")
	}
	if len(x) != p.n || len(y) != p.n {
		panic("sparse: vector does not fit the matrix")
	}
	clear(y)
	scatter := kernelsFor[T]().scatter
	for j := range p.n {
		from, to := p.colStart[j], p.colStart[j+1]
		xj := x[j]
		sum := portable.ProductOf(values[from], xj) // the first term, as rounding depends on the order
		y[j] += scatter(y, x, values[from+1:to], p.rows[from+1:to], xj, sum)
	}
}

// NormInf returns ‖A‖∞, the largest row sum of moduli of the symmetric matrix, in
// the unit of its values; NaN when a value is NaN. Wrong lengths panic.
func NormInf[T Scalar](p *Pattern, values []T) float64 {
	if len(values) != p.Len() {
		panic("sparse: values do not fit the pattern")
	}
	sums := make([]float64, p.n)
	for j := range p.n {
		for k := p.colStart[j]; k < p.colStart[j+1]; k++ {
			size := modulus(values[k])
			sums[j] += size
			if i := p.rows[k]; int(i) != j {
				sums[i] += size
			}
		}
	}
	return largest(sums)
}

// largest returns the largest of non-negative numbers, NaN if one is NaN.
func largest(sizes []float64) float64 {
	top := 0.0
	for _, s := range sizes {
		if !(s <= top) {
			top = s
		}
		if math.IsNaN(s) {
			return s
		}
	}
	return top
}

// vectorNorm returns the largest modulus in x, NaN if one is NaN.
func vectorNorm[T Scalar](x []T) float64 {
	top := 0.0
	for _, v := range x {
		s := modulus(v)
		if math.IsNaN(s) {
			return s
		}
		top = max(top, s)
	}
	return top
}
