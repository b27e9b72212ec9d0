package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// StripB returns the flux density in tesla at p of an infinitely long flat strip
// of no thickness, widthM along x about the origin, with currentA spread evenly
// over it:
//
//	Bx = −(μ0 I/2πw) [atan((x+w/2)/y) − atan((x−w/2)/y)]
//	By = (μ0 I/4πw) ln{[(x+w/2)²+y²]/[(x−w/2)²+y²]}
//
// On the strip Bx jumps from +μ0 I/2w below to −μ0 I/2w above; there the mean, 0,
// is returned. At its edges By is infinite (−Inf left, +Inf right for a positive
// current). Against a bar of thickness t the error is of the order of t/w beside
// the edges and (t/y)² above the middle; no digits are lost far away.
//
// Source: limit t → 0 of RectangleB.
func StripB(p geom.Point, widthM, currentA float64) geom.Point {
	if !(widthM > 0) {
		return nanPoint()
	}
	x, y := math.Abs(p.X), math.Abs(p.Y)
	x1, x2 := x+widthM/2, x-widthM/2
	k := mu0Over2Pi * currentA / widthM
	angle := 0.0
	if y != 0 || math.IsNaN(x) { // on the strip: the mean of both sides
		angle = portable.Atan2(widthM*y, float64(y*y)+float64(x1*x2))
	}
	by := k / 2 * portable.Log1p(2*x*widthM/(float64(x2*x2)+float64(y*y)))
	return geom.Point{X: math.Copysign(1, p.Y) * -k * angle, Y: math.Copysign(1, p.X) * by}
}
