package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/si"
	"busgauss/schema/node"
)

const roomTemperatureC = 20

// bars reads the section of bars. Materials must be read before.
func (r *reader) bars(section *spot) {
	section.need()
	if section.n != nil && section.n.Kind == node.Map && len(section.n.Members) == 0 {
		section.problem(ruleForm, "bars is empty: a layout needs a bar")
	}
	for _, s := range section.objects("bar") {
		r.out.Bars = append(r.out.Bars, r.bar(s))
	}
}

func (r *reader) bar(s *spot) layout.Bar {
	b := layout.Bar{ID: s.key, Span: s.edit, Material: layout.None, SigmaSPerM: math.NaN(), AlphaPerK: math.NaN()}
	if !s.mapping() {
		return b
	}
	b.Section = section(s.at("section").need())
	b.At = s.at("at").need().place(2, 3)
	b.TurnRad = s.at("turn").turn()
	b.TemperatureC = or(s.at("temperature").quantity(si.Temperature, metalTemperature()), roomTemperatureC)
	if !s.at("temperature").present() {
		r.assume(s.edit, b.ID, "bar %s is at 20 °C", quote(b.ID))
	}
	r.metal(s, &b)
	b.LengthM = s.at("length").quantity(si.Length, size())
	b.Run = run(s.at("run"))
	switch long, bends := s.at("length"), s.at("run"); {
	case long.present() && bends.present():
		s.problemAt(bends.edit, ruleForm, "%s has length and run. A bar with bends has its length from its run", s.label())
	case !long.present() && !bends.present():
		r.assume(s.edit, b.ID, "bar %s is long", quote(b.ID))
	}
	b.Placement = r.placement(s.at("placement"), "x", "y", "turn")
	checkRun(s.at("run"), &b)
	b.Cuts = cuts(s.at("cuts"), &b)
	return b
}

// section reads the cross-section of a bar.
func section(s *spot) layout.Section {
	out := layout.Section{Span: s.where()}
	if !s.mapping() {
		return out
	}
	width, thickness := s.at("width"), s.at("thickness")
	diameter, outline := s.at("diameter"), s.at("outline")
	ways := 0
	for _, there := range []bool{width.present() || thickness.present(), diameter.present(), outline.present()} {
		if there {
			ways++
		}
	}
	switch ways {
	case 0:
		s.problemAt(s.edit, ruleMissing, "%s needs width and thickness, or diameter, or outline", s.label())
	case 1:
	default:
		s.problem(ruleForm, "%s mixes forms. Give width and thickness, or diameter, or outline", s.label())
	}
	if width.present() || thickness.present() {
		out.Kind = layout.Rectangle
		if ways == 1 {
			width.need()
			thickness.need()
		}
		out.WidthM = width.quantity(si.Length, size())
		out.ThicknessM = thickness.quantity(si.Length, size())
	}
	if diameter.present() {
		out.Kind = layout.Round
		out.DiameterM = diameter.quantity(si.Length, size())
	}
	if outline.present() {
		out.Kind = layout.Outline
		out.Corners = outline.outline()
	}
	return out
}

// metal resolves the metal of b and its conductivity at its temperature.
func (r *reader) metal(s *spot, b *layout.Bar) {
	m := s.at("metal").need()
	b.MetalSpan = m.where()
	b.MuRel = 1
	if !m.present() {
		return
	}
	m.takesMetal()
	if m.n.Kind == node.Text {
		b.Metal = m.n.Text
		if c, ok := material.ConductorByName(b.Metal); ok {
			b.AlphaPerK = c.AlphaPerK
			b.SigmaSPerM = c.SigmaAtSPerM(b.TemperatureC.V)
			r.checkSigma(s, b, c.SigmaSPerM)
			if !c.Confirmed {
				r.assume(b.MetalSpan, b.ID, "%s of bar %s conducts %s at 20 °C: %s",
					c.Name, quote(b.ID), si.Format(c.SigmaSPerM, "S/m"), c.Source)
			}
			return
		}
	}
	i, ok := r.declaredMetal(m)
	if !ok {
		return
	}
	b.Material = i
	if int(i) >= len(r.out.Materials) {
		return // a name that stands twice, reported as such
	}
	r.fromMaterial(s, b, &r.out.Materials[i])
}

// declaredMetal reads the name of a declared material, where a built-in metal
// would do as well.
func (r *reader) declaredMetal(m *spot) (layout.MaterialIndex, bool) {
	if m.n.Kind != node.Text {
		m.wrongKind("the name of a metal")
		return layout.None, false
	}
	if i, ok := r.names.index[aMaterial][m.n.Text]; ok {
		return layout.MaterialIndex(i), true
	}
	if r.names.open[aMaterial] {
		return layout.None, false
	}
	var known []string
	for _, c := range material.Conductors() {
		known = append(known, c.Name)
	}
	m.unknown([]namedKind{aMaterial}, append(known, r.names.list[aMaterial]...))
	return layout.None, false
}

func (r *reader) fromMaterial(s *spot, b *layout.Bar, m *layout.Material) {
	switch {
	case len(m.Curve) > 0:
		b.MuRel = math.NaN() // not one number: the curve says it
	case m.MuRel.Set:
		b.MuRel = m.MuRel.V
	}
	b.AlphaPerK = or(m.AlphaPerK, 0).V
	b.SigmaSPerM = material.SigmaAtSPerM(m.SigmaSPerM.V, b.AlphaPerK, b.TemperatureC.V)
	if !m.SigmaSPerM.Set {
		b.SigmaSPerM = math.NaN()
		return
	}
	if !m.AlphaPerK.Set && b.TemperatureC.V != roomTemperatureC {
		r.assume(b.MetalSpan, b.ID, "conductivity of %s in bar %s does not change with temperature",
			quote(m.ID), quote(b.ID))
	}
	r.checkSigma(s, b, m.SigmaSPerM.V)
	metal := s.at("metal")
	switch {
	case m.SigmaSPerM.V < leastBarSPerM:
		metal.problem(ruleRange, "material %s of bar %s conducts %s, and a bar carries a current. It needs %s or more",
			quote(m.ID), quote(b.ID), si.Format(m.SigmaSPerM.V, "S/m"), si.Format(leastBarSPerM, "S/m"))
	case math.IsNaN(material.SigmaAtSPerM(1, b.AlphaPerK, mostMetalC)):
		metal.problem(ruleRange, "material %s of bar %s has a temperature-coefficient of %s. No resistance would be left at %d °C, up to which bars are followed",
			quote(m.ID), quote(b.ID), si.Format(b.AlphaPerK, "1/K"), mostMetalC)
	}
}

// leastBarSPerM is far below every metal; the loss of a bar that conducts less would leave the range of numbers.
const leastBarSPerM = 1e-3

// checkSigma reports a temperature at which the linear law of resistivity gives
// nothing.
func (r *reader) checkSigma(s *spot, b *layout.Bar, sigma20SPerM float64) {
	if math.IsNaN(b.SigmaSPerM) && !math.IsNaN(sigma20SPerM) && b.TemperatureC.Set {
		s.at("temperature").problem(ruleRange, "%s is %s: with a temperature coefficient of %s the resistivity is not positive there",
			s.at("temperature").label(), clip(s.at("temperature").n.Text), si.Format(b.AlphaPerK, "1/K"))
	}
}
