package load

import (
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// surroundings reads what else makes a field at the sensors.
func (r *reader) surroundings(s *spot) {
	out := &r.out.Surroundings
	out.Given, out.Span = s.present(), s.edit
	s.mapping()
	out.Uniform = uniform(s.at("uniform"))
	out.Immunity = immunity(s.at("immunity"))
	for _, w := range s.at("wires").objects("wire") {
		out.Wires = append(out.Wires, wire(w))
	}
	for _, m := range s.at("magnets").objects("magnet") {
		out.Magnets = append(out.Magnets, magnet(m))
	}
	clear := s.at("clear")
	out.ClearM = or(clear.quantity(si.Length, size()), 1)
	if !clear.present() {
		r.assume(s.edit, "", "no iron and no conducting wall is nearer than 1 m")
	}
	back := s.at("return")
	out.ReturnSpan = back.where()
	_, out.ReturnFar = back.word("far")
	if !back.present() {
		r.assume(s.edit, "", "no return path is declared: the currents of a duty must sum to zero")
	}
}

func uniform(s *spot) layout.Uniform {
	out := layout.Uniform{FluxDensityT: s.none(), DirectionRad: s.none(), Span: s.where()}
	mapping, ok := s.scalarOr("a flux density or a mapping with flux-density and direction")
	switch {
	case !ok:
	case !mapping:
		out.FluxDensityT = s.quantity(si.FluxDensity, notNegative())
	default:
		out.FluxDensityT = s.at("flux-density").need().quantity(si.FluxDensity, notNegative())
		out.DirectionRad = s.at("direction").quantity(si.Angle, turnRange())
	}
	return out
}

func immunity(s *spot) layout.Immunity {
	s.mapping()
	s.exactlyOne("rms", "peak")
	return layout.Immunity{
		RMSAPerM:  s.at("rms").quantity(si.FieldStrength, notNegative()),
		PeakAPerM: s.at("peak").quantity(si.FieldStrength, notNegative()),
		FreqHz:    s.at("frequency").need().quantity(si.Frequency, ripple()),
		Span:      s.where(),
	}
}

func wire(s *spot) layout.Wire {
	out := layout.Wire{ID: s.key, Span: s.edit}
	out.Amount = s.amount("dc", "rms", "peak")
	if s.n.Kind != node.Map {
		return out
	}
	out.At = s.at("at").need().place(2, 2)
	frequency := s.at("frequency")
	out.FreqHz = frequency.quantity(si.Frequency, alternating())
	if !frequency.present() {
		out.FreqHz.V = 0
	}
	if s.at("dc").present() && out.FreqHz.Set && out.FreqHz.V != 0 {
		frequency.problemAt(frequency.edit, ruleForm, "%s belongs to an alternating current, not to dc", frequency.label())
	}
	s.still(s, out.FreqHz)
	return out
}

func magnet(s *spot) layout.Magnet {
	out := layout.Magnet{ID: s.key, Span: s.edit}
	if !s.mapping() {
		return out
	}
	form := s.at("form").need()
	if form.mapping() {
		form.exactlyOne("disc", "block")
		if d := form.at("disc"); d.mapping() {
			out.Kind = layout.Disc
			out.DiameterM = d.at("diameter").need().quantity(si.Length, size())
			out.ThicknessM = d.at("thickness").need().quantity(si.Length, size())
		}
		if b := form.at("block"); b.mapping() {
			out.Kind = layout.Block
			out.WidthM = b.at("width").need().quantity(si.Length, size())
			out.HeightM = b.at("height").need().quantity(si.Length, size())
			out.DepthM = b.at("depth").need().quantity(si.Length, size())
		}
	}
	out.At = s.at("at").need().place(2, 3)
	out.U, _ = s.at("magnetised").need().direction()
	out.RemanenceT = s.at("remanence").need().quantity(si.FluxDensity, positive())
	return out
}
