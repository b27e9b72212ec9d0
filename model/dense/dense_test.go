package dense

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The other side is another library's dense algebra (gonum, after LAPACK), and what the words mean: P a = L U, a V = scaled.

func random(r *rand.Rand, m, n int) []float64 {
	out := make([]float64, m*n)
	for i := range out {
		out[i] = r.NormFloat64()
	}
	return out
}

func rows(a []float64, n int) (out [][]float64) {
	for i := 0; i < len(a); i += n {
		out = append(out, a[i:i+n])
	}
	return out
}

func TestFactorise(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 30))
	for _, n := range []int{1, 2, 7, 63, 64, 65, 130, 201} {
		a := random(r, n, n)
		lu := append([]float64(nil), a...)
		pivot := Factorise(lu, n)
		moved := append([]float64(nil), a...)
		for i, j := range pivot {
			for k := range n {
				moved[i*n+k], moved[j*n+k] = moved[j*n+k], moved[i*n+k]
			}
		}
		for i := range n {
			for j := range n {
				sum := 0.0
				for k := range min(i, j+1) {
					sum += lu[i*n+k] * lu[k*n+j]
				}
				if i <= j {
					sum += lu[i*n+j]
				}
				if math.Abs(sum-moved[i*n+j]) > 1e-13*float64(n) {
					t.Fatalf("%d: L U is %g at %d, %d, the matrix %g", n, sum, i, j, moved[i*n+j])
				}
			}
			for k := range i {
				if math.Abs(lu[i*n+k]) > 1 {
					t.Fatalf("%d: a factor of %g: the pivot is not the largest", n, lu[i*n+k])
				}
			}
		}
		b := random(r, n, 1)
		x, ok := Solve(rows(a, n), b)
		var want mat.VecDense
		if err := want.SolveVec(mat.NewDense(n, n, a), mat.NewVecDense(n, b)); err != nil || !ok {
			t.Fatal(n, err, ok)
		}
		for i := range x {
			if math.Abs(x[i]-want.AtVec(i)) > 1e-9*mat.Norm(&want, 2) {
				t.Errorf("%d: solution %g, want %g", n, x[i], want.AtVec(i))
			}
		}
	}
	for _, a := range [][]float64{{1, 2, 2, 4}, {0, 0, 0, 1}, {1, math.NaN(), 0, 1}, {1, math.Inf(1), 0, 1}} {
		if x, ok := Solve(rows(a, 2), []float64{1, 1}); ok {
			t.Errorf("%v: solved by %v", a, x)
		}
	}
}

func TestSingularValues(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 30))
	for k := range 400 {
		m, n := 1+r.IntN(9), 1+r.IntN(9)
		a := random(r, m, n)
		size := math.Pow(10, float64(r.IntN(40)-20))
		for i := range a {
			a[i] *= size * math.Pow(10, float64(-r.IntN(3*(k%5)+1)))
		}
		if k%3 == 0 && m > 1 { // a row again, and a column of zeros
			copy(a[(m-1)*n:], a[:n])
			for i := range m {
				a[i*n] = 0
			}
		}
		s, ok := SingularValues(rows(a, n))
		if !ok {
			t.Fatalf("%d: %v does not settle", k, a)
		}
		var svd mat.SVD
		svd.Factorize(mat.NewDense(m, n, a), mat.SVDNone)
		for i, want := range svd.Values(nil) {
			if math.Abs(s.Values[i]-want) > 1e-14*s.Values[0] {
				t.Errorf("%d: value %d is %g, want %g", k, i, s.Values[i], want)
			}
		}
		for p := range n {
			for i := range m {
				sum := 0.0
				for j := range n {
					sum += a[i*n+j] * s.V[p][j]
				}
				if math.Abs(sum-s.Scaled[p][i]) > 1e-14*s.Values[0] {
					t.Errorf("%d: a V is %g, want %g", k, sum, s.Scaled[p][i])
				}
			}
			for q := range n {
				want := 0.0
				if p == q {
					want = 1
				}
				if got := dot(s.V[p], s.V[q]); math.Abs(got-want) > 1e-14 {
					t.Errorf("%d: V_%d · V_%d is %g", k, p, q, got)
				}
				if got := dot(s.Scaled[p], s.Scaled[q]); p != q && min(s.Values[p], s.Values[q]) > 1e-17*s.Values[0] && math.Abs(got) > 1e-14*s.Values[p]*s.Values[q] {
					t.Errorf("%d: columns at a cosine of %g", k, got/s.Values[p]/s.Values[q])
				}
			}
		}
	}
	if _, ok := SingularValues([][]float64{{1, math.NaN()}}); ok {
		t.Error("NaN has singular values")
	}
	if s, ok := SingularValues([][]float64{{0, 0}}); !ok || s.Values[0] != 0 {
		t.Error("zeros have none of zero")
	}
}

// BenchmarkFactorise compares with the other library's factors.
func BenchmarkFactorise(b *testing.B) {
	const n = 700
	a := random(rand.New(rand.NewPCG(3, 30)), n, n)
	b.Run("here", func(b *testing.B) {
		for range b.N {
			Factorise(append([]float64(nil), a...), n)
		}
	})
	b.Run("gonum", func(b *testing.B) {
		for range b.N {
			var lu mat.LU
			lu.Factorize(mat.NewDense(n, n, a))
		}
	})
}
