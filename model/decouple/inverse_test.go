package decouple

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"testing"
)

// within fails where got is not within tol of want.
func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.9g, want %.9g within %.3g", what, got, want, tol)
	}
}

// near fails where an entry of got is not within tol times the largest of want.
func near(t *testing.T, what string, got, want [][]complex128, tol float64) {
	t.Helper()
	largest := 0.0
	for i := range want {
		for _, v := range want[i] {
			largest = max(largest, cmplx.Abs(v))
		}
	}
	for i := range want {
		for j := range want[i] {
			if !(cmplx.Abs(got[i][j]-want[i][j]) <= tol*largest) {
				t.Errorf("%s: entry %d, %d is %v, want %v", what, i, j, got[i][j], want[i][j])
			}
		}
	}
}

func hilbert(n int) [][]complex128 {
	a := make([][]complex128, n)
	for i := range a {
		for j := range n {
			a[i] = append(a[i], complex(1/float64(i+j+1), 0))
		}
	}
	return a
}

// Inverses worked by hand: adjugate over determinant. The last Hilbert one is in
// whole numbers (M.-D. Choi, Tricks or Treats with the Hilbert Matrix, American
// Mathematical Monthly 90, 1983); 1e-20 is the classic that needs pivoting
// (G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 3.4).
func TestInverse(t *testing.T) {
	for _, c := range []struct {
		name       string
		a, inverse [][]complex128
		tol        float64
	}{
		{"one", [][]complex128{{4i}}, [][]complex128{{-0.25i}}, 1e-15},
		{"two", [][]complex128{{2, 1}, {1, 1}}, [][]complex128{{1, -1}, {-1, 2}}, 1e-15},
		{"complex", [][]complex128{{1 + 1i, 1}, {1, 1 - 1i}}, [][]complex128{{1 - 1i, -1}, {-1, 1 + 1i}}, 1e-14},
		{"first pivot zero", [][]complex128{{0, 2}, {4, 0}}, [][]complex128{{0, 0.25}, {0.5, 0}}, 1e-15},
		{"first pivot small", [][]complex128{{1e-20, 1}, {1, 1}}, [][]complex128{{-1, 1}, {1, -1e-20}}, 1e-15},
		{"three", [][]complex128{{1, 2, 3}, {0, 1, 4}, {5, 6, 0}}, [][]complex128{{-24, 18, 5}, {20, -15, -4}, {-5, 4, 1}}, 1e-13},
		{"hilbert", hilbert(3), [][]complex128{{9, -36, 30}, {-36, 192, -180}, {30, -180, 180}}, 524 * 1e-15},
		// Sensors and bars of scales as far apart as 2e9 V/A and 1e-9 T/A.
		{"scales", [][]complex128{{2e9, 1e-9}, {1e9, 1e-9}}, [][]complex128{{1e-9, -1e-9}, {-1e9, 2e9}}, 1e-14},
	} {
		before := clone(c.a)
		got, err := Inverse(c.a)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		near(t, c.name, got, c.inverse, c.tol)
		if !reflect.DeepEqual(c.a, before) {
			t.Errorf("%s: the matrix was changed", c.name)
		}
	}
	// The smaller entries of the last case stand in their own row: compare there.
	got, _ := Inverse([][]complex128{{2e9, 1e-9}, {1e9, 1e-9}})
	within(t, "small entry", real(got[0][1])*1e9, -1, 1e-14)
}

func clone(a [][]complex128) [][]complex128 {
	var out [][]complex128
	for _, row := range a {
		out = append(out, append([]complex128(nil), row...))
	}
	return out
}

func TestInverseRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name string
		a    [][]complex128
		want error
	}{
		{"zero", [][]complex128{{0}}, ErrSingular},
		{"row twice", [][]complex128{{1, 2}, {2, 4}}, ErrSingular},
		{"row of zeros", [][]complex128{{1, 2}, {0, 0}}, ErrSingular},
		{"column of zeros", [][]complex128{{0, 2}, {0, 1}}, ErrSingular},
		{"nearly", [][]complex128{{1, 1}, {1, 1 + 1e-14}}, ErrSingular},
		{"complex", [][]complex128{{1, 1i}, {-1i, 1}}, ErrSingular},
		{"hilbert 14", hilbert(14), ErrSingular}, // condition number above 1e17
		{"NaN", [][]complex128{{complex(nan, 0), 1}, {0, 1}}, ErrNotFinite},
		{"infinite", [][]complex128{{complex(0, inf), 1}, {0, 1}}, ErrNotFinite},
		{"beyond range", [][]complex128{{complex(1e-310, 0)}}, ErrNotFinite},
	} {
		if got, err := Inverse(c.a); !errors.Is(err, c.want) || got != nil {
			t.Errorf("%s: %v, %v, want %v", c.name, got, err, c.want)
		}
	}
	for _, a := range [][][]complex128{nil, {{1, 2}}, {{1, 2}, {3}}, {{}}} {
		if !panics(func() { _, _ = Inverse(a) }) {
			t.Errorf("%v: no panic", a)
		}
	}
}

func panics(f func()) (yes bool) {
	defer func() { yes = recover() != nil }()
	f()
	return false
}

// a·a⁻¹ = a⁻¹·a = 1 and (a⁻¹)⁻¹ = a, for random complex matrices with unequal rows.
func TestInverseIdentities(t *testing.T) {
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, seed))
	for n := 1; n <= 9; n++ {
		a := make([][]complex128, n)
		for i := range a {
			scale := math.Pow(10, -6+4*rng.Float64())
			for j := range n {
				v := complex(rng.NormFloat64(), rng.NormFloat64())
				if i == j {
					v += 4
				}
				a[i] = append(a[i], v*complex(scale, 0))
			}
		}
		inverse, err := Inverse(a)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "left", add(LeftoverOf(inverse, a).E, identity(n)), identity(n), 1e-11)
		near(t, "right", add(LeftoverOf(a, inverse).E, identity(n)), identity(n), 1e-11)
		back, err := Inverse(inverse)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "back", back, a, 1e-11)
	}
}

func add(a, b [][]complex128) [][]complex128 {
	out := clone(a)
	for i := range out {
		for j := range out[i] {
			out[i][j] += b[i][j]
		}
	}
	return out
}

// Condition numbers: the Hilbert matrix of order 2 is (4+√13)/(4−√13), from its
// characteristic polynomial; orders 3 and 4 as reference works on numerical
// algebra print them, 524.0568 and 1.5514e4 (the latter in the manual of hilb,
// which names G. E. Forsythe, C. B. Moler, Computer Solution of Linear Algebraic
// Systems, 1967). Unitary matrices have 1; (1 i; i 1) is unitary but for a factor,
// and (1 i; −i 1), one sign away, is singular.
func TestCondition(t *testing.T) {
	root13 := math.Sqrt(13)
	for _, c := range []struct {
		name      string
		a         [][]complex128
		want, tol float64
	}{
		{"hilbert 2", hilbert(2), (4 + root13) / (4 - root13), 1e-12},
		{"hilbert 3", hilbert(3), 524.0568, 5e-5},
		{"hilbert 4", hilbert(4), 1.5514e4, 0.5},
		{"scaled hilbert", scale(hilbert(3), 1e-7i), 524.0568, 5e-5},
		{"unitary", [][]complex128{{1, 1i}, {1i, 1}}, 1, 1e-14},
		{"phases", [][]complex128{{cmplx.Rect(1, 0.3), 0}, {0, cmplx.Rect(1, -2)}}, 1, 1e-14},
		{"diagonal", [][]complex128{{3, 0}, {0, 2i}}, 1.5, 1e-14},
		{"shear", [][]complex128{{1, 1}, {0, 1}}, (3 + math.Sqrt(5)) / 2, 1e-13},
		{"three sensors, two bars", [][]complex128{{1, 0}, {0, 2}, {0, 0}}, 2, 1e-14},
	} {
		within(t, c.name, Condition(c.a), c.want, c.tol)
	}
	if k := Condition([][]complex128{{1, 1i}, {-1i, 1}}); !(k > 1e15) {
		t.Errorf("singular: %g", k)
	}
	if k := Condition([][]complex128{{0, 0}, {0, 0}}); !math.IsInf(k, 1) {
		t.Errorf("zero: %g", k)
	}
	if k := Condition([][]complex128{{1, 0}, {0, complex(math.NaN(), 0)}}); !math.IsNaN(k) {
		t.Errorf("NaN: %g", k)
	}
	if !panics(func() { Condition(nil) }) {
		t.Error("empty: no panic")
	}
}

func scale(a [][]complex128, by complex128) [][]complex128 {
	out := clone(a)
	for i := range out {
		for j := range out[i] {
			out[i][j] *= by
		}
	}
	return out
}
