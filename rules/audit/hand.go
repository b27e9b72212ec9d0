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

// reads returns what s reads, per ampere, of a plane field given as a function of the
// place: the part on the axis, of pairs the difference, of arrays the sum with their weights.
func reads(s *layout.Sensor, field func(geom.Point) geom.Point) float64 {
	sum := 0.0
	for _, e := range s.Elements() {
		v := field(e.At.XY())
		sum += float64(e.Weight * (float64(v.X*e.U.X) + float64(v.Y*e.U.Y)))
	}
	return sum
}

// hand returns estimates that fit on paper, from the coarsest to the field of the real
// section, each against the computed value.
func (b *builder) hand(x *seen) []Estimate {
	if x.err != nil || !(x.perA.Value > 0) {
		return nil
	}
	parts := b.ownParts(x.s)
	if len(parts) == 0 {
		return nil
	}
	bar := parts[0].bar
	centre := bar.Centre()
	at := x.s.At.Point()
	wire, section := readsOf(x.s, parts, wireField), readsOf(x.s, parts, sectionField)
	words := sectionWords(bar)
	out := []Estimate{{
		Name: "thin wire", Formula: "b = μ0 cos θ / (2π r), r from the centre of the bar, θ between field and axis",
		Numbers: fmt.Sprintf("4π × 10⁻⁷ × %s / (2π × %s)", figures(math.Abs(wire)*2*math.Pi*at.Sub(centre).Norm()/(4e-7*math.Pi)), si.Format(at.Sub(centre).Norm(), "m")),
		Result:  perAmpere(wire), Against: against(wire, x.perA.Value), Source: sourceWire,
		Reason: b.wireReason(bar, at, wire, section),
	}}
	switch {
	case x.s.Pair != nil:
		out[0].Numbers = "difference of the two elements, each by the formula"
	case len(x.s.Array) > 0:
		out[0].Numbers = "sum of the elements with their weights, each by the formula"
	}
	if len(parts) > 1 {
		alone := func(of func(*layout.Bar) func(geom.Point) geom.Point) string {
			return ownWords(x.s, parts, func(k *layout.Bar) float64 { return reads(x.s, of(k)) })
		}
		out[0].Numbers, words = alone(wireField), alone(sectionField)
		out[0].Formula += "; summed over the bars of " + readWords(b.l, x.s) + " with their shares"
		out[0].Reason = fmt.Sprintf("Each bar counts as a wire in its middle: against the real sections they read %s. The rest is due to what stands around the bars.", against(wire, math.Abs(section)))
	}
	if e, ok := b.acrossOpening(x, parts); ok {
		out = append(out, e)
	}
	out = append(out, Estimate{
		Name: "real section, nothing around it", Formula: "law of Biot and Savart over the section, current spread evenly; see the worked calculation",
		Numbers: words, Result: perAmpere(section), Against: against(section, x.perA.Value), Source: sourceSection,
		Reason: b.sectionReason(section, x),
	})
	return out
}

// readsOf returns what s reads, per ampere, of all the bars that carry what it reads, from the
// plane field of an ampere in one of them.
func readsOf(s *layout.Sensor, parts []ownPart, of func(*layout.Bar) func(geom.Point) geom.Point) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += float64(p.share * reads(s, of(p.bar)))
	}
	return sum
}

// wireField is the field of one ampere in the middle of the section of a long bar.
func wireField(bar *layout.Bar) func(geom.Point) geom.Point {
	return func(p geom.Point) geom.Point { return closedform.FilamentB(p.Sub(bar.Centre()), 1) }
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

func (b *builder) sectionReason(section float64, x *seen) string {
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
// holds its bar, or bars of its circuit: iron takes no magnetomotive force, so that all of it stands across the
// opening.
func (b *builder) acrossOpening(x *seen, parts []ownPart) (Estimate, bool) {
	for i := range b.l.Shields {
		k := &b.l.Shields[i]
		if k.Form.Kind != layout.Channel || !b.l.Materials[k.Material].Magnetic() {
			continue
		}
		inside := func(p geom.Point) bool {
			q := p.Sub(k.At.Point()).Rotate(-k.TurnRad.V)
			return math.Abs(q.X) < k.Form.OpeningM.V/2 && q.Y > 0 && q.Y < k.Form.LegM.V
		}
		held := 0.0
		for _, p := range parts {
			if inside(p.bar.Centre()) {
				held += p.share
			}
		}
		if math.Abs(held) < 1e-9 || !inside(x.s.At.Point()) || len(x.s.Elements()) > 1 {
			continue
		}
		across := geom.Point{X: 1}.Rotate(k.TurnRad.V)
		cos := math.Abs(float64(across.X*x.s.Axis.U.X) + float64(across.Y*x.s.Axis.U.Y))
		v := 4e-7 * math.Pi * cos * held / k.Form.OpeningM.V
		formula, numbers := "b = μ0 cos θ / opening",
			fmt.Sprintf("4π × 10⁻⁷ × %s / %s", figures(cos), si.Format(k.Form.OpeningM.V, "m"))
		if len(parts) > 1 {
			formula = "b = μ0 n cos θ / opening, n amperes inside per ampere read"
			numbers = fmt.Sprintf("4π × 10⁻⁷ × %s × %s / %s", figures(held), figures(cos),
				si.Format(k.Form.OpeningM.V, "m"))
		}
		return Estimate{
			Name:    "law of Ampère across the opening of " + k.ID,
			Formula: formula + ": iron of no reluctance, field even across the opening",
			Numbers: numbers,
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
