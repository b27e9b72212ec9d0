package closedform

import "math"

// ThinRatio returns the pure number
//
//	√(w t) / δ = √(area) / δ
//
// for a bar of section areaM2 at skin depth skinDepthM. It says how far the
// current may have left its even spread: a section acts as a whole through its
// area, so two thin bars of one area are alike even when their thickness is well
// below δ. At 1 the current is still nearly even; a copper bar of 20 mm × 3 mm at
// 400 Hz has 2.34 and its field 4 mm above the face is then some 5 % below
// the direct-current value. Whoever uses RectangleB with alternating current must
// check this number, not t/δ. It is a guide to be compared with computed fields,
// not an error bound.
//
// skinDepthM = +Inf (direct current) gives 0; an area or depth that is not
// positive gives NaN.
//
// Source: common practice; the resistance of bars of any aspect is tabled over
// this number, e.g. H. B. Dwight, Electrical Coils and Conductors (1945)
// (reference from memory).
func ThinRatio(areaM2, skinDepthM float64) float64 {
	if !(areaM2 > 0 && skinDepthM > 0) {
		return math.NaN()
	}
	return math.Sqrt(areaM2) / skinDepthM
}
