package material

import "math"

// SigmaAtSPerM returns the conductivity in S/m at temperatureC degrees Celsius
// of a metal with conductivity sigmaSPerM at 20 °C and coefficient alphaPerK:
//
//	σ(T) = σ20 / (1 + α20 (T − 20 °C))
//
// NaN where the denominator is not positive.
// Source: IEC 60028 (1925) for copper; the same linear law is common practice
// for other metals.
func SigmaAtSPerM(sigmaSPerM, alphaPerK, temperatureC float64) float64 {
	d := 1 + float64(alphaPerK*(temperatureC-20))
	if !(d > 0) {
		return math.NaN()
	}
	return sigmaSPerM / d
}
