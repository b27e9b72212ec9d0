package channel

import (
	"math"

	"busgauss/model/portable"
)

// LowPass is a low-pass by its corner at −3 dB and its order. Orders above one
// are Butterworth, or that many equal poles in a row (stages of resistor and
// capacitor behind buffers). The zero value passes everything; a corner that is
// NaN makes every answer NaN.
type LowPass struct {
	CornerHz   float64
	Order      int
	EqualPoles bool
}

// passesAll says that there is no low-pass here.
func (l LowPass) passesAll() bool { return l.Order == 0 && l.CornerHz == 0 }

// Lag returns the amplitude, a pure number, and the lag in radians at freqHz,
// continuous over frequency and not held to one turn. With x = f/f_c:
//
//	Butterworth   |H|² = 1/(1 + x^2N),  lag = Σ atan2(2ζ_k x, 1 − x²) [+ atan x for odd N]
//	              ζ_k = sin((2k−1)π/2N), k = 1 .. ⌊N/2⌋
//	equal poles   |H|² = 1/(1 + y²)^N,  lag = N atan y,  y = x √(2^(1/N) − 1)
//
// Order 1 is both: lag = atan x. Source: L. Weinberg, Network Analysis and
// Synthesis, McGraw-Hill 1962, chapter 11 (Butterworth poles; from memory); equal
// poles follow from |H(f_c)|² = ½.
func (l LowPass) Lag(freqHz float64) (amplitude, lagRad float64) {
	if l.passesAll() {
		return 1, 0
	}
	x, n := freqHz/l.CornerHz, float64(l.Order)
	if l.Order < 1 || !(l.CornerHz > 0) {
		return math.NaN(), math.NaN()
	}
	if l.EqualPoles {
		y := x * equalPole(n)
		return portable.Pow(1+float64(y*y), -n/2), n * portable.Atan(y)
	}
	if l.Order%2 == 1 {
		lagRad = portable.Atan(x)
	}
	for k := 1; k <= l.Order/2; k++ {
		zeta := portable.Sin(float64(2*k-1) * math.Pi / (2 * n))
		lagRad += portable.Atan2(2*zeta*x, 1-float64(x*x))
	}
	return 1 / math.Sqrt(1+portable.Pow(x, 2*n)), lagRad
}

// equalPole returns corner over pole for n equal poles.
func equalPole(n float64) float64 { return math.Sqrt(portable.Exp2(1/n) - 1) }

// DelayS returns the delay in seconds of a slow signal or of a settled ramp,
// the slope of the lag at no frequency:
//
//	Butterworth   τ = 1/(2π f_c sin(π/2N))
//	equal poles   τ = N √(2^(1/N) − 1)/(2π f_c)
//
// A ramp that has just begun lags less behind an order of one; behind Butterworth
// filters of order two and more it passes for a moment through a little more than
// τ, because their step response overshoots.
func (l LowPass) DelayS() float64 {
	if l.passesAll() {
		return 0
	}
	if l.Order < 1 || !(l.CornerHz > 0) {
		return math.NaN()
	}
	n := float64(l.Order)
	if l.EqualPoles {
		return n * equalPole(n) / (2 * math.Pi * l.CornerHz)
	}
	return 1 / (2 * math.Pi * l.CornerHz * portable.Sin(math.Pi/(2*n)))
}
