// Package geom holds points, boxes, polygons and regions of the plane, in
// metres, x to the right, y up, angles in radians counter-clockwise.
//
// Two lengths count as equal when they differ by less than the tolerance of a
// shape, 1e-12 of the largest coordinate in play: about 1e-14 m for a layout of
// centimetres, far below any drawing and well above the rounding of a turn.
package geom

import (
	"math"

	"busgauss/model/portable"
)

// Point is a place or a vector in the plane, in metres unless said otherwise.
type Point struct{ X, Y float64 }

// Point3 is a place or a vector in space, in metres unless said otherwise.
type Point3 struct{ X, Y, Z float64 }

// Add returns p + q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns p - q.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Scale returns f·p.
func (p Point) Scale(f float64) Point { return Point{float64(f * p.X), float64(f * p.Y)} }

// Dot returns the scalar product p·q.
func (p Point) Dot(q Point) float64 { return float64(p.X*q.X) + float64(p.Y*q.Y) }

// Cross returns the z component of p × q, positive when q lies
// counter-clockwise of p.
func (p Point) Cross(q Point) float64 { return float64(p.X*q.Y) - float64(p.Y*q.X) }

// Norm returns the length of p.
func (p Point) Norm() float64 { return portable.Hypot(p.X, p.Y) }

// Rotate returns p turned counter-clockwise about the origin. Quarter turns are
// exact: the sine of the float nearest to π is not zero, and without this a bar
// turned by 90° would not lie flush with its neighbour.
func (p Point) Rotate(angleRad float64) Point {
	s, c := portable.Sincos(angleRad)
	const quarter = 1e-15
	if math.Abs(s) < quarter {
		s, c = 0, math.Copysign(1, c)
	} else if math.Abs(c) < quarter {
		s, c = math.Copysign(1, s), 0
	}
	return Point{float64(c*p.X) - float64(s*p.Y), float64(s*p.X) + float64(c*p.Y)}
}

// XY returns the part of p in the plane of the section.
func (p Point3) XY() Point { return Point{p.X, p.Y} }

// Space returns p in the plane at height z.
func (p Point) Space(z float64) Point3 { return Point3{p.X, p.Y, z} }

// Add returns p + q.
func (p Point3) Add(q Point3) Point3 { return Point3{p.X + q.X, p.Y + q.Y, p.Z + q.Z} }

// Sub returns p - q.
func (p Point3) Sub(q Point3) Point3 { return Point3{p.X - q.X, p.Y - q.Y, p.Z - q.Z} }

// Scale returns f·p.
func (p Point3) Scale(f float64) Point3 {
	return Point3{float64(f * p.X), float64(f * p.Y), float64(f * p.Z)}
}

// Dot returns the scalar product p·q.
func (p Point3) Dot(q Point3) float64 { return float64(p.X*q.X) + float64(p.Y*q.Y) + float64(p.Z*q.Z) }

// Cross returns the vector product p × q.
func (p Point3) Cross(q Point3) Point3 {
	return Point3{float64(p.Y*q.Z) - float64(p.Z*q.Y), float64(p.Z*q.X) - float64(p.X*q.Z), float64(p.X*q.Y) - float64(p.Y*q.X)}
}

// Norm returns the length of p.
func (p Point3) Norm() float64 {
	if s := p.Dot(p); s > 1e-280 && s < 1e280 { // no digits lost, nor too large
		return math.Sqrt(s)
	}
	return portable.Hypot(portable.Hypot(p.X, p.Y), p.Z)
}
