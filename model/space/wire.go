package space

import (
	"math"

	"busgauss/model/geom"
)

// WireB returns the flux density in tesla at p of an endless straight wire of any
// direction through the point at, with currentA along the direction (any length but 0):
//
//	B = (μ0 I/2π) (u × d)/|d|²   d from the wire to p, u the unit direction
//
// On the wire, and for a direction of no length, NaN.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2.
func WireB(p, at, direction geom.Point3, currentA float64) geom.Point3 {
	n := direction.Norm()
	u := direction.Scale(1 / n)
	c := u.Cross(p.Sub(at))
	d2 := c.Dot(c)
	if !(n > 0) || d2 == 0 {
		nan := math.NaN()
		return geom.Point3{X: nan, Y: nan, Z: nan}
	}
	return c.Scale(2 * mu0Over4Pi * currentA / d2)
}
