package decouple

import (
	"math"
	"math/bits"
)

// unitRoundoff is that of IEEE 754 single precision.
const unitRoundoff = 0x1p-24

// CurrentsA returns the currents that firmware computes from readings, in
// amperes by bar: with whole numbers in the fixed form, in single precision and
// the order of the sensors in the float form. There is a reading for each sensor
// in the unit of input, or it panics. In the fixed form readings that are not
// whole numbers within ±2^24 give NaN.
func (c *Constants) CurrentsA(readings []float64) []float64 {
	if len(readings) != len(c.Sensors) {
		panic("decouple: a reading for each sensor is wanted")
	}
	out := make([]float64, len(c.Bars))
	for j := range out {
		if c.Integer == nil {
			out[j] = c.singleA(j, readings)
		} else {
			out[j] = c.fixedA(j, readings)
		}
	}
	return out
}

// fixedA is exact up to the conversion of the sum to a float64.
func (c *Constants) fixedA(j int, readings []float64) float64 {
	sum := -c.Offset(j)
	for i, k := range c.Integer[j] {
		if x := readings[i]; x != math.Trunc(x) || !(math.Abs(x) <= maxCount) {
			return math.NaN()
		}
		sum += k * int64(readings[i])
	}
	return math.Ldexp(float64(sum), -c.Shift)
}

// singleA rounds after each operation: the conversions forbid a fused one.
func (c *Constants) singleA(j int, readings []float64) float64 {
	sum := float32(0)
	for i, k := range c.Single[j] {
		difference := float32(float32(readings[i]) - float32(c.Sensors[i].Zero))
		product := float32(k * difference)
		sum = float32(sum + product)
	}
	return float64(sum)
}

// ErrorBoundA returns how far the current of bar j from the rounded form lies at
// most from that of the exact constants and zeros, in amperes, for readings
// within their range. With the span d_i = max(|Max − Zero|, |Zero − Min|), the
// zeros z_i, n sensors, s the shift and u = 2^-24:
//
//	fixed   2^-(s+1) (Σ d_i + 1) + Σ |c_i| u |z_i|
//	float   Σ |c_i| (γ d_i + e_i),   γ = m u/(1 − m u), m = n + 3,
//	        e_i = u |z_i|, for volts and teslas with u max|reading| on top
//
// The fixed form ends before its division by 2^s: cutting to whole amperes there
// adds up to one. Terms of second order are taken in by a thousandth more.
//
// Source: half a unit for each rounding; γ from N. J. Higham, Accuracy and
// Stability of Numerical Algorithms, 2nd ed., section 3.1 (lemma 3.1), with n + 2
// roundings on the way of the first product and one for the constant held here.
func (c *Constants) ErrorBoundA(j int) float64 {
	half := math.Ldexp(1, -c.Shift-1)
	m := float64(float64(len(c.Sensors)+3) * unitRoundoff)
	gamma := m / (1 - m)
	sum := 0.0
	if c.Integer != nil {
		sum = half
	}
	for i, s := range c.Sensors {
		span := max(math.Abs(s.Max-s.Zero), math.Abs(s.Zero-s.Min))
		held := float64(unitRoundoff * math.Abs(s.Zero))
		if c.Integer != nil {
			sum += float64(half*span) + float64(math.Abs(float64(c.Integer[j][i]))*2*half*held)
			continue
		}
		if c.Input != Count {
			held += float64(unitRoundoff * max(math.Abs(s.Min), math.Abs(s.Max)))
		}
		sum += float64(math.Abs(float64(c.Single[j][i])) * (float64(gamma*span) + held))
	}
	return 1.001 * sum
}

// AccumulatorBits returns the width of the signed whole number that holds every
// partial sum of the fixed form for bar j, in any order, for readings within
// their range; 0 in the float form.
func (c *Constants) AccumulatorBits(j int) int {
	if c.Integer == nil {
		return 0
	}
	magnitude := func(v int64) uint64 { return uint64(max(v, -v)) }
	sum := magnitude(c.Offset(j))
	for i, k := range c.Integer[j] {
		s := c.Sensors[i]
		sum += magnitude(k) * uint64(max(math.Abs(s.Min), math.Abs(s.Max)))
	}
	return bits.Len64(sum) + 1
}
