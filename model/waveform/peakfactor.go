package waveform

import (
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// PeakFactor returns κ, the first peak of a fault over the peak of its alternating
// current, a pure number, from R/X of the path of the fault:
//
//	κ = 1.02 + 0.98·e^(−3·R/X)
//
// R/X = 0 gives 2, fully offset and not decaying.
//
// Source: IEC 60909-0:2016, 8.1 (from memory).
func PeakFactor(rOverX float64) float64 {
	return 1.02 + float64(0.98*portable.Exp(-3*rOverX))
}

func peakFactor(a *layout.Asymmetry) float64 {
	if a.PeakFactor.Set {
		return a.PeakFactor.V
	}
	return PeakFactor(a.ROverX.V)
}
