package closedform

import "math"

// cel returns the general complete elliptic integral, a pure number:
//
//	cel(kc,p,a,b) = ∫ (a cos²φ + b sin²φ) / ((cos²φ + p sin²φ) √(cos²φ + kc² sin²φ)) dφ, 0 to π/2
//
// for p > 0. kc = 0 gives NaN, as the integral is infinite in general. Relative
// error of some 1e-15 of the integral of |a| cos² + |b| sin².
//
// Source: R. Bulirsch, Numerische Mathematik 13 (1969) 305 (reference from
// memory), in the form of N. Derby and S. Olbert, Am. J. Phys. 78 (2010) 229,
// appendix; by arithmetic-geometric means, so four to six steps are enough.
func cel(kc, p, a, b float64) float64 {
	kc = math.Abs(kc)
	if kc == 0 || !(p > 0) {
		return math.NaN()
	}
	const steps = 40 // quadratic convergence: far more than any double needs
	k, mean := kc, 1.0
	pp := math.Sqrt(p)
	b /= pp
	product := kc
	for range steps {
		f := a
		a += b / pp
		g := product / pp
		b = 2 * (b + float64(f*g))
		pp += g
		g = mean
		mean += k
		if math.Abs(g-k) <= g*1e-8 {
			return math.Pi / 2 * (b + float64(a*mean)) / (mean * (mean + pp))
		}
		k = 2 * math.Sqrt(product)
		product = k * mean
	}
	return math.NaN()
}
