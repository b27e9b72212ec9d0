package channel

import (
	"math"

	"busgauss/model/portable"
)

// NoiseBandwidthHz returns the bandwidth in hertz of the rectangular filter that
// passes as much white noise as the low-passes in a row:
//
//	B = ∫ |H|² df from 0 to ∞
//
// One low-pass alone: (π/2) f_c for order 1, in general f_c (π/2N)/sin(π/2N) for
// Butterworth; two of order 1: (π/2) f1 f2/(f1+f2). The integral is taken over
// ln f by the trapezoidal rule, which converges exponentially for a smooth
// integrand that dies away on both sides, with the ends added in closed form;
// relative error below 1e-6 as the tests have it. Nothing to limit the noise gives
// +Inf, a corner that is not known NaN.
//
// Source: C. D. Motchenbacher and J. A. Connelly, Low-Noise Electronic System
// Design, Wiley 1993, section 1.7 (noise bandwidth; from memory).
func NoiseBandwidthHz(filters ...LowPass) float64 {
	low, high, order := math.Inf(1), 0.0, 0
	for _, f := range filters {
		if f.passesAll() {
			continue
		}
		if !(f.CornerHz > 0) || math.IsInf(f.CornerHz, 1) || f.Order < 1 {
			return math.NaN()
		}
		low, high, order = min(low, f.CornerHz), max(high, f.CornerHz), order+f.Order
	}
	if order == 0 {
		return math.Inf(1)
	}
	power := func(freqHz float64) float64 {
		p := 1.0
		for _, f := range filters {
			a, _ := f.Lag(freqHz)
			p *= a * a
		}
		return p
	}
	const beyond, step = 1e4, 1.0 / 16
	from, to := portable.Log(low/beyond), portable.Log(high*beyond)
	n := int(math.Ceil((to - from) / step))
	h := (to - from) / float64(n)
	sum := low/beyond + tailHz(power(high*beyond), high*beyond, order)
	for i := 0; i <= n; i++ {
		f := portable.Exp(from + float64(float64(i)*h))
		weight := h
		if i == 0 || i == n {
			weight = h / 2
		}
		sum += float64(weight * f * power(f))
	}
	return sum
}

// tailHz is the integral beyond a frequency above which |H|² falls as f^−2M.
func tailHz(power, freqHz float64, order int) float64 {
	return power * freqHz / float64(2*order-1)
}
