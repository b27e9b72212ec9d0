package load

import (
	"cmp"
	"math"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// standing is where a bar stands: its circuit and its part in it.
type standing struct {
	circuit layout.CircuitIndex
	layout.Member
}

// circuits reads the section of circuits. A bar that no circuit of the file names is
// one by itself. Bars must be read before, and references to circuits come after.
func (r *reader) circuits(section *spot) {
	held := map[layout.BarIndex]*spot{}
	var all []layout.Circuit
	for _, s := range section.objects("circuit") {
		all = append(all, r.circuit(s, held))
	}
	declared := len(all)
	for i := range r.out.Bars {
		b := &r.out.Bars[i]
		if held[layout.BarIndex(i)] == nil {
			all = append(all, layout.Circuit{ID: b.ID, Span: b.Span, Kind: layout.Single,
				Members: []layout.Member{{Bar: layout.BarIndex(i), Factor: 1, Span: b.Span}}})
		}
	}
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(firstBar(&all[i]), firstBar(&all[j])) })
	r.circuitAt = make([]layout.CircuitIndex, declared)
	r.standing = make([]standing, len(r.out.Bars))
	for to, from := range order {
		r.out.Circuits = append(r.out.Circuits, all[from])
		if from < declared {
			r.circuitAt[from] = layout.CircuitIndex(to)
		}
		for _, m := range all[from].Members {
			r.standing[m.Bar] = standing{layout.CircuitIndex(to), m}
		}
	}
}

// firstBar returns the first bar of c in layout order; a broken circuit without bars comes last.
func firstBar(c *layout.Circuit) layout.BarIndex {
	least := layout.BarIndex(math.MaxInt)
	for _, m := range c.Members {
		least = min(least, m.Bar)
	}
	return least
}

// circuit reads one circuit; held are the bars that circuits before it hold.
func (r *reader) circuit(s *spot, held map[layout.BarIndex]*spot) layout.Circuit {
	out := layout.Circuit{ID: s.key, Span: s.edit, Kind: layout.Series}
	if !s.mapping() {
		return out
	}
	s.exactlyOne("series", "parallel")
	series, parallel := s.at("series"), s.at("parallel")
	for _, m := range series.members() {
		m.called("factor of bar %s in %s", quote(m.key), s.label())
		bar := m.keyName().member(s, held)
		factor := m.pure(bounds{})
		if factor.Set && factor.V != 1 && factor.V != -1 {
			m.problem(ruleRange, "%s is %s. Write 1, or -1 where the current flows the other way", m.label(),
				clip(m.n.Text))
		}
		join(&out, bar, factor.V, m.edit)
	}
	if parallel.present() {
		out.Kind = layout.Parallel
	}
	switch {
	case !parallel.present():
	case parallel.n.Kind == node.Map:
		out.Kind = layout.Shared
		shares(s, parallel, held, &out)
	case parallel.n.Kind == node.List:
		items, _ := parallel.items()
		for _, item := range items {
			join(&out, item.member(s, held), math.NaN(), item.n.Span)
		}
	default:
		parallel.wrongKind("a list of bars, or of bars with shares")
	}
	if spread := s.at("spread"); spread.present() {
		if series.present() && !parallel.present() {
			spread.problemAt(spread.edit, ruleForm,
				"%s has spread, which belongs to parallel. A current in series is the same in every bar", s.label())
		}
		out.Spread = spread.share(bounds{kind: fromLoToHi, hi: 0.5,
			why: "how far the resistance of a leg may be off, with joints"})
	}
	for _, form := range []*spot{series, parallel} {
		if form.present() && (form.n.Kind == node.Map || form.n.Kind == node.List) {
			if n := len(form.n.Members) + len(form.n.Items); n < 2 {
				form.problemAt(form.edit, ruleForm,
					"%s has %s. A circuit joins two or more. A bar by itself needs no circuit",
					s.label(), count(n, "bar"))
			}
		}
	}
	return out
}

// join adds a bar to c; None is reported already.
func join(c *layout.Circuit, bar layout.BarIndex, factor float64, at span.Span) {
	if bar != layout.None {
		c.Members = append(c.Members, layout.Member{Bar: bar, Factor: factor, Span: at})
	}
}

// shares reads the declared shares of bars that are joined at both ends.
func shares(s, parallel *spot, held map[layout.BarIndex]*spot, out *layout.Circuit) {
	sum := 0.0
	for _, m := range parallel.members() {
		m.called("share of bar %s in %s", quote(m.key), s.label())
		bar := m.keyName().member(s, held)
		share := m.share(bounds{kind: moreThanLoBelowHi, hi: 1, why: "a share of the current of the circuit"})
		sum += share.V
		join(out, bar, share.V, m.edit)
	}
	if len(parallel.n.Members) > 1 && math.Abs(sum-1) > 1e-6 {
		parallel.problemAt(parallel.edit, ruleRange,
			"the shares of %s sum to %.7g. They must sum to 1. Give a list of bars to have them computed",
			s.label(), sum)
	}
}

// member reads the name of a bar in circuit s.
func (name *spot) member(s *spot, held map[layout.BarIndex]*spot) layout.BarIndex {
	r := name.r
	if name.n.Kind == node.Text {
		if _, isBar := r.names.index[aBar][name.n.Text]; !isBar {
			if _, isCircuit := r.names.index[aCircuit][name.n.Text]; isCircuit {
				name.problem(ruleForm, "%s holds circuit %s. A circuit cannot contain a circuit, name the bars of it",
					s.label(), name.quoted())
				return layout.None
			}
		}
	}
	bar := name.called("a bar of %s", s.label()).bar()
	if bar == layout.None {
		return bar
	}
	if before := held[bar]; before != nil {
		f := name.problem(ruleForm,
			"bar %s stands in %s already. A bar stands in one circuit, once", name.quoted(), before.name)
		f.Related = []finding.Related{{Span: before.edit, Message: "first " + name.quoted()}}
		return layout.None
	}
	held[bar] = &spot{name: s.label(), edit: name.n.Span}
	return bar
}

// keyName returns the key of s as a value that holds a name.
func (s *spot) keyName() *spot {
	return &spot{r: s.r, up: s.up, key: s.key, edit: s.edit, id: s.id,
		n: &node.Node{Kind: node.Text, Text: s.key, Span: s.edit}}
}

// carrier reads the name of a bar or a circuit. The standing of a circuit has no bar
// and the factor 1; ok is false when s is missing or names neither.
func (s *spot) carrier() (at standing, ok bool) {
	none := standing{layout.None, layout.Member{Bar: layout.None, Factor: 1}}
	kinds := []namedKind{aBar}
	if len(s.r.names.index[aCircuit]) > 0 || s.r.names.open[aCircuit] {
		kinds = append(kinds, aCircuit)
	}
	kind, i, ok := s.reference(kinds...)
	switch {
	case !ok:
		return none, false
	case kind == aCircuit && i < len(s.r.circuitAt):
		none.circuit = s.r.circuitAt[i]
		return none, true
	case kind == aBar && i < len(s.r.standing):
		return s.r.standing[i], true
	}
	return none, false // a name that stands twice, reported as such
}

// carries reads the name of what a current flows in: a circuit, or a bar that carries
// the whole current of its circuit, times sign.
func (s *spot) carries() (c layout.CircuitIndex, sign float64) {
	at, ok := s.carrier()
	if !ok {
		return layout.None, 1
	}
	circuit := &s.r.out.Circuits[at.circuit]
	switch {
	case at.Bar == layout.None:
		return at.circuit, 1
	case circuit.Kind == layout.Parallel || circuit.Kind == layout.Shared:
		f := s.problem(ruleForm, "%s is one leg, bar %s. Give the current of circuit %s, which shares it",
			s.label(), s.quoted(), quote(circuit.ID))
		f.Related = []finding.Related{{Span: circuit.Span, Message: "circuit " + quote(circuit.ID)}}
		f.Remedy = "write " + finding.Clean(clip(circuit.ID))
		return layout.None, 1
	}
	return at.circuit, at.Factor
}

// carrierWords returns `bar "U"` or `circuit "U"` for a name.
func (r *reader) carrierWords(name string) string {
	if _, bar := r.names.index[aBar][name]; bar {
		return "bar " + quote(name)
	}
	if _, circuit := r.names.index[aCircuit][name]; circuit {
		return "circuit " + quote(name)
	}
	return "bar " + quote(name)
}
