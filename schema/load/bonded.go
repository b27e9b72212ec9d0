package load

import (
	"slices"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// bonded reads one list of names, or a list of such lists.
func (r *reader) bonded(s *spot) {
	items, ok := s.items()
	if !ok {
		return
	}
	groups := []*spot{s}
	if slices.ContainsFunc(items, func(i *spot) bool { return i.n.Kind == node.List }) {
		groups = items
	}
	held := map[string]span.Span{}
	for _, g := range groups {
		r.out.Bonded = append(r.out.Bonded, bond(g, held))
	}
}

func bond(g *spot, held map[string]span.Span) layout.Bond {
	out := layout.Bond{Span: g.where()}
	items, ok := g.items()
	if !ok {
		return out
	}
	if len(items) < 2 {
		g.problem(ruleForm, "%s has %s: a bond joins two or more", g.label(), count(len(items), "name"))
	}
	for _, item := range items {
		kind, i, ok := item.reference(aBar, aShield)
		if !ok {
			continue
		}
		if first, twice := held[item.n.Text]; twice {
			f := item.problem(ruleForm, "%s is bonded already. A piece belongs to one bond", item.quoted())
			f.Related = []finding.Related{{Span: first, Message: "first " + item.quoted()}}
			continue
		}
		if kind == aBar && i < len(g.r.standing) {
			if c := &g.r.out.Circuits[g.r.standing[i].circuit]; c.Kind != layout.Single {
				f := item.problem(ruleForm,
					"bar %s stands in circuit %s, which says how it is joined. Leave it out of bonded", item.quoted(),
					quote(c.ID))
				f.Related = []finding.Related{{Span: c.Span, Message: "circuit " + quote(c.ID)}}
				continue
			}
		}
		held[item.n.Text] = item.n.Span
		if kind == aBar {
			out.Bars = append(out.Bars, layout.BarIndex(i))
		} else {
			out.Shields = append(out.Shields, layout.ShieldIndex(i))
		}
	}
	return out
}
