package plan

import (
	"math"

	"busgauss/model/si"
)

// MitreErrorT returns a bound, in tesla, of what a mitre with even flow in both legs
// gets wrong: the field of the true flow round a corner minus that of two straight
// legs that end at the mitre plane. extentM is the size w of the bar in the plane of
// the bend (its width for a bend on edge, its thickness for a bend on the flat),
// turnRad the angle between the legs' directions (0 straight on), distanceM the
// distance d of the point from the mitre face.
//
//	|ΔB| <= (μ0 I / 4π w) tan(turn/2) [20 e^(−π d/w) + 0.43/((d/w)² + 1/4)^(3/2)]
//
// The two flows differ by a loop: it dies out along the legs as e^(−πz/w), and far away
// it is a magnetic dipole of moment k I w², k = 0.19 tan(turn/2) at most up to
// 90°, across the plane of the bend. At 90° that is 11 % of μ0 I/(2πd) at
// d = 1.5 w for a thin bar (the bound says 22 %), 2 % at 3 w and 0.7 % at 5 w.
//
// The form is that of the two parts; the numbers 20 and 0.43 enclose the flow solved by
// this package for turns of 15° to 120° and bars 0.01 to 5 w high across the plane of
// the bend, at d from 0.05 w to 5 w (TestMitreError has a part of that). The largest ratio
// found is 0.92; higher bars have less. Outside turnRad from 0 to 2π/3, for d < w/20
// and sizes that are not positive: NaN.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.6 (field of a
// localised current); constants computed here.
func MitreErrorT(currentA, extentM, turnRad, distanceM float64) float64 {
	d := distanceM / extentM
	if !(extentM > 0 && d >= 0.05 && turnRad >= 0 && turnRad <= 2*math.Pi/3+1e-12) {
		return math.NaN()
	}
	shape := 20*math.Exp(-math.Pi*d) + 0.43*math.Pow(d*d+0.25, -1.5)
	return si.Mu0HPerM / (4 * math.Pi) * math.Abs(currentA) / extentM * math.Tan(turnRad/2) * shape
}
