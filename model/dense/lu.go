package dense

import (
	"math"

	"busgauss/model/parallel"
	"busgauss/model/sparse"
)

// panel is how many columns are eliminated before the rest of the matrix is touched: their factors stay in the nearest memory.
const panel = 64

// Factorise overwrites the square matrix a of n rows, row by row, with its triangular factors, and returns the exchanges: row i
// changed places with row pivot[i], the rows taken in rising order. The lower triangle has ones on the diagonal, which are
// not stored.
//
//	P a = L U
//
// The largest entry of a column becomes its pivot. A column of zeros stays as it is, and a solution then divides by zero: how
// good the factors are is for a residual to judge. Of another length than n², a panics.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 3.4 (partial pivoting) and 3.2.11 (by blocks).
func Factorise(a []float64, n int) (pivot []int) {
	if len(a) != n*n {
		panic("dense: matrix is not square")
	}
	pivot = make([]int, n)
	upper := make([]float64, panel*n) // of a panel's rows, column by column
	for from := 0; from < n; from += panel {
		to := min(from+panel, n)
		for k := from; k < to; k++ {
			pivot[k] = exchange(a, n, k)
			eliminate(a, n, k, to)
		}
		for i := from + 1; i < to; i++ {
			row := a[i*n:][:n]
			for p := from; p < i; p++ {
				take(row[to:], a[p*n+to:][:n-to], row[p])
			}
		}
		width := to - from
		for j := to; j < n; j++ {
			for p := from; p < to; p++ {
				upper[(j-to)*width+p-from] = a[p*n+j]
			}
		}
		parallel.Each(n-to, 8, func(_, i int) {
			row := a[(to+i)*n:][:n]
			lower, rest := row[from:to], row[to:]
			j := 0
			for ; j+1 < len(rest); j += 2 {
				one, two := sparse.DotTwo(lower, upper[j*width:][:width], upper[(j+1)*width:][:width])
				rest[j] -= one
				rest[j+1] -= two
			}
			if j < len(rest) {
				rest[j] -= sparse.Dot(lower, upper[j*width:][:width])
			}
		})
	}
	return pivot
}

// exchange puts the row with the largest entry of column k, from row k on, in place k, and returns where it was.
func exchange(a []float64, n, k int) int {
	p := k
	for i := k + 1; i < n; i++ {
		if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
			p = i
		}
	}
	if p != k {
		x, y := a[k*n:][:n], a[p*n:][:n]
		for j := range x {
			x[j], y[j] = y[j], x[j]
		}
	}
	return p
}

// eliminate takes row k off the rows below, in the columns up to the end of its panel.
func eliminate(a []float64, n, k, to int) {
	row := a[k*n:][:to]
	if row[k] == 0 {
		return
	}
	for i := k + 1; i < n; i++ {
		below := a[i*n:][:to]
		below[k] /= row[k]
		take(below[k+1:], row[k+1:], below[k])
	}
}

// take subtracts f x from y.
func take(y, x []float64, f float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] -= float64(f * v)
	}
}

// Solve returns x with a x = b for a square matrix, which stays as it is, and is false where a is singular or has entries that
// are not finite. An a that is not square or of another size than b panics.
func Solve(a [][]float64, b []float64) (x []float64, ok bool) {
	n := len(b)
	lu := make([]float64, 0, n*n)
	for _, row := range a {
		lu = append(lu, row...)
	}
	pivot := Factorise(lu, n)
	x = append(x, b...)
	for i, j := range pivot {
		x[i], x[j] = x[j], x[i]
	}
	for i := range n {
		x[i] -= sparse.Dot(lu[i*n:][:i], x)
	}
	for i := n - 1; i >= 0; i-- {
		row := lu[i*n:][:n]
		x[i] = (x[i] - sparse.Dot(row[i+1:], x[i+1:])) / row[i]
	}
	for _, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, false
		}
	}
	return x, true
}
