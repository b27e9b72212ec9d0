package closedform

import (
	"math"

	"busgauss/model/geom"
)

// dipoleB returns the flux density in tesla at r from a point dipole whose
// moment is remanence (T, a vector) times volumeM3, over μ0:
//
//	B = V/(4π r³) [3 (Br·r̂) r̂ − Br]
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.6.
func dipoleB(r, remanenceT geom.Point3, volumeM3 float64) geom.Point3 {
	n := r.Norm()
	u := r.Scale(1 / n)
	k := volumeM3 / (4 * math.Pi) / n / n / n
	return u.Scale(3 * k * remanenceT.Dot(u)).Sub(remanenceT.Scale(k))
}

// magnetFarRatio is the distance, in half diagonals of a magnet, beyond which
// its exact formula, a difference that cancels with the cube of the distance, gives way to
// dipoles spread over its volume at the points of a Gauss rule. At 20 the rule
// errs by less than 1e-10 of |B| and the exact formula by about as much.
const magnetFarRatio = 20

// gauss4 holds nodes and weights of the Gauss-Legendre rule of four points on
// (−1, 1), exact to degree 7; the weights add up to 2.
// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, table 25.4.
func gauss4() (node, weight [4]float64) {
	const a, b = 0.861136311594052575, 0.339981043584856265
	const u, v = 0.347854845137453857, 0.652145154862546143
	return [4]float64{-a, -b, b, a}, [4]float64{u, v, v, u}
}
