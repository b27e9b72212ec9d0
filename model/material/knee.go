package material

import (
	"math"

	"busgauss/model/portable"
	"busgauss/model/si"
)

// KneeT returns the polarisation J = B − μ0 H, in tesla, from which on iron with the
// curve through points counts as full: where the differential permeability
//
//	μ = dB/dH / μ0
//
// has fallen to share of its largest. Each piece between two points has its slope at the middle of
// its polarisations; between two middles the logarithm of the slope runs straight. Points as NewCurve takes
// them. False where the curve ends before, and where share is not between 0 and 1.
//
// Source: R. M. Bozorth, Ferromagnetism, 1951, chapter 1 (differential permeability; from memory); a tenth as the knee is
// common practice.
func KneeT(points []CurvePoint, share float64) (float64, bool) {
	c, err := NewCurve(points, Linear)
	if err != nil || !(share > 0 && share < 1) {
		return math.NaN(), false
	}
	var slope, atT []float64
	top, best := 0.0, 0
	for i := 1; i < len(c.h); i++ {
		j := func(k int) float64 { return c.b[k] - float64(si.Mu0HPerM*c.h[k]) }
		s := (c.b[i] - c.b[i-1]) / (c.h[i] - c.h[i-1])
		slope, atT = append(slope, s), append(atT, (j(i-1)+j(i))/2)
		if s >= top {
			top, best = s, i-1
		}
	}
	for i := best + 1; i < len(slope); i++ {
		if slope[i] > share*top {
			continue
		}
		k := portable.Log(slope[i-1]/(share*top)) / portable.Log(slope[i-1]/slope[i])
		return atT[i-1] + float64(k*(atT[i]-atT[i-1])), true
	}
	return math.NaN(), false
}
