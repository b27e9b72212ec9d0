package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// materials reads the section of materials.
func (r *reader) materials(section *spot) {
	for _, s := range section.objects("material") {
		r.out.Materials = append(r.out.Materials, r.material(s))
	}
}

func (r *reader) material(s *spot) layout.Material {
	out := layout.Material{ID: s.key, Span: s.edit}
	if !s.mapping() {
		return out
	}
	out.MuRel = s.at("relative-permeability").pure(atLeast(1))
	out.SaturationT = s.at("saturation").quantity(si.FluxDensity, positive())
	curve := s.at("curve")
	out.CurveSpan = curve.where()
	out.Curve = magnetisation(curve)
	out.CoercivityAPM = s.at("coercivity").quantity(si.FieldStrength, notNegative())
	out.SigmaSPerM = s.at("conductivity").quantity(si.Conductivity, notNegative())
	out.AlphaPerK = s.at("temperature-coefficient").quantity(si.PerKelvin, bounds{})
	out.SheetM = s.at("sheet").quantity(si.Length, size())
	out.Source, _ = s.at("source").text()
	heat(s, &out)
	if out.SaturationPerK.Set && !s.at("temperature").present() {
		r.assumeWarm(s.edit, out.ID)
	}
	spread(s.at("tolerance"), &out)
	if sat := s.at("saturation"); sat.present() && !curve.present() && !s.at("relative-permeability").present() {
		sat.problemAt(sat.edit, ruleForm, "%s needs a relative-permeability, or a curve in its place", sat.label())
	}
	return out
}

// measuredAtC is the temperature that curves and saturation are told for where nothing else is said: makers'
// tables are for room temperature, common practice.
const measuredAtC = 25

// assumeWarm lists how warm iron may be whose temperature the file does not say: see layout.Layout.SaturationShare.
func (r *reader) assumeWarm(at span.Span, id string) {
	r.assume(at, id, "material %s may be as warm as the hottest bar: its saturation changes with temperature, and no temperature is given", quote(id))
}

// heat reads what temperature does to a material.
func heat(s *spot, out *layout.Material) {
	if t := s.at("temperature"); t.present() {
		out.TemperatureFromC, out.TemperatureToC = useRange(t)
	} else {
		out.TemperatureFromC, out.TemperatureToC = t.none(), t.none()
	}
	out.MeasuredAtC = or(s.at("measured-at").quantity(si.Temperature, useTemperature()), measuredAtC)
	out.SaturationPerK = s.at("saturation-coefficient").quantity(si.PerKelvin, bounds{})
	k, a := s.at("saturation-coefficient"), s.at("temperature-coefficient")
	if k.present() && !holdsFlux(s) {
		k.problem(ruleForm, "%s belongs to a material with a saturation or a curve", k.label())
	}
	for _, word := range []string{"temperature", "measured-at"} {
		if t := s.at(word); t.present() && !k.present() && (word == "measured-at" || !a.present()) {
			t.problem(ruleForm, "%s changes nothing without a %s", t.label(),
				map[string]string{"temperature": "saturation-coefficient or a temperature-coefficient",
					"measured-at": "saturation-coefficient"}[word])
		}
	}
	if !out.AlphaPerK.Set || !out.TemperatureFromC.Set || !out.TemperatureToC.Set {
		return
	}
	for _, t := range []float64{out.TemperatureFromC.V, out.TemperatureToC.V} {
		if math.IsNaN(material.SigmaAtSPerM(1, out.AlphaPerK.V, t)) {
			a.problem(ruleRange, "%s is %s. No resistance would be left at %s", a.label(), clip(a.n.Text), si.Format(t, "°C"))
			return
		}
	}
}

// holdsFlux reports whether the file gives a saturation of m, which heat and a tolerance may change.
func holdsFlux(m *spot) bool { return m.at("saturation").present() || m.at("curve").present() }

// full refuses coefficients that leave nothing of the saturation of a shield at the temperatures that it may have:
// see layout.Layout.SaturationShare.
func (r *reader) full(top *spot) {
	for i := range r.out.Materials {
		m := &r.out.Materials[i]
		if share := r.out.SaturationShare(m); m.SaturationPerK.Set && r.out.Shielding(layout.MaterialIndex(i)) && share <= 0 {
			top.at("materials").at(m.ID).problemAt(m.SaturationPerK.Span, ruleRange,
				"the saturation of material %s changes by %s. Nothing of the saturation would be left at the temperatures that it may have",
				quote(m.ID), si.Format(m.SaturationPerK.V, "1/K"))
		}
	}
}

// spread reads the tolerances of a material.
func spread(s *spot, out *layout.Material) {
	s.mapping()
	of := s.up
	for _, t := range []struct {
		key   string
		to    *layout.Num
		needs string
		has   bool
	}{
		{"saturation", &out.SaturationTol, "a saturation or a curve", holdsFlux(of)},
		{"permeability", &out.PermeabilityTol, "a curve or a relative-permeability above 1", of.at("curve").present() ||
			of.at("relative-permeability").present() && !(out.MuRel.V <= 1)},
		{"conductivity", &out.ConductivityTol, "a conductivity", of.at("conductivity").present() && out.SigmaSPerM.V != 0},
	} {
		at := s.at(t.key)
		*t.to = or(at.share(tolerance()), 0)
		if at.present() && !t.has {
			at.problem(ruleForm, "%s belongs to a material with %s", at.label(), t.needs)
		}
	}
}

// magnetisation reads a curve of points [H, B]. Both must rise from point to
// point: a curve that falls or stands still has no single answer.
func magnetisation(s *spot) []layout.CurvePoint {
	points, ok := s.items()
	if !ok {
		return nil
	}
	if len(points) < 2 {
		s.problem(ruleForm, "%s has %s. A curve needs two or more", s.label(), count(len(points), "point"))
		return nil
	}
	out := make([]layout.CurvePoint, len(points))
	for i, p := range points {
		p.called("point %d of %s", i+1, s.label())
		out[i] = layout.CurvePoint{FieldAPerM: math.NaN(), FluxDensityT: math.NaN(), Span: p.n.Span}
		if p.n.Kind != node.List {
			p.wrongKind("a point [H, B]")
			continue
		}
		pair, _ := p.items()
		if len(pair) != 2 {
			p.problem(ruleForm, "%s must be a point [H, B], not a list of %d", p.label(), len(pair))
			continue
		}
		out[i].FieldAPerM = pair[0].called("H of %s", p.label()).quantity(si.FieldStrength, notNegative()).V
		out[i].FluxDensityT = pair[1].called("B of %s", p.label()).quantity(si.FluxDensity, notNegative()).V
		rises(p, i, out)
	}
	return out
}

// rises holds point i against the one before it. Broken numbers, which are NaN,
// are reported already and compare as neither.
func rises(p *spot, i int, curve []layout.CurvePoint) {
	h, b := curve[i].FieldAPerM, curve[i].FluxDensityT
	if i == 0 {
		if h == 0 && b > 0 || h > 0 && b == 0 {
			p.problem(ruleRange, "%s is (%s, %s). A curve starts at zero field with zero flux density or above both",
				p.label(), si.Format(h, "A/m"), si.Format(b, "T"))
		}
		return
	}
	if before := curve[i-1].FieldAPerM; h <= before {
		p.problem(ruleRange, "%s has H %s, not more than the %s before it. H must rise",
			p.label(), si.Format(h, "A/m"), si.Format(before, "A/m"))
	}
	if before := curve[i-1].FluxDensityT; b <= before {
		p.problem(ruleRange, "%s has B %s, not more than the %s before it. B must rise",
			p.label(), si.Format(b, "T"), si.Format(before, "T"))
	}
}
