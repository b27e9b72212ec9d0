package material

import (
	"math"

	"busgauss/model/portable"
	"busgauss/model/si"
)

// SaturationCurve returns the curve of a material known only by its relative
// permeability muRel (> 1) and its saturation polarisation saturationT (> 0):
//
//	B = μ0 H + (2 Js/π) atan(π (μr − 1) μ0 H / (2 Js))
//
// as a Cubic curve through points that lie on it, denser than four a factor of
// two in H; between them it is off by less than 2e-4 of B. The knee of real iron
// is sharper, so wall flux densities near saturation are on the low side and the
// loss of sensitivity below the knee on the high side.
//
// Source: arctangent law, common practice.
func SaturationCurve(muRel, saturationT float64) (*Curve, error) {
	if !(muRel > 1) || math.IsInf(muRel, 0) {
		return nil, &CurveError{-1, "relative permeability must be above 1"}
	}
	if !(saturationT > 0) || math.IsInf(saturationT, 0) {
		return nil, &CurveError{-1, "saturation must be positive"}
	}
	kneeAPerM := 2 * saturationT / (math.Pi * (muRel - 1) * si.Mu0HPerM)
	var points []CurvePoint
	// From where the law is linear to one part in 1e6 to where what is left of the
	// polarisation is below 1e-4 of saturation.
	for k := -36; k <= 52; k++ {
		h := kneeAPerM * portable.Exp2(float64(k)/4)
		b := float64(si.Mu0HPerM*h) + float64(2*saturationT/math.Pi*portable.Atan(h/kneeAPerM))
		points = append(points, CurvePoint{h, b})
	}
	return NewCurve(points, Cubic)
}
