// Package sharing divides the currents of circuits over their bars.
//
// A circuit is what one current flows through: bars in series, each with a fixed
// factor, or bars joined at both ends, over which the current divides so that
// their voltages are equal. Net currents B of all bars follow from the currents I
// of all circuits by one matrix, B = M I. Phasors are peak-valued with e^{+jωt}.
package sharing

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/portable"
)

// Circuit is one current and the bars that carry it.
type Circuit struct {
	Bars []int // places in the matrix of impedances; none twice, in no two circuits
	// Factors, a pure number for each bar, say what of the current flows in it: 1 or
	// −1 in series, shares that are declared. Nil for bars joined at both ends,
	// whose shares are wanted.
	Factors []float64
}

// Singular says that the voltages do not settle how the current of a circuit
// divides, as over two bars without resistance.
type Singular struct{ Circuit int }

// Error says which circuit, by its place.
func (e *Singular) Error() string {
	return fmt.Sprintf("the impedances do not settle the shares of circuit %d", e.Circuit)
}

// ErrNotFinite says that an impedance is infinite or not a number.
var ErrNotFinite = errors.New("an impedance of bars joined at both ends is not a finite number")

// leastPivot is the share of the largest impedance of a circuit below which a pivot
// counts as zero: some four of sixteen digits are left there.
const leastPivot = 1e-12

// Matrix returns M, a row for each bar and a column for each circuit: the net
// current of the bar for one ampere in that circuit, all other circuits carrying
// none, a pure complex number. Currents that the field of one circuit drives round
// in the loops of another count. A bar that stands in no circuit carries nothing.
//
// z holds the impedances, z[i][k] the voltage of bar i for one ampere in bar k, all
// of one unit (Ω or Ω/m), a row and a column for each bar; it stays as it is. A
// constant common to all entries changes nothing. At direct current z is the diagonal
// of resistances, and the shares are those of the conductances.
//
// For each circuit c, with M_bc = f_b δ_gc in a bar b of a circuit g of fixed
// factors f, the unknowns are the M_bc of all bars joined at both ends and a
// voltage U_g for each such circuit g:
//
//	Σ_k z_bk M_kc − U_g = 0   for every bar b of g (Kirchhoff's law of meshes)
//	Σ_{b in g} M_bc = δ_gc    (Kirchhoff's law of nodes)
//
// in one system for all, by elimination with partial pivoting. The joints
// themselves have no impedance here; what they have may be added to z. Bars of a
// circuit run side by side over the same length.
//
// The error is *Singular where a pivot falls below 1e-12 of the largest own
// impedance of its circuit, ErrNotFinite where an impedance of a bar joined at both
// ends is not finite. Other rows of z are not read. A matrix that is not square, or
// circuits against the rules of Circuit, panic.
//
// Source: G. Kirchhoff, Annalen der Physik 72 (1847) 497 (from memory); matrix of
// inductances of parallel conductors with a common constant: F. W. Grover,
// Inductance Calculations, Van Nostrand 1946 (from memory).
func Matrix(z [][]complex128, circuits []Circuit) ([][]complex128, error) {
	n := len(z)
	check(z, circuits)
	m := make([][]complex128, n)
	for b := range m {
		m[b] = make([]complex128, len(circuits))
	}
	for c := range circuits {
		for i, f := range circuits[c].Factors {
			m[circuits[c].Bars[i]][c] = complex(f, 0)
		}
	}
	s, err := newSystem(z, circuits, m)
	if err != nil {
		return nil, err
	}
	if failed := s.eliminate(); failed >= 0 {
		return nil, &Singular{Circuit: s.circuit[failed]}
	}
	for k, b := range s.bar {
		if b >= 0 {
			copy(m[b], s.rows[k][len(s.bar):])
		}
	}
	return m, nil
}

func check(z [][]complex128, circuits []Circuit) {
	for _, row := range z {
		if len(row) != len(z) {
			panic("sharing: matrix is not square")
		}
	}
	seen := make([]bool, len(z))
	for _, c := range circuits {
		if len(c.Bars) == 0 || c.Factors != nil && len(c.Factors) != len(c.Bars) {
			panic("sharing: a circuit has bars, and a factor for each or none")
		}
		for _, b := range c.Bars {
			if b < 0 || b >= len(z) || seen[b] {
				panic("sharing: a bar is missing or stands in two places")
			}
			seen[b] = true
		}
	}
}

// system is the bordered system, an unknown a row: the bars of a circuit that is joined
// at both ends and then its voltage, circuit by circuit.
type system struct {
	circuit []int // of each unknown
	bar     []int // of each unknown, -1 for a voltage
	rows    [][]complex128
}

// newSystem fills the system; the right-hand sides stand behind the unknowns.
// Voltages of a circuit are in units of its largest own impedance.
func newSystem(z [][]complex128, circuits []Circuit, fixed [][]complex128) (*system, error) {
	s := &system{}
	for c := range circuits {
		if circuits[c].Factors != nil {
			continue
		}
		for _, b := range append(append([]int(nil), circuits[c].Bars...), -1) {
			s.circuit, s.bar = append(s.circuit, c), append(s.bar, b)
		}
	}
	n := len(s.bar)
	for k, b := range s.bar {
		c := s.circuit[k]
		row := make([]complex128, n+len(circuits))
		if b < 0 {
			for i := range s.bar {
				if s.circuit[i] == c && s.bar[i] >= 0 {
					row[i] = 1
				}
			}
			row[n+c] = 1
			s.rows = append(s.rows, row)
			continue
		}
		unit := largest(z, circuits[c].Bars)
		for i, of := range s.bar {
			switch {
			case of >= 0:
				row[i] = portable.Quotient(z[b][of], unit)
			case s.circuit[i] == c:
				row[i] = -1
			}
		}
		for of, factors := range fixed {
			if cmplx.IsNaN(z[b][of]) || cmplx.IsInf(z[b][of]) {
				return nil, ErrNotFinite
			}
			for column, f := range factors {
				if f != 0 {
					row[n+column] -= portable.Quotient(portable.Times(f, z[b][of]), unit)
				}
			}
		}
		s.rows = append(s.rows, row)
	}
	return s, nil
}

// largest returns the largest own impedance of bars, 1 where all are zero.
func largest(z [][]complex128, bars []int) complex128 {
	most := 0.0
	for _, b := range bars {
		most = math.Max(most, portable.Abs(z[b][b]))
	}
	if most == 0 {
		return 1
	}
	return complex(most, 0)
}

// eliminate turns the right-hand sides into the solution. It returns the unknown
// that no equation settles, -1 where all are settled.
//
// Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 3.4.
func (s *system) eliminate() int {
	for k := range s.bar {
		p := k
		for i := k + 1; i < len(s.rows); i++ {
			if portable.Abs(s.rows[i][k]) > portable.Abs(s.rows[p][k]) {
				p = i
			}
		}
		if !(portable.Abs(s.rows[p][k]) > leastPivot) {
			return k
		}
		s.rows[k], s.rows[p] = s.rows[p], s.rows[k]
		pivot := s.rows[k][k]
		for j := k; j < len(s.rows[k]); j++ {
			s.rows[k][j] = portable.Quotient(s.rows[k][j], pivot)
		}
		for i := range s.rows {
			f := s.rows[i][k]
			if i == k || f == 0 {
				continue
			}
			for j := k; j < len(s.rows[i]); j++ {
				s.rows[i][j] -= portable.Times(f, s.rows[k][j])
			}
		}
	}
	return -1
}
