package decouple

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

const degree = math.Pi / 180

// A matrix that is A0 (1 + D) leaves D under the inverse of A0. Worked by hand:
//
//	A0 = (2 1; 1 1), D = (−0.1−0.1i 0.02i; 0.03 0)
//	A  = (1.83−0.2i 1+0.04i; 0.93−0.1i 1+0.02i)
//
// own errors |0.9−0.1i| − 1 = √0.82 − 1 and −atan(1/9) = −6.3402°.
func TestLeftoverTwo(t *testing.T) {
	inverse := [][]complex128{{1, -1}, {-1, 2}}
	a := [][]complex128{{1.83 - 0.2i, 1 + 0.04i}, {0.93 - 0.1i, 1 + 0.02i}}
	l := LeftoverOf(inverse, a)
	near(t, "E", l.E, [][]complex128{{-0.1 - 0.1i, 0.02i}, {0.03, 0}}, 1e-14)
	within(t, "own amplitude", l.OwnAmplitude(0), math.Sqrt(0.82)-1, 1e-14)
	within(t, "own phase", l.OwnPhaseRad(0), -math.Atan(1.0/9), 1e-14)
	within(t, "second amplitude", l.OwnAmplitude(1), 0, 1e-14)
	within(t, "sum", l.CrosstalkSum(1), 0.03, 1e-14)
}

// Three sensors that the inverse of (1 2 3; 0 1 4; 5 6 0) serves, with the third
// column of the matrix raised by (0.01, 0, 0): E is the first column of the
// inverse, (−24, 20, −5), times 0.01, in the third column.
func TestLeftoverThree(t *testing.T) {
	inverse, err := Inverse([][]complex128{{1, 2, 3}, {0, 1, 4}, {5, 6, 0}})
	if err != nil {
		t.Fatal(err)
	}
	l := LeftoverOf(inverse, [][]complex128{{1, 2, 3.01}, {0, 1, 4}, {5, 6, 0}})
	near(t, "E", l.E, [][]complex128{{0, 0, -0.24}, {0, 0, 0.2}, {0, 0, -0.05}}, 1e-11)
	within(t, "sum", l.CrosstalkSum(0), 0.24, 1e-12)
	within(t, "own, not crosstalk", l.CrosstalkSum(2), 0, 1e-12)
	within(t, "own", l.OwnAmplitude(2), -0.05, 1e-12)
}

// Equal matrices leave nothing at all, not their rounding.
func TestLeftoverOfItself(t *testing.T) {
	a := [][]complex128{{21.383e-6, 0.429e-6, 0.092e-6}, {0.429e-6, 21.383e-6, 0.43e-6 + 1e-9i}, {0.092e-6, 0.43e-6, 21.38e-6}}
	inverse, err := Inverse(a)
	if err != nil {
		t.Fatal(err)
	}
	l := LeftoverOf(inverse, a)
	for j := range a {
		if l.OwnAmplitude(j) != 0 || l.OwnPhaseRad(j) != 0 || l.CrosstalkSum(j) != 0 {
			t.Errorf("channel %d: %v", j, l.E[j])
		}
	}
	// One part in a thousand million is no rounding, and infinity stays.
	a[0][1] *= 1 + 1e-9
	if l := LeftoverOf(inverse, a); l.CrosstalkSum(0) == 0 {
		t.Error("a change of 1e-9 is lost")
	}
	a[0][1] = complex(math.Inf(1), 0)
	if v := LeftoverOf(inverse, a).CrosstalkSum(0); !math.IsNaN(v) && !math.IsInf(v, 1) {
		t.Errorf("infinite field leaves %g", v)
	}
}

// A first-order corner of 5 kHz at 1 kHz: 1/(1 + 0.2i), −11.3099° and 1/√1.04.
func TestLeftoverOfALag(t *testing.T) {
	inverse, err := Inverse([][]complex128{{2.3e-3}})
	if err != nil {
		t.Fatal(err)
	}
	l := LeftoverOf(inverse, [][]complex128{{2.3e-3 / (1 + 0.2i)}})
	within(t, "phase", l.OwnPhaseRad(0), -11.309932*degree, 1e-8)
	within(t, "amplitude", l.OwnAmplitude(0), 1/math.Sqrt(1.04)-1, 1e-14)
}

func TestWorst(t *testing.T) {
	inverse := identity(2)
	matrices := [][][]complex128{
		{{1.01, 0.02}, {0, 1}},
		{{0.97, -0.01i}, {0.01, 1}},
		{{1.03 - 1e-9, 0.02i}, {0.005, cmplx.Rect(1, -0.1)}},
		{{1, 0}, {0, cmplx.Rect(1, 0.1)}},
	}
	w := Worst(inverse, matrices)
	for _, c := range []struct {
		name          string
		got           Extreme
		value, within float64
		matrix        int
	}{
		{"amplitude u", w[0].OwnAmplitude, -0.03, 1e-12, 1},
		{"phase u", w[0].OwnPhaseRad, 0, 1e-15, 0},
		{"crosstalk u", w[0].CrosstalkSum, 0.02, 1e-12, 0},
		{"phase v", w[1].OwnPhaseRad, -0.1, 1e-12, 2},
		{"crosstalk v", w[1].CrosstalkSum, 0.01, 1e-12, 1},
	} {
		within(t, c.name, c.got.Value, c.value, c.within)
		if c.got.Matrix != c.matrix {
			t.Errorf("%s: from matrix %d, want %d", c.name, c.got.Matrix, c.matrix)
		}
	}
	// A worst that cannot be computed is not passed over, first or last.
	bad := [][]complex128{{complex(math.NaN(), 0), 0}, {0, 1}}
	for at := range 3 {
		w := Worst(inverse, slices.Insert(slices.Clone(matrices[:2]), at, bad))
		if !math.IsNaN(w[0].OwnAmplitude.Value) || w[0].OwnAmplitude.Matrix != at {
			t.Errorf("with NaN at %d: %+v", at, w[0].OwnAmplitude)
		}
	}
	for _, c := range Worst(inverse, nil) {
		if !math.IsNaN(c.OwnAmplitude.Value) || !math.IsNaN(c.OwnPhaseRad.Value) || !math.IsNaN(c.CrosstalkSum.Value) || c.CrosstalkSum.Matrix != -1 {
			t.Errorf("of none: %+v", c)
		}
	}
}

func TestLeftoverPanics(t *testing.T) {
	square, wide := identity(2), [][]complex128{{1, 0, 0}, {0, 1, 0}}
	for name, f := range map[string]func(){
		"shape": func() { LeftoverOf(square, wide) },
		"size":  func() { LeftoverOf(square, identity(3)) },
	} {
		if !panics(f) {
			t.Errorf("%s: no panic", name)
		}
	}
}
