package decouple

import (
	"errors"
	"math"
	"math/cmplx"

	"busgauss/model/dense"
	"busgauss/model/portable"
)

// ErrSingular says that the sensors do not tell the bars apart.
var ErrSingular = errors.New("the matrix of sensors and bars is singular")

// ErrNotFinite says that an entry of a matrix is infinite or not a number.
var ErrNotFinite = errors.New("the matrix of sensors and bars has an entry that is not a finite number")

// leastPivot is the share of the largest entry, after scaling, below which a
// pivot counts as zero: some four of sixteen digits of the inverse are left there.
const leastPivot = 1e-12

// Inverse returns the inverse of the square matrix a, in A per unit of reading:
// row j gives the current of bar j from the readings of all sensors. a stays as
// it is; the result shares nothing with it.
//
// Rows and columns are first scaled by powers of two, so that sensors of unequal
// sensitivity do no harm; then Gauss-Jordan elimination with partial pivoting,
// the largest entry of a column first. The error of an entry is about 1e-16
// times the condition number of the scaled matrix, times the largest entry.
//
// ErrSingular where a pivot falls below 1e-12, ErrNotFinite where a has such an
// entry. A matrix that is empty or not square panics.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., sections 3.4
// (pivoting) and 3.5.2 (scaling).
func Inverse(a [][]complex128) ([][]complex128, error) {
	n := len(a)
	if r, c := shape(a); r == 0 || r != c {
		panic("decouple: matrix is not square")
	}
	if !finite(a) {
		return nil, ErrNotFinite
	}
	work, rows, columns, ok := scaled(a)
	if !ok {
		return nil, ErrSingular
	}
	inverse := identity(n)
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if portable.Abs(work[i][k]) > portable.Abs(work[p][k]) {
				p = i
			}
		}
		if !(portable.Abs(work[p][k]) > leastPivot) {
			return nil, ErrSingular
		}
		work[k], work[p] = work[p], work[k]
		inverse[k], inverse[p] = inverse[p], inverse[k]
		pivot := work[k][k]
		for j := range n {
			work[k][j] = portable.Quotient(work[k][j], pivot)
			inverse[k][j] = portable.Quotient(inverse[k][j], pivot)
		}
		for i := range n {
			f := work[i][k]
			if i == k || f == 0 {
				continue
			}
			for j := range n {
				work[i][j] -= portable.Times(f, work[k][j])
				inverse[i][j] -= portable.Times(f, inverse[k][j])
			}
		}
	}
	// B = R A C was inverted, so A⁻¹ = C B⁻¹ R.
	for j := range n {
		for i := range n {
			inverse[j][i] = timesPower(inverse[j][i], columns[j]+rows[i])
		}
	}
	if !finite(inverse) {
		return nil, ErrNotFinite
	}
	return inverse, nil
}

// scaled returns a copy of a whose rows, and then columns, are multiplied by
// powers of two so that their largest entry is near one, and the exponents. It is
// false where a row or a column is zero.
func scaled(a [][]complex128) (b [][]complex128, rows, columns []int, ok bool) {
	n := len(a)
	rows, columns = make([]int, n), make([]int, n)
	for i := range a {
		largest := 0.0
		for _, v := range a[i] {
			largest = max(largest, math.Abs(real(v)), math.Abs(imag(v)))
		}
		if largest == 0 {
			return nil, nil, nil, false
		}
		_, e := math.Frexp(largest)
		rows[i] = -e
		row := make([]complex128, n)
		for j, v := range a[i] {
			row[j] = timesPower(v, -e)
		}
		b = append(b, row)
	}
	for j := range n {
		largest := 0.0
		for i := range n {
			largest = max(largest, math.Abs(real(b[i][j])), math.Abs(imag(b[i][j])))
		}
		if largest == 0 {
			return nil, nil, nil, false
		}
		_, e := math.Frexp(largest)
		columns[j] = -e
		for i := range n {
			b[i][j] = timesPower(b[i][j], -e)
		}
	}
	return b, rows, columns, true
}

// timesPower returns v·2^e, without rounding inside the range of numbers.
func timesPower(v complex128, e int) complex128 {
	return complex(math.Ldexp(real(v), e), math.Ldexp(imag(v), e))
}

// Condition returns the condition number of a in the 2-norm, a pure number from
// 1 on: the largest singular value over the smallest. An error of the readings
// that is a share ε of their norm moves the currents by at most Condition·ε of
// theirs. It depends on the scale of each row, so it compares sensors as they
// stand: T/A for the field alone, V/A with their sensitivities.
//
// +Inf for a singular matrix (near 1e16 where rounding hides that), NaN where a
// has entries that are not finite. An empty or ragged matrix panics.
//
// The complex m×n matrix is taken as the real 2m×2n matrix (Re −Im; Im Re), which
// has each singular value twice.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., sections 2.6.2
// and 2.4; N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed.,
// section 7.1.
func Condition(a [][]complex128) float64 {
	if m, _ := shape(a); m == 0 {
		panic("decouple: matrix is empty")
	}
	if !finite(a) {
		return math.NaN()
	}
	s, ok := dense.SingularValues(embedding{complex: true}.of(a))
	if !ok {
		return math.NaN()
	}
	least := s.Values[2*min(len(a), len(a[0]))-1]
	if least == 0 {
		return math.Inf(1)
	}
	return s.Values[0] / least
}

// shape returns the numbers of rows and columns; a ragged matrix panics.
func shape(a [][]complex128) (rows, columns int) {
	for i := range a {
		if len(a[i]) != len(a[0]) || len(a[i]) == 0 {
			panic("decouple: matrix is ragged")
		}
		columns = len(a[i])
	}
	return len(a), columns
}

func finite(a [][]complex128) bool {
	for i := range a {
		for _, v := range a[i] {
			if cmplx.IsNaN(v) || cmplx.IsInf(v) {
				return false
			}
		}
	}
	return true
}

func identity(n int) [][]complex128 {
	out := make([][]complex128, n)
	for i := range out {
		out[i] = make([]complex128, n)
		out[i][i] = 1
	}
	return out
}
