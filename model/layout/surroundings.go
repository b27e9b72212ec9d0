package layout

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/span"
)

// Surroundings is what else makes a field at the sensors.
type Surroundings struct {
	Given      bool
	Span       span.Span
	Uniform    Uniform
	Immunity   Immunity
	Wires      []Wire
	Magnets    []Magnet
	ReturnFar  bool
	ReturnSpan span.Span
	ClearM     Num // no iron and no conducting wall nearer than this; 1 m where it is not set
}

// Uniform is a steady field that is the same everywhere. DirectionRad not set
// means that it may have any direction.
type Uniform struct {
	FluxDensityT Num
	DirectionRad Num
	Span         span.Span
}

// Immunity is an alternating field that the equipment must stand, as a field
// strength: exactly one of RMSAPerM and PeakAPerM is set.
type Immunity struct {
	RMSAPerM, PeakAPerM Num
	FreqHz              Num
	Span                span.Span
}

// Wire is a long straight foreign conductor along z.
type Wire struct {
	ID     string
	Span   span.Span
	At     Place
	Amount Amount
	FreqHz Num
}

// MagnetKind tells the forms of a magnet apart.
type MagnetKind uint8

// The two forms of a magnet.
const (
	Disc MagnetKind = iota + 1
	Block
)

// Magnet is a permanent magnet with uniform magnetisation along U. A disc's
// own axis is U; a block has WidthM along x, HeightM along y and DepthM along z
// of the layout's frame.
type Magnet struct {
	ID         string
	Span       span.Span
	Kind       MagnetKind
	DiameterM  Num
	ThicknessM Num
	WidthM     Num
	HeightM    Num
	DepthM     Num
	At         Place
	U          geom.Point3
	RemanenceT Num
}

// Holds reports whether q lies in the metal of the magnet.
func (g *Magnet) Holds(q geom.Point3) bool {
	r := q.Sub(g.At.Point3())
	if g.Kind == Disc {
		along := r.Dot(g.U)
		return math.Abs(along) <= g.ThicknessM.V/2 && r.Sub(g.U.Scale(along)).Norm() <= g.DiameterM.V/2
	}
	return math.Abs(r.X) <= g.WidthM.V/2 && math.Abs(r.Y) <= g.HeightM.V/2 && math.Abs(r.Z) <= g.DepthM.V/2
}
