// From the standard library of Go; see doc.go.

package portable

import "math"

// Coefficients _sin[] and _cos[] are found in pkg/math/sin.go.

// Sincos returns Sin(x), Cos(x).
//
// Special cases are:
//
//	Sincos(±0) = ±0, 1
//	Sincos(±Inf) = NaN, NaN
//	Sincos(NaN) = NaN, NaN
func Sincos(x float64) (sin, cos float64) {
	// special cases
	switch {
	case x == 0:
		return x, 1 // return ±0.0, 1.0
	case math.IsNaN(x) || math.IsInf(x, 0):
		return math.NaN(), math.NaN()
	}

	// make argument positive
	sinSign, cosSign := false, false
	if x < 0 {
		x = -x
		sinSign = true
	}

	j, z := octant(x)
	if j > 3 { // reflect in x axis
		j -= 4
		sinSign, cosSign = !sinSign, !cosSign
	}
	if j > 1 {
		cosSign = !cosSign
	}

	zz := z * z
	cos = 1.0 - 0.5*zz + float64(zz*zz*(float64((float64((float64((float64((float64(_cos[0]*zz)+_cos[1])*zz)+_cos[2])*zz)+_cos[3])*zz)+_cos[4])*zz)+_cos[5]))
	sin = z + float64(z*zz*(float64((float64((float64((float64((float64(_sin[0]*zz)+_sin[1])*zz)+_sin[2])*zz)+_sin[3])*zz)+_sin[4])*zz)+_sin[5]))
	if j == 1 || j == 2 {
		sin, cos = cos, sin
	}
	if cosSign {
		cos = -cos
	}
	if sinSign {
		sin = -sin
	}
	return
}
