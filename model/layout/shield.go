package layout

import (
	"busgauss/model/geom"
	"busgauss/model/span"
)

// FormKind tells the forms of a shield apart.
type FormKind uint8

// The four forms of a shield.
const (
	Channel FormKind = iota + 1
	Plate
	Ring
	ShieldOutline
)

// Form is the section of a shield in its own frame. Only the numbers of its
// kind are set.
type Form struct {
	Kind       FormKind
	OpeningM   Num // Channel: inner width
	LegM       Num // Channel: inner height
	WallM      Num // Channel, Ring
	WidthM     Num // Plate
	ThicknessM Num // Plate
	InnerM     Num // Ring: inner diameter
	SlitM      Num // Ring: width of the slit centred on local +y; 0 means none
	Corners    geom.Polygon
	Span       span.Span
}

// Shield is a passive piece: iron, or a conducting wall.
type Shield struct {
	ID           string
	Span         span.Span
	Form         Form
	At           Place
	TurnRad      Num
	Material     MaterialIndex
	MaterialSpan span.Span
	DepthM       Num // not set: unknown, or long where Long is set
	Long         bool
	Placement    *Placement // x, y and turn
	WallTolM     Num        // how far the wall may lie from WallM or ThicknessM, to each side; 0 where it is not set
	OpeningTolM  Num        // the same of OpeningM, or of SlitM
}

// Material is a material that the file declares. Every number that the file
// leaves open is NaN and not set.
type Material struct {
	ID            string
	Span          span.Span
	MuRel         Num
	SaturationT   Num
	Curve         []CurvePoint
	CurveSpan     span.Span
	CoercivityAPM Num // A/m
	SigmaSPerM    Num // at 20 °C
	AlphaPerK     Num
	SheetM        Num
	Source        string

	TemperatureFromC, TemperatureToC Num // range in which the piece is used
	MeasuredAtC                      Num // of curve, permeability and saturation
	SaturationPerK                   Num // change of the saturation, share of that at MeasuredAtC
	SaturationTol                    Num // to each side, share; 0 where it is not set, as the next two
	PermeabilityTol                  Num
	ConductivityTol                  Num
}

// CurvePoint is one point of a magnetisation curve.
type CurvePoint struct {
	FieldAPerM   float64
	FluxDensityT float64
	Span         span.Span
}

// Magnetic reports whether the material is iron: it has a curve or a
// permeability above 1.
func (m *Material) Magnetic() bool {
	return len(m.Curve) > 0 || m.MuRel.Set && m.MuRel.V > 1
}

// ringCorners is the number of corners that stand in for a full circle of a ring.
const ringCorners = 128

// Region returns the section of s in the frame of the layout. Circles become
// polygons of 128 corners.
func (s *Shield) Region() geom.Region {
	var local geom.Region
	switch f := &s.Form; f.Kind {
	case Channel:
		local = geom.Solid(geom.Channel(f.OpeningM.V, f.LegM.V, f.WallM.V))
	case Plate:
		local = geom.Solid(geom.Rectangle(f.WidthM.V, f.ThicknessM.V))
	case Ring:
		local = geom.Ring(f.InnerM.V, f.WallM.V, f.SlitM.V, ringCorners)
	default:
		local = geom.Solid(f.Corners)
	}
	return local.Place(s.At.Point(), s.TurnRad.V)
}
