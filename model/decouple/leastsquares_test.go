package decouple

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"testing"
)

var balanced = [][]complex128{{1, 1, 1}}

func mustFit(t *testing.T, k, zero [][]complex128) *Fit {
	t.Helper()
	f, err := LeastSquares(k, zero)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func times(a, b [][]complex128) [][]complex128 {
	out := make([][]complex128, len(a))
	for i := range a {
		out[i] = make([]complex128, len(b[0]))
		for j := range b[0] {
			for k := range b {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

func random(r *rand.Rand, rows, columns int, scale complex128) [][]complex128 {
	out := make([][]complex128, rows)
	for i := range out {
		for range columns {
			out[i] = append(out[i], scale*complex(r.NormFloat64(), r.NormFloat64()))
		}
	}
	return out
}

// Two sensors on a winch motor's three bars, some 1e-5 T/A: the readings of random
// currents that sum to zero give them back.
func TestTwoSensorsOnThreeBars(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 9))
	k := [][]complex128{{9e-6 - 1e-7i, 4e-7, 2e-7i}, {5e-7, 1.1e-5 + 3e-7i, -6e-7}}
	f := mustFit(t, k, balanced)
	for range 100 {
		i := random(r, 2, 1, 400)
		i = append(i, []complex128{-i[0][0] - i[1][0]})
		near(t, "currents", times(f.Inverse, times(k, i)), i, 1e-9)
	}
	// By hand: with I2 = −I0 − I1 the columns are those of the first two less the third.
	reduced, err := Inverse([][]complex128{{k[0][0] - k[0][2], k[0][1] - k[0][2]},
		{k[1][0] - k[1][2], k[1][1] - k[1][2]}})
	if err != nil {
		t.Fatal(err)
	}
	want := append(reduced, []complex128{-reduced[0][0] - reduced[1][0], -reduced[0][1] - reduced[1][1]})
	near(t, "inverse", f.Inverse, want, 1e-12)
}

// Two sensors on one bar, one of twice the sensitivity and in other units: each says a
// current, and the mean is taken. By hand: 1/2k. A third that sees nothing is left
// out.
func TestTwoSensorsOnOneBar(t *testing.T) {
	f := mustFit(t, [][]complex128{{2e-3}, {0}, {4e-6i}}, nil)
	near(t, "mean", f.Inverse, [][]complex128{{250, 0, -1.25e5i}}, 1e-14)
	within(t, "condition", f.Condition, math.Hypot(250, 1.25e5)*math.Hypot(2e-3, 4e-6), 1e-9)
}

// The least sum of squares, weighted by the rows, under random sums: no step that
// the sums allow makes it less, as its slope along each is zero; and the units of
// sensors do not matter.
func TestLeastSquaresIsLeast(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 13))
	for range 30 {
		k, zero := random(r, 5, 4, 1e-5), random(r, 1, 4, 3)
		f := mustFit(t, k, zero)
		for _, v := range times(zero, f.Inverse)[0] {
			within(t, "sum", cmplx.Abs(v), 0, 1e-14*largest(embedding{complex: true}.of(f.Inverse))*norm(zero[0]))
		}
		b := random(r, 5, 1, 1e-3)
		i := times(f.Inverse, b)
		read := times(k, i)
		for range 5 {
			step := random(r, 4, 1, 1)
			step[3][0] = -(zero[0][0]*step[0][0] + zero[0][1]*step[1][0] + zero[0][2]*step[2][0]) / zero[0][3]
			moved := times(k, step)
			var slope complex128
			size := 0.0
			for s := range k {
				w := complex(1/(norm(k[s])*norm(k[s])), 0)
				term := w * cmplx.Conj(moved[s][0]) * (read[s][0] - b[s][0])
				slope += term
				size += cmplx.Abs(term)
			}
			within(t, "slope", cmplx.Abs(slope)/size, 0, 1e-11)
		}
		volts := []float64{1, 40, 0.3, 2e3, 7}
		other := mustFit(t, weighted(k, volts), zero)
		back := make([][]complex128, 4)
		for j := range back {
			for s, v := range other.Inverse[j] {
				back[j] = append(back[j], v*complex(volts[s], 0))
			}
		}
		near(t, "other units", back, f.Inverse, 1e-11)
	}
}

// Square without sums: Inverse and Condition themselves, and a sum on top of a square
// matrix changes nothing that obeys it.
func TestLeastSquaresSquare(t *testing.T) {
	a := hilbert(3)
	want, err := Inverse(a)
	if err != nil {
		t.Fatal(err)
	}
	f := mustFit(t, a, nil)
	if !reflect.DeepEqual(f.Inverse, want) || f.Condition != Condition(a) {
		t.Errorf("%v, %g", f.Inverse, f.Condition)
	}
	i := [][]complex128{{1}, {2}, {-3}}
	near(t, "with a sum", times(mustFit(t, a, balanced).Inverse, times(a, i)), i, 1e-12)
	// A row of zeros and a sum said twice say nothing more.
	again := mustFit(t, a, [][]complex128{{2, 2, 2}, {0, 0, 0}, {1, 1, 1}})
	near(t, "said twice", again.Inverse, mustFit(t, a, balanced).Inverse, 1e-12)
	for _, row := range again.Inverse {
		for _, v := range row {
			if imag(v) != 0 {
				t.Errorf("an imaginary part in %v", row)
			}
		}
	}
}

// By hand: sensors of rows (1, 0, 0) and (0, 1, 0), which see (2, 2, 2) on top where the
// sum is zero and notice nothing. For unit readings the currents are (1, 0, −1) and (0, 1, −1), of singular values √3
// and 1, and K over the allowed currents has 1 and 1/√3: the product of the largest is √3.
func TestFitCondition(t *testing.T) {
	f := mustFit(t, [][]complex128{{3, 2, 2}, {2, 3, 2}}, balanced)
	within(t, "condition", f.Condition, math.Sqrt(3), 1e-14)
}

func TestLeastSquaresRefuses(t *testing.T) {
	const first = "the sensors do not tell the currents of circuits 0, 1 apart"
	for _, c := range []struct {
		name    string
		k, zero [][]complex128
		want    []int
		text    string
	}{
		{"square", [][]complex128{{1, 2, 0}, {2, 4, 0}, {0, 0, 1}}, nil, []int{0, 1}, first},
		{"nearly", [][]complex128{{1, 1}, {1, 1 + 1e-14}}, nil, []int{0, 1}, first},
		{"fewer", [][]complex128{{1, 1i, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 2}}, nil, []int{0, 1}, first},
		{"unseen", [][]complex128{{1, 0}, {2, 0}, {3, 0}}, nil, []int{1},
			"the sensors do not see the current of circuit 1"},
		// Of three with a zero sum, the one sensor sees a; b and c may go round unseen.
		{"sum", [][]complex128{{1, 0, 0}, {2, 0, 0}}, balanced, []int{1, 2},
			"the sensors do not tell the currents of circuits 1, 2 apart"},
	} {
		_, err := LeastSquares(c.k, c.zero)
		var e *Indistinct
		if !errors.As(err, &e) || !reflect.DeepEqual(e.Circuits, c.want) || err.Error() != c.text ||
			!errors.Is(err, ErrSingular) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	nan, inf := complex(math.NaN(), 0), complex(0, math.Inf(1))
	for _, c := range []struct {
		k, zero [][]complex128
		want    error
	}{
		{[][]complex128{{nan}, {1}}, nil, ErrNotFinite},
		{[][]complex128{{1, 2}}, [][]complex128{{1, inf}}, ErrNotFinite},
		{[][]complex128{{1e-310}, {1}}, nil, ErrNotFinite},
		{[][]complex128{{1.5e308, 1.5e308i, 1e308}, {1, 2, 3}}, balanced, ErrNotFinite},
		{[][]complex128{{1, 2}}, [][]complex128{{1, 1}, {1, -1}}, ErrNoCurrent},
	} {
		if f, err := LeastSquares(c.k, c.zero); f != nil || !errors.Is(err, c.want) {
			t.Errorf("%v: %v, want %v", c.k, err, c.want)
		}
	}
	for _, c := range [][2][][]complex128{{nil, nil}, {{{1, 2}, {3}}, nil}, {{{1, 2}}, balanced}} {
		if !panics(func() { _, _ = LeastSquares(c[0], c[1]) }) {
			t.Errorf("%v: no panic", c)
		}
	}
}
