package channel

import (
	"math"
	"math/cmplx"

	"busgauss/model/layout"
)

// OwnSwing returns the lowest and the highest current in amperes that the own bar
// of s carries over the period of duty d, the ripple left out, and the peak of
// the ripple, which may have any phase. Harmonics keep their phase against the
// fundamental: one cosine is exact, several are read at 3600 instants, each end short
// by at most (π h/3600)²/2 of the highest order h.
func OwnSwing(l *layout.Layout, s *layout.Sensor, d *layout.Duty) (lowA, highA, rippleA float64) {
	mean, base := 0.0, 0.0
	var orders []float64
	var phasors []complex128
	for _, c := range l.Components(d) {
		i := c.PeakA[s.Reads]
		switch {
		case i == 0:
		case c.FreqHz == 0:
			mean += real(i)
		case c.FreePhase:
			rippleA += cmplx.Abs(i)
		default:
			if base == 0 {
				base = c.FreqHz
			}
			orders, phasors = append(orders, c.FreqHz/base), append(phasors, i)
		}
	}
	switch len(phasors) {
	case 0:
		return mean, mean, rippleA
	case 1:
		a := cmplx.Abs(phasors[0])
		return mean - a, mean + a, rippleA
	}
	lowA, highA = math.Inf(1), math.Inf(-1)
	const steps = 3600
	for k := range steps {
		v := mean
		for i, p := range phasors {
			v += real(p * cmplx.Rect(1, orders[i]*2*math.Pi*float64(k)/steps))
		}
		lowA, highA = math.Min(lowA, v), math.Max(highA, v)
	}
	return lowA, highA, rippleA
}
