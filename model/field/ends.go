package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// sectionEndsT returns by how much the plane section is off since bar b ends or bends,
// in T/A: the length of the error in the plane and its part on the axes,
// summed over elements with their weights. Both are 0 for a bar that declares
// neither length nor run, and for one as long as the layout is wide they fall
// with the square of height over length.
//
// The error is the field of the declared centre line (its straight pieces by
// closedform.SegmentB) less that of an endless line. It is smooth near the
// sensor, as it comes from the far pieces that differ, so shields answer to it as
// to a uniform field (Field.Uniform) and nine filaments stand for the section of a
// straight rectangular bar; other sections and runs take their centre line. What joins
// a bar beyond its declared ends is not in it.
func (f *Field) sectionEndsT(elements []layout.Element, b layout.BarIndex) (wholeT, axisT float64) {
	bar := &f.layout.Bars[b]
	if !bar.LengthM.Set && len(bar.Run) == 0 {
		return 0, 0
	}
	along := 0.0
	for _, e := range elements {
		along += float64(e.Weight * endError(bar, e.At).Z * e.U.Z)
	}
	size := func(r Reading) (whole, axis float64) {
		axis = r.Axis.Add(bounded.Phasor{V: complex(along, 0)}).Abs().High
		return r.B.Norm() + r.B.Bound, axis
	}
	wholeT, axisT = size(Summed(elements, func(e layout.Element) Vec {
		d := endError(bar, e.At)
		return Vec{X: complex(d.X, 0), Y: complex(d.Y, 0)}
	}))
	if len(f.layout.Shields) > 0 {
		// Iron that saturates answers less: both answers are held. The bound of the plane
		// solver matters little to what is a bound itself.
		w, a := size(Summed(elements, func(e layout.Element) Vec {
			d := endError(bar, e.At)
			x, y := f.section.uniform(e.At.XY(), true)
			return x.Scale(complex(d.X, 0)).Add(y.Scale(complex(d.Y, 0)))
		}))
		wholeT, axisT = math.Max(wholeT, w), math.Max(axisT, a)
	}
	return wholeT, axisT
}

// endError returns the field at p of one ampere along the declared centre line of
// b less that of an endless line through its place, in T/A; NaN where a run has
// no direction along z at the section.
func endError(b *layout.Bar, p geom.Point3) geom.Point3 {
	if len(b.Run) > 0 {
		sum := endless(p, b.At.Point()).Scale(-1)
		way := runSign(b)
		for i := 1; i < len(b.Run); i++ {
			sum = sum.Add(closedform.SegmentB(p, inSpace(b.Run[i-1]), inSpace(b.Run[i]), way))
		}
		return sum
	}
	rule := gaussPoints(b.Section.WidthM.V, b.Section.ThicknessM.V)
	offsets := rule[:]
	if b.Section.Kind != layout.Rectangle {
		rule[0] = filament{weight: 1}
		offsets = rule[:1]
	}
	var sum geom.Point3
	half, centre := b.LengthM.V/2, b.Centre()
	for _, o := range offsets {
		c := centre.Add(o.at.Rotate(b.TurnRad.V))
		from, to := geom.Point3{X: c.X, Y: c.Y, Z: -half}, geom.Point3{X: c.X, Y: c.Y, Z: half}
		sum = sum.Add(closedform.SegmentB(p, from, to, 1).Sub(endless(p, c)).Scale(o.weight))
	}
	return sum
}

// filament is a place in a section, from its centre, and its share of the current.
type filament struct {
	at     geom.Point
	weight float64
}

// gaussPoints returns the product rule of three Gauss points each way over a
// rectangle; its weights sum to 1. Source: M. Abramowitz, I. A. Stegun, Handbook of
// Mathematical Functions, table 25.4.
func gaussPoints(widthM, thicknessM float64) (out [9]filament) {
	const root = 0.77459666924148337704 // √0.6
	places, weights := [3]float64{-root, 0, root}, [3]float64{5.0 / 18, 8.0 / 18, 5.0 / 18}
	for i, x := range places {
		for j, y := range places {
			out[3*i+j] = filament{geom.Point{X: x * widthM / 2, Y: y * thicknessM / 2}, weights[i] * weights[j]}
		}
	}
	return out
}

func endless(p geom.Point3, at geom.Point) geom.Point3 {
	v := closedform.FilamentB(geom.Point{X: p.X, Y: p.Y}.Sub(at), 1)
	return geom.Point3{X: v.X, Y: v.Y}
}

func inSpace(p layout.Place) geom.Point3 { return geom.Point3{X: p.X.V, Y: p.Y.V, Z: p.Z.V} }

// runSign returns 1 where the run of b passes the section towards +z, -1 towards
// -z: a positive current flows towards +z there, whichever way the run is listed.
func runSign(b *layout.Bar) float64 {
	leg := b.SectionLeg()
	if leg == 0 {
		return math.NaN()
	}
	switch d := b.Run[leg].Z.V - b.Run[leg-1].Z.V; {
	case d > 0:
		return 1
	case d < 0:
		return -1
	}
	return math.NaN()
}

// straightM returns how far along z bar b stays straight from the place of s, to
// its nearer end or bend, in metres: +Inf for a bar without a declared end,
// negative beyond the end.
func straightM(b *layout.Bar, s *layout.Sensor) float64 {
	z := s.At.Z.V
	switch {
	case len(b.Run) > 0:
		leg := b.SectionLeg()
		low, high := b.Run[leg-1].Z.V, b.Run[leg].Z.V
		if low > high {
			low, high = high, low
		}
		return math.Min(high-z, z-low)
	case b.LengthM.Set:
		return b.LengthM.V/2 - math.Abs(z)
	}
	return math.Inf(1)
}
