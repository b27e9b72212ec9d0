package decouple

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"busgauss/model/portable"
)

// Fit is the way back from readings to currents that sensors as many as circuits,
// more, or fewer with known sums of currents allow.
type Fit struct {
	// Inverse has a row for each circuit and a column for each sensor, in A per unit
	// of reading.
	Inverse [][]complex128
	// Condition says, as the function of that name does, by how much an error of the
	// readings may grow, a pure number: one that is a share ε of their norm moves the
	// currents by at most Condition·ε of theirs. It is |Inverse| |K| in 2-norms, K taken
	// over the currents that the sums allow.
	Condition float64

	zero [][]complex128 // the sums, each of norm 1
}

// Indistinct says that currents in these circuits, by their places, can flow without
// any sensor reading them. errors.Is takes it for ErrSingular.
type Indistinct struct{ Circuits []int }

// Error names the circuits by their places.
func (e *Indistinct) Error() string {
	if len(e.Circuits) == 1 {
		return fmt.Sprintf("the sensors do not see the current of circuit %d", e.Circuits[0])
	}
	return fmt.Sprintf("the sensors do not tell the currents of circuits %s apart",
		strings.Join(strings.Fields(strings.Trim(fmt.Sprint(e.Circuits), "[]")), ", "))
}

// Unwrap returns ErrSingular.
func (e *Indistinct) Unwrap() error { return ErrSingular }

// ErrNoCurrent says that sums known to be zero leave no current at all.
var ErrNoCurrent = errors.New("the sums known to be zero leave no current")

const (
	// leastSingular is the share of the largest singular value below which one counts as
	// zero; as leastPivot.
	leastSingular = 1e-12
	// leastPart is the share of the largest circuit in an unseen set of currents below
	// which another has no part in it.
	leastPart = 1e-6
)

// LeastSquares returns the currents that fit the readings best, for a matrix k with
// a row for each sensor and a column for each circuit, where the sums of currents
// whose coefficients are the rows of zero are known to be zero, such as (1, 1, 1) for
// three phases without a return. For readings B the currents I = Inverse·B make
//
//	Σ_s |(K I − B)_s|² / |K_s|²   least, with   zero · I = 0
//
// |K_s| being the norm of the row of sensor s, so that the unit of a sensor does not
// matter: two sensors on one bar give the mean of what each says in amperes.
// A row of zeros in k or in zero says nothing; rows of zero may repeat others. A
// square k without sums gives what Inverse gives. All circuits count in amperes:
// one that couples 1e-12 times as well as another is unseen. Without imaginary parts
// in k and zero there are none in Inverse. k and zero stay as they are.
//
// *Indistinct where the sensors and sums do not settle the currents, naming the
// circuits; ErrNotFinite where k or zero has such an entry; ErrNoCurrent where
// nothing may flow. A k that is empty or ragged, or rows of zero of another
// length, panic.
//
// Source: null-space method, Å. Björck, Numerical Methods for Least Squares
// Problems, SIAM 1996, section 5.1 (from memory); N. J. Higham, Accuracy and
// Stability of Numerical Algorithms, 2nd ed., section 20.9; both steps by singular
// values, of the real matrix (Re −Im; Im Re) where there are imaginary parts.
func LeastSquares(k, zero [][]complex128) (*Fit, error) {
	m, n := shape(k)
	if m == 0 {
		panic("decouple: matrix is empty")
	}
	if _, columns := shape(zero); len(zero) > 0 && columns != n {
		panic("decouple: a sum has a coefficient for each circuit")
	}
	if !finite(k) || !finite(zero) {
		return nil, ErrNotFinite
	}
	weights, zero, ok := sizes(k, zero)
	if !ok {
		return nil, ErrNotFinite
	}
	if len(zero) == 0 && m == n {
		inverse, err := Inverse(k)
		if err == nil {
			return &Fit{Inverse: inverse, Condition: Condition(k)}, nil
		}
		if !errors.Is(err, ErrSingular) {
			return nil, err
		}
		// Go on, to name the circuits.
	}
	e := embedding{complex: !isReal(k) || !isReal(zero)}
	basis := e.allowed(zero, n)
	if basis == nil {
		return nil, ErrNoCurrent
	}
	inverse, unseen := pseudoInverse(product(e.of(weighted(k, weights)), basis))
	if unseen != nil {
		return nil, &Indistinct{Circuits: e.parts(product(basis, unseen), n)}
	}
	out := e.back(product(basis, inverse), n, m)
	for j := range out {
		for i := range out[j] {
			out[j][i] = portable.Times(out[j][i], complex(weights[i], 0))
		}
	}
	if !finite(out) {
		return nil, ErrNotFinite
	}
	return &Fit{Inverse: out, Condition: largest(e.of(out)) * largest(product(e.of(k), basis)), zero: zero}, nil
}

// sizes returns one over the norm of each row of k, 0 for a row of zeros, and the rows
// of zero that are not zero, each of norm 1. It is false where a norm, or one over
// it, is beyond the range of numbers.
func sizes(k, zero [][]complex128) (weights []float64, unit [][]complex128, ok bool) {
	ok = true
	over := func(row []complex128) float64 {
		size := norm(row)
		if size == 0 {
			return 0
		}
		ok = ok && !math.IsInf(size, 0) && !math.IsInf(1/size, 0)
		return 1 / size
	}
	for i := range k {
		weights = append(weights, over(k[i]))
	}
	for i := range zero {
		if w := over(zero[i]); w > 0 {
			unit = append(unit, weighted(zero[i:i+1], []float64{w})...)
		}
	}
	return weights, unit, ok
}

// norm returns the 2-norm, without over- or underflow on the way.
func norm(row []complex128) float64 {
	sum := 0.0
	for _, v := range row {
		sum = portable.Hypot(sum, portable.Abs(v))
	}
	return sum
}

// weighted returns a with each row times its weight.
func weighted(a [][]complex128, weights []float64) [][]complex128 {
	out := make([][]complex128, len(a))
	for i := range a {
		for _, v := range a[i] {
			out[i] = append(out[i], portable.Times(v, complex(weights[i], 0)))
		}
	}
	return out
}

func isReal(a [][]complex128) bool {
	for i := range a {
		for _, v := range a[i] {
			if imag(v) != 0 {
				return false
			}
		}
	}
	return true
}
