package sparse

import (
	"math"
	"math/rand/v2"
	"testing"
)

func randomScalars[T Scalar](rng *rand.Rand, n int) []T {
	out := make([]T, n)
	for i := range out {
		switch v := any(&out[i]).(type) {
		case *float64:
			*v = rng.NormFloat64()
		case *complex128:
			*v = complex(rng.NormFloat64(), rng.NormFloat64())
		}
	}
	return out
}

// testKernels compares the kernels in use with the portable ones, to the bit, and these
// with the definition.
func testKernels[T Scalar](t *testing.T, portable *kernels[T]) {
	rng := rand.New(rand.NewPCG(5, 6))
	inUse := kernelsFor[T]()
	same := func(what string, a, b []T) {
		t.Helper()
		for i := range a {
			if a[i] != b[i] {
				t.Fatalf("%s: element %d is %v, portable %v", what, i, a[i], b[i])
			}
		}
	}
	near := func(what string, a, b T) {
		t.Helper()
		// At most a hundred products of numbers of size one.
		if d := modulus(a - b); !(d < 1e-12) {
			t.Fatalf("%s: %v, want %v", what, a, b)
		}
	}
	for range 200 {
		rows, depth := 4*(1+rng.IntN(8)), rng.IntN(20)
		cols := min(rows, 4*(1+rng.IntN(8)))
		ldc, lda, ldw := rows+rng.IntN(3), rows+rng.IntN(3), rows+rng.IntN(3)
		c := randomScalars[T](rng, ldc*cols)
		a, w := randomScalars[T](rng, lda*max(depth, 1)), randomScalars[T](rng, ldw*max(depth, 1))
		from := rng.IntN(rows/8+1) * 8
		for _, store := range []bool{false, true} {
			mine, plain := append([]T(nil), c...), append([]T(nil), c...)
			inUse.update(mine, ldc, a, lda, w, ldw, from, rows, cols, depth, store)
			portable.update(plain, ldc, a, lda, w, ldw, from, rows, cols, depth, store)
			same("update", mine, plain)
			for j := range cols {
				for i := range rows {
					want := c[i+j*ldc]
					if i >= from && i >= j {
						if store {
							want = 0
						}
						for p := range depth {
							want -= a[i+p*lda] * w[j+p*ldw]
						}
					} else if i >= from {
						continue // may or may not be written
					}
					near("update", plain[i+j*ldc], want)
				}
			}
		}
		x := randomScalars[T](rng, 4*lda)
		l := [6]T(randomScalars[T](rng, 6))
		mine, plain := append([]T(nil), x...), append([]T(nil), x...)
		inUse.eliminate(mine, lda, rows, &l)
		portable.eliminate(plain, lda, rows, &l)
		same("eliminate", mine, plain)
		for i := range rows {
			v := [4]T{x[i], x[lda+i], x[2*lda+i], x[3*lda+i]}
			v[1] -= v[0] * l[0]
			v[2] -= v[0]*l[1] + v[1]*l[2]
			v[3] -= v[0]*l[3] + v[1]*l[4] + v[2]*l[5]
			for q := range v {
				near("eliminate", plain[q*lda+i]/100, v[q]/100)
			}
		}
		count := rng.IntN(len(x))
		mine, plain = make([]T, count), make([]T, count)
		inUse.scale(mine, x[:count], l[0])
		portable.scale(plain, x[:count], l[0])
		same("scale", mine, plain)
		for i := range plain {
			near("scale", plain[i], x[i]*l[0])
		}
		y, v := randomScalars[T](rng, 4*rows), randomScalars[T](rng, 4*max(depth, 1))
		mine, plain = append([]T(nil), y...), append([]T(nil), y...)
		inUse.spread(mine, a, lda, v, rows, depth)
		portable.spread(plain, a, lda, v, rows, depth)
		same("spread", mine, plain)
		for j := range rows {
			for q := range 4 {
				want := y[4*j+q]
				for p := range depth {
					want -= v[4*p+q] * a[j+p*lda]
				}
				near("spread", plain[4*j+q], want)
			}
		}
		length := rng.IntN(rows)
		mine, plain = append([]T(nil), v...), append([]T(nil), v...)
		inUse.gather(mine, a, lda, y, depth, length)
		portable.gather(plain, a, lda, y, depth, length)
		same("gather", mine, plain)
		for c := range depth {
			for q := range 4 {
				want := v[4*c+q]
				for i := range length {
					want -= a[i+c*lda] * y[4*i+q]
				}
				near("gather", plain[4*c+q], want)
			}
		}
	}
}

func TestRealKernels(t *testing.T) { testKernels(t, portableReal()) }

func TestComplexKernels(t *testing.T) { testKernels(t, portableComplex()) }

func TestModulus(t *testing.T) {
	if got := modulus(complex(3, -4)); got != 5 {
		t.Errorf("|3-4j| = %g", got)
	}
	if got := modulus(complex(math.Inf(1), math.NaN())); !math.IsNaN(got) {
		t.Errorf("|Inf+NaN j| = %g, want NaN", got)
	}
	for _, bad := range []float64{0, math.NaN(), math.Inf(1)} {
		if usable(bad) {
			t.Errorf("pivot of size %g is called usable", bad)
		}
	}
}
