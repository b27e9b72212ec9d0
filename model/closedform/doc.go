// Package closedform holds the formulas that need no mesh: one a file.
//
// Unless a function says otherwise: lengths in metres, current in amperes,
// positive along +z (out of the plane, x to the right, y up), flux density in
// tesla as (Bx, By), everything in air. A positive current gives a field that
// runs counter-clockwise: By > 0 to the right of the bar, Bx < 0 above it.
// A NaN in any argument, or a size that is not positive, gives NaN.
package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// mu0Over2Pi is μ0/2π in T·m/A.
const mu0Over2Pi = si.Mu0HPerM / (2 * math.Pi)

func nanPoint() geom.Point { return geom.Point{X: math.NaN(), Y: math.NaN()} }

func nanPoint3() geom.Point3 {
	return geom.Point3{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
}

// fieldOf turns the complex field By + i·Bx into a point. With z = x + iy a
// filament at the origin has By + i·Bx = μ0 I/(2π z), which is analytic; sums
// over sections are shortest in this form.
func fieldOf(w complex128) geom.Point { return geom.Point{X: imag(w), Y: real(w)} }

func complexOf(p geom.Point) complex128 { return complex(p.X, p.Y) }
