package uncertainty

import (
	"math"

	"busgauss/model/portable"
)

// freePart is the contribution of independent lines or groups to a result, and
// the degrees of freedom of that contribution.
type freePart struct {
	u       float64
	freedom float64
}

// effectiveFreedom returns the effective degrees of freedom, a pure number, of
// the sum of independent parts with the combined standard uncertainty u_c:
//
//	ν_eff = u_c⁴ / Σ u_i⁴/ν_i
//
// +Inf where no part with finite degrees counts. The formula wants independent
// parts: a correlated group enters as one, with the least of its members, which
// is on the safe side.
//
// Source: JCGM 100:2008, annex G.4.1, equation G.2b (Welch and Satterthwaite).
func effectiveFreedom(parts []freePart, combined float64) float64 {
	sum := 0.0
	for _, p := range parts {
		if p.u > 0 {
			sum += portable.Pow(p.u/combined, 4) / p.freedom
		}
	}
	if sum == 0 {
		return math.Inf(1)
	}
	return 1 / sum
}

// CoverageFactorFor returns the pure number k for which ±k u_c holds the
// probability p, 0 < p < 1: Student's factor at the effective degrees of freedom,
// cut to a whole number. NaN where the result is.
//
// Source: JCGM 100:2008, annex G.4.1 (cutting) and G.6.4.
func (r Result) CoverageFactorFor(p float64) float64 {
	return StudentFactor(p, math.Floor(r.DegreesOfFreedom))
}

// StudentFactor returns the pure number t for which Student's distribution with
// the given degrees of freedom, cut to a whole number, holds the probability p, 0 < p < 1,
// within ±t. Below wholeSums degrees it is found by halves from the finite sums for
// whole degrees; from there on, with x = √2 erf⁻¹(p) of the normal distribution, by
//
//	t = x + g₁/ν + g₂/ν² + g₃/ν³ + g₄/ν⁴
//
// which is off by less than 1e-8 of it up to p = 0.999. Infinite degrees of freedom give x.
// NaN for p outside its range and for degrees below one.
//
// Source: JCGM 100:2008, annex G.3 and table G.2; M. Abramowitz, I. A. Stegun,
// Handbook of Mathematical Functions, 26.7.3 to 26.7.5 (from memory).
func StudentFactor(p, degreesOfFreedom float64) float64 {
	nu := math.Floor(degreesOfFreedom)
	if !(p > 0 && p < 1) || !(nu >= 1) {
		return math.NaN()
	}
	if nu < wholeSums {
		low, high := 0.0, 1.0
		for studentWithin(high, int(nu)) < p && high < 1e300 {
			low, high = high, 2*high
		}
		for {
			middle := (low + high) / 2
			if middle <= low || middle >= high {
				return middle
			}
			if studentWithin(middle, int(nu)) < p {
				low = middle
			} else {
				high = middle
			}
		}
	}
	x := math.Sqrt2 * portable.Erfinv(p)
	xx, t := float64(x*x), x
	divisor := 1.0
	for _, g := range studentSeries {
		sum := 0.0
		for i := len(g.powers) - 1; i >= 0; i-- { // of x, x³, ...
			sum = float64(sum*xx) + g.powers[i]
		}
		divisor *= nu
		t += float64(sum*x) / g.over / divisor
	}
	return t
}

// wholeSums is the number of degrees of freedom from which on the series is as good as the sums.
const wholeSums = 200

// studentSeries are g₁ to g₄: the factors of x, x³, x⁵ and so on, and what they are divided by.
var studentSeries = []struct {
	powers []float64
	over   float64
}{
	{[]float64{1, 1}, 4},
	{[]float64{3, 16, 5}, 96},
	{[]float64{-15, 17, 19, 3}, 384},
	{[]float64{-945, -1920, 1482, 776, 79}, 92160},
}

// studentWithin returns the probability that Student's distribution with nu whole degrees of freedom holds within ±t.
func studentWithin(t float64, nu int) float64 {
	length := portable.Hypot(t, math.Sqrt(float64(nu)))
	sin, cos := t/length, math.Sqrt(float64(nu))/length
	odd := nu % 2
	sum, term := 0.0, 1.0
	if odd == 1 {
		term = cos
	}
	for k := 1; 2*k+odd <= nu; k++ {
		sum += term
		term = float64(term * (float64(cos*cos) * float64(2*k-1+odd) / float64(2*k+odd)))
	}
	if odd == 1 {
		return 2 / math.Pi * (portable.Atan2(sin, cos) + float64(sin*sum))
	}
	return sin * sum
}
