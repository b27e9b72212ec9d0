package layout

import (
	"busgauss/model/geom"
	"busgauss/model/span"
)

// SectionKind tells the forms of a bar's section apart.
type SectionKind uint8

// The three forms of a section.
const (
	Rectangle SectionKind = iota + 1
	Round
	Outline
)

// Section is the cross-section of a bar in its own frame, centre (or, for an
// outline, local origin) at (0, 0). Corners is counter-clockwise and set for an
// outline only.
type Section struct {
	Kind       SectionKind
	WidthM     Num // Rectangle: along local x
	ThicknessM Num // Rectangle: along local y
	DiameterM  Num // Round
	Corners    geom.Polygon
	Span       span.Span
}

// Place is a point of the layout; Z is not set when the file gave two numbers.
type Place struct {
	X, Y, Z Num // metres
	Span    span.Span
}

// Point3 returns the place in space; without a Z it lies in the plane of the section.
func (p Place) Point3() geom.Point3 {
	z := 0.0
	if p.Z.Set {
		z = p.Z.V
	}
	return geom.Point3{X: p.X.V, Y: p.Y.V, Z: z}
}

// Point returns the place in the plane.
func (p Place) Point() geom.Point { return geom.Point{X: p.X.V, Y: p.Y.V} }

// Bar is a conductor that carries a current along z.
type Bar struct {
	ID           string
	Span         span.Span // of the ID
	Section      Section
	At           Place
	TurnRad      Num
	Metal        string
	MetalSpan    span.Span
	SigmaSPerM   float64 // at TemperatureC; NaN when the material conducts nothing known
	AlphaPerK    float64
	MuRel        float64
	Material     MaterialIndex // None for a built-in metal
	TemperatureC Num
	LengthM      Num
	Run          []Place
	Cuts         []Cut
	Placement    *Placement // x, y and turn
}

// roundCorners is the number of corners that stand in for a circle where a
// polygon is needed (overlap and distance, never the field). The polygon lies
// inside the circle by at most 3e-4 of the radius.
const roundCorners = 128

// Polygon returns the section of b in the frame of the layout, counter-clockwise.
// A round bar becomes an inscribed polygon of 128 corners.
func (b *Bar) Polygon() geom.Polygon {
	return b.SectionCorners().Place(b.At.Point(), b.TurnRad.V)
}

// AreaM2 returns the area of the section in square metres.
func (b *Bar) AreaM2() float64 {
	switch b.Section.Kind {
	case Rectangle:
		return b.Section.WidthM.V * b.Section.ThicknessM.V
	case Round:
		return piOver4 * b.Section.DiameterM.V * b.Section.DiameterM.V
	}
	return b.Section.Corners.AreaM2()
}

const piOver4 = 0.78539816339744830961566084581987572

// Centre returns the centre of area of the section in the frame of the layout.
// For an outline that is not where At is.
func (b *Bar) Centre() geom.Point {
	if b.Section.Kind != Outline {
		return b.At.Point()
	}
	return b.Polygon().Centroid()
}
