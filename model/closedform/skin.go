package closedform

import (
	"math"

	"busgauss/model/si"
)

// SkinDepthM returns the skin depth in metres, the depth at which the current
// density under a flat surface has fallen to 1/e:
//
//	δ = 1 / √(π f μ0 μr σ)
//
// freqHz = 0 gives +Inf. A negative frequency, or a conductivity or relative
// permeability that is not positive, gives NaN. Valid for a linear material and
// below the frequencies where displacement current matters.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.18.
func SkinDepthM(freqHz, sigmaSPerM, muRel float64) float64 {
	if !(freqHz >= 0 && sigmaSPerM > 0 && muRel > 0) {
		return math.NaN()
	}
	return 1 / math.Sqrt(math.Pi*freqHz*si.Mu0HPerM*muRel*sigmaSPerM)
}
