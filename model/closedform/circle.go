package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// CircleB returns the flux density in tesla at p of an infinitely long round bar
// of radius radiusM about the origin with currentA spread evenly over it:
//
//	B = μ0 I / (2π r)        outside
//	B = μ0 I r / (2π a²)     inside
//
// circular, counter-clockwise for a positive current; 0 on the axis.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.3 (law of
// Ampère; reference from memory).
func CircleB(p geom.Point, radiusM, currentA float64) geom.Point {
	if !(radiusM > 0) {
		return nanPoint()
	}
	if r := p.Norm(); !(r < radiusM) {
		return FilamentB(p, currentA)
	}
	k := mu0Over2Pi * currentA / radiusM / radiusM
	return geom.Point{X: -k * p.Y, Y: k * p.X}
}

// CircleAWbPerM returns the vector potential A_z in Wb/m of the bar of CircleB:
//
//	A = −(μ0 I / 2π) ln(r / 1 m)                            outside
//	A = −(μ0 I / 2π) [ln(a / 1 m) − (1 − r²/a²)/2]          inside
//
// Gauge as FilamentAWbPerM. Source: integral of CircleB along a radius.
func CircleAWbPerM(p geom.Point, radiusM, currentA float64) float64 {
	if !(radiusM > 0) {
		return math.NaN()
	}
	r := p.Norm()
	if !(r < radiusM) {
		return FilamentAWbPerM(p, currentA)
	}
	q := r / radiusM
	return -mu0Over2Pi * currentA * (portable.Log(radiusM) - (1-float64(q*q))/2)
}
