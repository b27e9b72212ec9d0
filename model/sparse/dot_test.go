package sparse

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The sums agree with long sums in plain order, and the code for this processor with the portable one to the last bit.
func TestDot(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for _, n := range []int{0, 1, 7, 8, 9, 15, 16, 17, 31, 32, 100, 257} {
		a, b, c, single := make([]float64, n), make([]float64, n+3), make([]float64, n+3), make([]float32, n)
		var ab, ac, sb, size float64
		for i := range n {
			a[i], b[i], c[i], single[i] = rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), float32(rng.NormFloat64())
			ab, ac, sb = ab+a[i]*b[i], ac+a[i]*c[i], sb+float64(single[i])*b[i]
			size += math.Abs(a[i]*b[i]) + math.Abs(a[i]*c[i]) + math.Abs(float64(single[i])*b[i])
		}
		two, other := DotTwo(a, b, c)
		for i, pair := range [][2]float64{{Dot(a, b), ab}, {DotSingle(single, b), sb}, {two, ab}, {other, ac}} {
			if !(math.Abs(pair[0]-pair[1]) <= 1e-15*size) {
				t.Errorf("%d numbers, sum %d: %v, want %v", n, i, pair[0], pair[1])
			}
		}
		whole := n &^ (lanes - 1)
		var x, y [lanes]float64
		dotBlocks(a[:whole], b, &x)
		dotPortable(a[:whole], b, &y)
		same(t, n, x, y)
		dotSingleBlocks(single[:whole], b, &x)
		dotSinglePortable(single[:whole], b, &y)
		same(t, n, x, y)
		whole = n &^ (lanes/2 - 1)
		dotTwoBlocks(a[:whole], b, c, &x)
		dotTwoPortable(a[:whole], b, c, &y)
		same(t, n, x, y)
	}
}

func same(t *testing.T, n int, x, y [lanes]float64) {
	t.Helper()
	if x != y {
		t.Errorf("%d numbers: lanes %v here, %v in portable code", n, x, y)
	}
}

func BenchmarkDot(b *testing.B) {
	x, y, z := make([]float64, 2000), make([]float64, 2000), make([]float32, 2000)
	b.Run("double", func(b *testing.B) {
		for b.Loop() {
			Dot(x, y)
		}
	})
	b.Run("single", func(b *testing.B) {
		for b.Loop() {
			DotSingle(z, y)
		}
	})
	b.Run("portable", func(b *testing.B) {
		var sums [lanes]float64
		for b.Loop() {
			dotPortable(x, y, &sums)
		}
	})
}
