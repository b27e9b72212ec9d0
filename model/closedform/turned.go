package closedform

import "busgauss/model/geom"

// Turned returns a plane field in the frame of the layout from its form in the
// frame of a section that stands at `at`, turned counter-clockwise by turnRad:
// p is turned into the section's frame, field is asked there, and the answer is
// turned back. The unit is that of field.
//
// Source: rotation of a vector field; exact.
func Turned(p, at geom.Point, turnRad float64, field func(local geom.Point) geom.Point) geom.Point {
	return field(p.Sub(at).Rotate(-turnRad)).Rotate(turnRad)
}

// TurnedRectangleB returns RectangleB in tesla for a section centred at `at`
// whose width makes turnRad with +x, counter-clockwise.
func TurnedRectangleB(p, at geom.Point, turnRad, widthM, thicknessM, currentA float64) geom.Point {
	return Turned(p, at, turnRad, func(q geom.Point) geom.Point {
		return RectangleB(q, widthM, thicknessM, currentA)
	})
}
