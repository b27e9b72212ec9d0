package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mathext"

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
// the given degrees of freedom holds the probability p, 0 < p < 1, within ±t:
//
//	t = √(ν (1−x)/x),   I_x(ν/2, 1/2) = 1 − p
//
// I being the regularised incomplete beta function. Infinite degrees of freedom
// give the normal distribution, √2 erf⁻¹(p). NaN for p outside its range and for
// degrees below one.
//
// Source: JCGM 100:2008, annex G.3 and table G.2; M. Abramowitz, I. A. Stegun,
// Handbook of Mathematical Functions, 26.7.1 and 26.5.27.
func StudentFactor(p, degreesOfFreedom float64) float64 {
	switch {
	case !(p > 0 && p < 1) || !(degreesOfFreedom >= 1):
		return math.NaN()
	case degreesOfFreedom > 1e8: // the factor differs from the normal one by less than 1e-7 of it
		return math.Sqrt2 * portable.Erfinv(p)
	}
	x := mathext.InvRegIncBeta(degreesOfFreedom/2, 0.5, 1-p)
	return math.Sqrt(degreesOfFreedom * (1 - x) / x)
}
