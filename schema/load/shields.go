package load

import (
	"math"
	"strings"

	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/schema/node"
)

// shields reads the section of shields.
func (r *reader) shields(section *spot) {
	for _, s := range section.objects("shield") {
		r.out.Shields = append(r.out.Shields, r.shield(s))
	}
}

func (r *reader) shield(s *spot) layout.Shield {
	out := layout.Shield{ID: s.key, Span: s.edit, Material: layout.None}
	if !s.mapping() {
		return out
	}
	out.Form = form(s.at("form").need())
	out.At = s.at("at").need().place(2, 3)
	out.TurnRad = s.at("turn").turn()
	m := s.at("material").need()
	out.MaterialSpan = m.where()
	out.Material = r.shieldMaterial(m)
	out.DepthM, out.Long = depth(s.at("depth"))
	out.Placement = r.placement(s.at("placement"), "x", "y", "turn")
	sizes(s.at("tolerance"), &out)
	if !s.at("depth").present() {
		r.assume(s.edit, out.ID, "shield %s may be of any depth from its outer width up", quote(out.ID))
	}
	return out
}

// sizes reads how far the sizes of a shield may lie from those that its form says.
func sizes(s *spot, out *layout.Shield) {
	s.mapping()
	out.WallTolM = or(s.at("wall").quantity(si.Length, deviation()), 0)
	out.OpeningTolM = or(s.at("opening").quantity(si.Length, deviation()), 0)
	f := &out.Form
	refuse := func(key, of string, tol, size layout.Num) {
		at := s.at(key)
		switch {
		case !tol.Set:
		case !size.Set:
			at.problem(ruleForm, "%s belongs to a shield whose form has a size of that name (an outline has none, a plate and a closed ring no opening)", at.label())
		case !(tol.V < size.V):
			at.problem(ruleRange, "%s is %s: it must be less than the %s, %s", at.label(), clip(at.n.Text), of, si.Format(size.V, "m"))
		}
	}
	switch f.Kind {
	case layout.Channel:
		refuse("wall", "wall", out.WallTolM, f.WallM)
		refuse("opening", "opening", out.OpeningTolM, f.OpeningM)
	case layout.Plate:
		refuse("wall", "thickness", out.WallTolM, f.ThicknessM)
		refuse("opening", "opening or slit", out.OpeningTolM, layout.Num{})
	case layout.Ring:
		refuse("wall", "wall", out.WallTolM, f.WallM)
		refuse("opening", "slit", out.OpeningTolM, f.SlitM)
	default:
		refuse("wall", "wall", out.WallTolM, layout.Num{})
		refuse("opening", "opening or slit", out.OpeningTolM, layout.Num{})
	}
}

// depth reads how deep a shield is along z, or that it is long.
func depth(s *spot) (m layout.Num, long bool) {
	if s.n == nil || s.n.Kind != node.Text || strings.ContainsAny(s.n.Text, "0123456789") {
		return s.quantity(si.Length, size()), false
	}
	if s.n.Text != "long" {
		s.problem(ruleForm, "%s must be a length or the word long, not %s%s", s.label(), s.kind(),
			word.DidYouMean(s.n.Text, []string{"long"}))
	}
	return s.unset(math.NaN()), s.n.Text == "long"
}

func (r *reader) shieldMaterial(m *spot) layout.MaterialIndex {
	if m.n != nil && m.n.Kind == node.Text {
		_, declared := r.names.index[aMaterial][m.n.Text]
		if c, builtIn := material.ConductorByName(m.n.Text); builtIn && !declared {
			m.problem(ruleUnknownID, "%s names no material: %s is a metal of bars only. Declare a material with conductivity %s",
				m.label(), quote(c.Name), si.Format(c.SigmaSPerM, "S/m"))
			return layout.None
		}
		if iron, builtIn := material.IronByName(m.n.Text); builtIn && !declared {
			return r.builtInIron(m, &iron)
		}
		if !declared && !r.names.open[aMaterial] {
			known := append([]string(nil), r.names.list[aMaterial]...)
			for _, iron := range material.Irons() {
				known = append(known, iron.Name)
			}
			m.unknown([]namedKind{aMaterial}, known)
			return layout.None
		}
	}
	_, i, ok := m.reference(aMaterial)
	if !ok {
		return layout.None
	}
	return layout.MaterialIndex(i)
}

// builtInIron adds a built-in class of iron to the materials of the layout, once,
// and lists what is taken from it.
func (r *reader) builtInIron(m *spot, iron *material.Iron) layout.MaterialIndex {
	for i := range r.out.Materials {
		if r.out.Materials[i].ID == iron.Name {
			return layout.MaterialIndex(i)
		}
	}
	curve, err := iron.Curve()
	if err != nil {
		panic("load: a built-in curve is broken")
	}
	at := m.where()
	given := func(v float64) layout.Num { return layout.Num{V: v, Set: v > 0, Span: at} }
	out := layout.Material{
		ID: iron.Name, Span: at, CurveSpan: at, Source: iron.Source,
		MuRel: m.none(), SaturationT: given(iron.SaturationT), CoercivityAPM: given(iron.CoercivityA),
		SigmaSPerM: given(iron.SigmaSPerM), AlphaPerK: m.none(), SheetM: m.none(),
		TemperatureFromC: m.none(), TemperatureToC: m.none(), MeasuredAtC: layout.Num{V: measuredAtC, Span: at},
		SaturationPerK: layout.Num{V: iron.SaturationPerK, Set: iron.SaturationPerK != 0, Span: at},
	}
	for _, p := range curve.Points() {
		out.Curve = append(out.Curve, layout.CurvePoint{FieldAPerM: p.FieldAPerM, FluxDensityT: p.FluxDensityT, Span: at})
	}
	doubt := ""
	if !iron.Confirmed {
		doubt = ", not confirmed in a public text"
	}
	r.assume(at, iron.Name, "material %s is the built-in class %s, solid and typical%s: curve, coercivity and conductivity", quote(iron.Name),
		iron.Description, doubt)
	if out.SaturationPerK.Set {
		r.assumeWarm(at, iron.Name)
	}
	r.out.Materials = append(r.out.Materials, out)
	return layout.MaterialIndex(len(r.out.Materials) - 1)
}

// form reads the section of a shield.
func form(s *spot) layout.Form {
	out := layout.Form{Span: s.where()}
	if !s.mapping() {
		return out
	}
	s.exactlyOne("channel", "plate", "ring", "outline")
	if c := s.at("channel"); c.present() {
		out.Kind = layout.Channel
		if c.mapping() {
			out.OpeningM = c.at("opening").need().quantity(si.Length, size())
			out.LegM = c.at("leg").need().quantity(si.Length, size())
			out.WallM = c.at("wall").need().quantity(si.Length, size())
		}
	}
	if p := s.at("plate"); p.present() {
		out.Kind = layout.Plate
		if p.mapping() {
			out.WidthM = p.at("width").need().quantity(si.Length, size())
			out.ThicknessM = p.at("thickness").need().quantity(si.Length, size())
		}
	}
	if g := s.at("ring"); g.present() {
		out.Kind = layout.Ring
		if g.mapping() {
			ring(g, &out)
		}
	}
	if o := s.at("outline"); o.present() {
		out.Kind = layout.ShieldOutline
		out.Corners = o.outline()
	}
	return out
}

func ring(g *spot, out *layout.Form) {
	out.InnerM = g.at("inner").need().quantity(si.Length, size())
	out.WallM = g.at("wall").need().quantity(si.Length, size())
	slit := g.at("slit")
	out.SlitM = or(slit.quantity(si.Length, deviation()), 0)
	if out.SlitM.Set && out.InnerM.Set && !(out.SlitM.V < out.InnerM.V) {
		slit.problem(ruleRange, "%s is %s: it must be less than the inner diameter, %s",
			slit.label(), clip(slit.n.Text), si.Format(out.InnerM.V, "m"))
	}
}
