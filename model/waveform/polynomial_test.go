package waveform

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand"
	"testing"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.12g, want %.12g ± %.2g", what, got, want, tol)
	}
}

// brute returns extremes on a dense grid.
func brute(p *polynomial, count int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for j := range count {
		v, _ := p.at(2 * math.Pi * float64(j) / float64(count))
		low, high = min(low, v), max(high, v)
	}
	return low, high
}

// cos(nθ − shift) with its maxima half a step between the samples is the worst case of
// Ehlich and Zeller: every sample is at most cos(πn/N) (Math. Z. 86 (1964) 41). A line of no
// size beside it keeps the single-frequency answer away.
func TestPeakHalfwayBetweenSamples(t *testing.T) {
	for n := 2; n <= 200; n++ {
		p := newPolynomial([]int{1, n}, []complex128{1e-300, cmplx.Rect(3, -math.Pi/samplesAnOrder)})
		v, _ := p.sample(samplesAnOrder * n)
		for _, x := range v {
			if x > 3*math.Cos(math.Pi/samplesAnOrder)+1e-9 {
				t.Fatalf("order %d: a sample %g hits the peak: the case is not the worst one", n, x)
			}
		}
		least, most := p.extremes()
		name := fmt.Sprintf("order %d", n)
		near(t, name+" largest", most.value, 3, 1e-7)
		near(t, name+" smallest", least.value, -3, 1e-7)
		if !(most.limit >= 3 && most.limit <= 3+1e-6 && least.limit <= -3 && least.limit >= -3-1e-6) {
			t.Errorf("%s: limits %.12g, %.12g do not hold ±3 closely", name, least.limit, most.limit)
		}
		at, _ := p.at(most.angleRad)
		near(t, name+" at its angle", at, most.value, 1e-12)
	}
}

// Every cosine of the sum peaks at θ = δ, where the sum is Σ|c|: the largest value by the
// triangle inequality. Smallest of Σ_{k≤n} cos kθ against a dense grid.
func TestPeakOfAlignedOrders(t *testing.T) {
	for _, n := range []int{2, 3, 17, 64, 200} {
		delta := math.Pi / float64(samplesAnOrder*n)
		var orders []int
		var c []complex128
		for k := 1; k <= n; k++ {
			orders, c = append(orders, k), append(c, cmplx.Rect(1, -float64(k)*delta))
		}
		p := newPolynomial(orders, c)
		least, most := p.extremes()
		near(t, "largest", most.value, float64(n), 1e-7*float64(n))
		if !(most.limit >= float64(n)*(1-1e-13)) {
			t.Errorf("order %d: limit %.12g below the peak", n, most.limit)
		}
		low, _ := brute(p, 400*n)
		if !(least.limit <= low && least.value <= low+1e-12 && least.value >= low-1e-3*float64(n)) {
			t.Errorf("order %d: smallest %.12g, limit %.12g, on a grid %.12g", n, least.value, least.limit, low)
		}
	}
}

// Sums of random phases hold what a dense grid finds, and limits are close.
func TestExtremesOfRandomPhases(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	for i := range 200 {
		var orders []int
		var c []complex128
		n := 0
		for range 2 + r.Intn(12) {
			k := 1 + r.Intn(60)
			n = max(n, k)
			orders, c = append(orders, k), append(c, cmplx.Rect(r.ExpFloat64(), 2*math.Pi*r.Float64()))
		}
		p := newPolynomial(orders, c)
		least, most := p.extremes()
		low, high := brute(p, 200*n)
		tol := 3e-4 * (high - low) // (πn/N)²/2 of a grid of 200 n points, twice
		if !(most.limit >= high && most.limit-most.value <= 1e-7*(high-low) && least.limit <= low &&
			least.value-least.limit <= 1e-7*(high-low)) {
			t.Errorf("case %d: limits %g %g of %g %g, grid %g %g", i,
				least.limit, most.limit, least.value, most.value, low, high)
		}
		near(t, "largest", most.value, high, tol)
		near(t, "smallest", least.value, low, tol)
	}
}

// One waveform at 24 time shifts has the same extremes; orders 180 and 360 at 90° too,
// where samples at few instants miss the high order altogether.
func TestExtremesDoNotMoveWithTime(t *testing.T) {
	for _, high := range []int{5, 25, 180, 360} {
		var first, least bound
		for shift := range 24 {
			d := 2 * math.Pi * float64(shift) / 24
			p := newPolynomial([]int{1, 3, high}, []complex128{cmplx.Rect(1, d), cmplx.Rect(0.3, 0.4+3*d),
				cmplx.Rect(0.5, math.Pi/2+float64(high)*d)})
			low, most := p.extremes()
			if shift == 0 {
				first, least = most, low
				a, b := brute(p, 800*high)
				near(t, "largest against a grid", most.value, b, 1e-4)
				near(t, "smallest against a grid", low.value, a, 1e-4)
			}
			near(t, fmt.Sprintf("order %d shift %d largest", high, shift), most.value, first.value, 1e-7)
			near(t, fmt.Sprintf("order %d shift %d smallest", high, shift), low.value, least.value, 1e-7)
			if !(most.limit >= first.value-1e-9 && low.limit <= least.value+1e-9) {
				t.Errorf("order %d shift %d: limits %g, %g", high, shift, low.limit, most.limit)
			}
		}
	}
}

// Past a cap of work the limit is what has been proven, never the value found: too few
// samples for the order, and no split at all of a cosine whose samples miss its peak.
func TestLimitHoldsPastTheCaps(t *testing.T) {
	p := newPolynomial([]int{1, mostSamples}, []complex128{1, cmplx.Rect(1, -1)})
	least, most := p.extremes()
	if !(most.limit >= 2-1e-6 && least.limit <= -2+1e-6) {
		t.Errorf("limits %g, %g of a sum that comes near ±2", least.limit, most.limit)
	}
	p = newPolynomial([]int{10}, []complex128{cmplx.Rect(1, -math.Pi/samplesAnOrder)})
	v, slope := p.sample(10 * samplesAnOrder)
	h := &hunt{p: p, fourth: 1e4}
	if most := h.largest(v, slope, bound{value: v[0]}); !(most.limit >= 1 && most.limit < 1.01 && most.value < 0.93) {
		t.Errorf("without a split: %+v", most)
	}
}

// What is not a number has no extremes, and no loop waits for them.
func TestExtremesOfNoNumber(t *testing.T) {
	p := newPolynomial([]int{1, 2}, []complex128{complex(math.NaN(), 0), 1})
	if least, most := p.extremes(); !math.IsNaN(least.limit) || !math.IsNaN(most.limit) {
		t.Errorf("%v %v", least, most)
	}
}

func BenchmarkExtremes(b *testing.B) {
	r := rand.New(rand.NewSource(1))
	for _, lines := range []int{2, 10, 60, 360} {
		for _, alike := range []bool{false, true} {
			var orders []int
			var c []complex128
			for i := range lines {
				size := 1 / float64(i+1)
				if alike {
					size = 1
				}
				orders, c = append(orders, 360-i), append(c, cmplx.Rect(size, 2*math.Pi*r.Float64()))
			}
			p := newPolynomial(orders, c)
			b.Run(fmt.Sprintf("order 360 lines %d alike %v", lines, alike), func(b *testing.B) {
				for b.Loop() {
					p.extremes()
				}
			})
		}
	}
}
