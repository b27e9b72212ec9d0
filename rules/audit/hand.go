package audit

import (
	"fmt"
	"math"

	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// Sources of the formulas that are worked on the page.
const (
	sourceWire    = "J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2 (field of a long straight wire)"
	sourceAmpere  = "J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.3 (law of Ampère; from memory)"
	sourceSection = "T. J. Higgins, J. Appl. Phys. 14 (1943) 188 (rectangular bar; from memory); for other outlines the same integral of Biot and Savart"
	sourceSimpson = "M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 25.4.5 (Simpson's rule)"
)

// reads returns what s reads, per ampere, of a plane field of its own bar given as a
// function of the place: the part on the axis, pairs as a difference.
func reads(s *layout.Sensor, field func(geom.Point) geom.Point) float64 {
	sum := 0.0
	for _, e := range s.Elements() {
		v := field(e.At.XY())
		sum += e.Sign * (v.X*s.Axis.U.X + v.Y*s.Axis.U.Y)
	}
	return sum
}

// hand returns estimates that fit on paper, from the coarsest to the field of the real
// section, each against the computed value.
func (b *builder) hand(x *seen) []Estimate {
	if x.err != nil || !(x.perA.Value > 0) {
		return nil
	}
	bar := &b.l.Bars[x.s.Reads]
	centre := bar.Centre()
	at := x.s.At.Point()
	wire := reads(x.s, func(p geom.Point) geom.Point { return closedform.FilamentB(p.Sub(centre), 1) })
	section := reads(x.s, sectionField(bar))
	out := []Estimate{{
		Name: "thin wire", Formula: "b = μ0 cos θ / (2π r), r from the centre of the bar, θ between field and axis",
		Numbers: fmt.Sprintf("4π × 10⁻⁷ × %s / (2π × %s)", figures(math.Abs(wire)*2*math.Pi*at.Sub(centre).Norm()/(4e-7*math.Pi)), si.Format(at.Sub(centre).Norm(), "m")),
		Result:  perAmpere(wire), Against: against(wire, x.perA.Value), Source: sourceWire,
		Reason: b.wireReason(bar, at, wire, section),
	}}
	if x.s.Pair != nil {
		out[0].Numbers = "difference of the two elements, each by the formula"
	}
	if e, ok := b.acrossOpening(x); ok {
		out = append(out, e)
	}
	out = append(out, Estimate{
		Name: "real section, nothing around it", Formula: "law of Biot and Savart over the section, current spread evenly; see the worked calculation",
		Numbers: sectionWords(bar), Result: perAmpere(section), Against: against(section, x.perA.Value), Source: sourceSection,
		Reason: b.sectionReason(bar, section, x),
	})
	return out
}

// sectionField is the field of one ampere in the section of a long bar.
func sectionField(bar *layout.Bar) func(geom.Point) geom.Point {
	return func(p geom.Point) geom.Point { return field.BarB(bar, p) }
}

func sectionWords(bar *layout.Bar) string {
	switch bar.Section.Kind {
	case layout.Rectangle:
		return si.Format(bar.Section.WidthM.V, "m") + " × " + si.Format(bar.Section.ThicknessM.V, "m")
	case layout.Round:
		return "diameter " + si.Format(bar.Section.DiameterM.V, "m")
	}
	return fmt.Sprintf("outline of %d corners", len(bar.Section.Corners))
}

func (b *builder) wireReason(bar *layout.Bar, at geom.Point, wire, section float64) string {
	if bar.Section.Kind == layout.Round {
		return "Outside a round bar the wire is exact; what is left is due to what stands around the bar."
	}
	ratio := math.Abs(wire/section) - 1
	word := "high"
	if ratio < 0 {
		word = "low"
	}
	size := bar.Polygon().Box().Size()
	return fmt.Sprintf("The current is spread over %s while the sensor stands %s from the surface: against the real section the wire reads %s %s. The rest is due to what stands around the bar.",
		si.Format(math.Max(size.X, size.Y), "m"), si.Format(bar.DistanceM(at), "m"), si.Percent(math.Abs(ratio)), word)
}

func (b *builder) sectionReason(bar *layout.Bar, section float64, x *seen) string {
	off := math.Abs(section)/x.perA.Value - 1
	iron := false
	for i := range b.l.Shields {
		iron = iron || b.l.Materials[b.l.Shields[i].Material].Magnetic()
	}
	in, _ := b.Model.InSpace()
	switch {
	case math.Abs(off) <= math.Max(1e-6, x.perA.Certainty()):
		return "Nothing around the bar changes its steady field: the two agree within the certainty of the computed value."
	case iron && in:
		return "Iron draws flux, and bars or shields end: both are in the computed value."
	case iron:
		return "The iron of the shields leads the flux of the bar: round its own bar it raises the field in its opening, and it keeps that of other bars away. The formula knows no iron."
	case in:
		return "The bar ends, bends or is cut, which the formula for a long bar does not know."
	}
	return "The computed value holds what the formula leaves out."
}

// acrossOpening is the law of Ampère for a sensor in the opening of a channel that
// holds its bar: iron takes no magnetomotive force, so that all of it stands across the
// opening.
func (b *builder) acrossOpening(x *seen) (Estimate, bool) {
	bar := &b.l.Bars[x.s.Reads]
	for i := range b.l.Shields {
		k := &b.l.Shields[i]
		if k.Form.Kind != layout.Channel || !b.l.Materials[k.Material].Magnetic() {
			continue
		}
		inside := func(p geom.Point) bool {
			q := p.Sub(k.At.Point()).Rotate(-k.TurnRad.V)
			return math.Abs(q.X) < k.Form.OpeningM.V/2 && q.Y > 0 && q.Y < k.Form.LegM.V
		}
		if !inside(bar.Centre()) || !inside(x.s.At.Point()) || x.s.Pair != nil {
			continue
		}
		across := geom.Point{X: 1}.Rotate(k.TurnRad.V)
		cos := math.Abs(across.X*x.s.Axis.U.X + across.Y*x.s.Axis.U.Y)
		v := 4e-7 * math.Pi * cos / k.Form.OpeningM.V
		return Estimate{
			Name: "law of Ampère across the opening of " + k.ID, Formula: "b = μ0 cos θ / opening: iron of no reluctance, field even across the opening",
			Numbers: fmt.Sprintf("4π × 10⁻⁷ × %s / %s", figures(cos), si.Format(k.Form.OpeningM.V, "m")),
			Result:  perAmpere(v), Against: against(v, x.perA.Value), Source: sourceAmpere,
			Reason: "Near the tips of the legs flux bulges out of the opening, near the bar it is not even across it, and real iron takes a part of the magnetomotive force.",
		}, true
	}
	return Estimate{}, false
}

func perAmpere(v float64) string { return si.FormatDigits(math.Abs(v), "T", 4) + "/A" }

// against is an estimate relative to the computed value.
func against(v, computed float64) string {
	r := math.Abs(v)/computed - 1
	if r > 0 {
		return "+" + si.Percent(r)
	}
	return si.Percent(r)
}

// figures prints a pure number to four digits.
func figures(v float64) string { return si.FormatDigits(v, "1", 4) }
