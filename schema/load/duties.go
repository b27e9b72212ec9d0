package load

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// duties reads the section of duties.
func (r *reader) duties(section *spot) {
	for _, s := range section.objects("duty") {
		r.out.Duties = append(r.out.Duties, r.duty(s))
	}
}

func (r *reader) duty(s *spot) layout.Duty {
	d := layout.Duty{ID: s.key, Span: s.edit}
	if !s.mapping() {
		return d
	}
	kind := s.at("kind").need()
	d.KindSpan = kind.where()
	word, _ := kind.word("continuous", "peak", "fault")
	switch word {
	case "continuous":
		d.Kind = layout.Continuous
	case "peak":
		d.Kind = layout.Peak
	case "fault":
		d.Kind = layout.Fault
	}
	frequency := s.at("frequency")
	d.FreqHz = frequency.quantity(si.Frequency, alternating())
	if !frequency.present() {
		d.FreqHz.V = 0
	}
	for _, c := range s.at("currents").members() {
		c.called("current of bar %s in %s", quote(c.key), s.label())
		d.Currents = append(d.Currents, r.barCurrent(s, c, d.FreqHz))
	}
	d.ThreePhase = r.threePhase(s, s.at("three-phase"), d.FreqHz)
	r.doubled(s, &d)
	d.Harmonics = harmonics(s, s.at("harmonics"), &d)
	d.Ripple = r.ripple(s, s.at("ripple"), &d)
	return d
}

func (r *reader) barCurrent(duty, s *spot, frequencyHz layout.Num) layout.Current {
	c := layout.Current{Span: s.edit, Circuit: layout.CircuitIndex(s.keyBar(duty)), Sign: 1}
	c.Amount = s.amount("dc", "rms", "peak")
	s.still(duty, frequencyHz)
	return c
}

// keyBar resolves the key of s as the name of a bar.
func (s *spot) keyBar(duty *spot) layout.BarIndex {
	key := &spot{r: s.r, up: s.up, key: s.key, edit: s.edit, id: s.id,
		name: "a current of " + duty.label(),
		n:    &node.Node{Kind: node.Text, Text: s.key, Span: s.edit}}
	return key.bar()
}

func (r *reader) threePhase(duty, s *spot, frequencyHz layout.Num) *layout.ThreePhase {
	if !s.mapping() {
		return nil
	}
	out := &layout.ThreePhase{Span: s.edit, Circuits: [3]layout.CircuitIndex{layout.None, layout.None, layout.None}, Signs: [3]float64{1, 1, 1}}
	bars := s.at("bars").need()
	if items, ok := bars.items(); ok {
		if len(items) != 3 {
			bars.problem(ruleForm, "%s must be three bars [a, b, c], not a list of %d", bars.label(), len(items))
		}
		found := distinctBars(items)
		for k := range min(3, len(found)) {
			out.Circuits[k] = layout.CircuitIndex(found[k])
		}
	}
	out.Amount = s.amount("rms", "peak")
	s.still(duty, frequencyHz)
	return out
}

// distinctBars reads a list of bars and reports one that stands twice.
func distinctBars(items []*spot) []layout.BarIndex {
	out := make([]layout.BarIndex, len(items))
	first := map[layout.BarIndex]int{}
	for i, item := range items {
		out[i] = item.bar()
		if out[i] == layout.None {
			continue
		}
		if j, twice := first[out[i]]; twice {
			f := item.problem(ruleForm, "%s is bar %s again: each bar stands once", item.label(), item.quoted())
			f.Related = []finding.Related{{Span: items[j].n.Span, Message: "first " + item.quoted()}}
			continue
		}
		first[out[i]] = i
	}
	return out
}

// doubled reports a bar that has a current of its own and one of the three phases.
func (r *reader) doubled(s *spot, d *layout.Duty) {
	if d.ThreePhase == nil {
		return
	}
	for _, c := range d.Currents {
		for _, b := range d.ThreePhase.Circuits {
			if b == c.Circuit && b != layout.None {
				name := r.names.list[aBar][b]
				own := s.at("currents").at(name)
				f := own.problemAt(own.edit, ruleForm, "bar %s has a current of its own and one of three-phase in %s: give one",
					quote(name), s.label())
				f.Related = []finding.Related{{Span: d.ThreePhase.Span, Message: "three-phase"}}
			}
		}
	}
}

func harmonics(duty, s *spot, d *layout.Duty) []layout.Harmonic {
	items, ok := s.items()
	if !ok {
		return nil
	}
	if d.FreqHz.V == 0 && len(items) > 0 {
		s.problemAt(s.edit, ruleForm, "%s need a frequency: give one to %s", s.label(), duty.label())
	} else if !hasAlternating(d) && len(items) > 0 {
		s.problemAt(s.edit, ruleForm, "%s need an alternating current in %s to be multiples of", s.label(), duty.label())
	}
	var out []layout.Harmonic
	first := map[float64]*spot{}
	for i, h := range items {
		h.called("harmonic %d of %s", i+1, duty.label())
		out = append(out, harmonic(h, d.FreqHz))
		order := out[i].Order
		if before, twice := first[order.V]; twice && order.Set {
			f := h.at("order").problem(ruleForm, "order %g stands twice in %s", order.V, s.label())
			f.Related = []finding.Related{{Span: before.n.Span, Message: "first harmonic of this order"}}
		} else if order.Set {
			first[order.V] = h.at("order")
		}
	}
	return out
}

func harmonic(h *spot, frequencyHz layout.Num) layout.Harmonic {
	out := layout.Harmonic{Span: h.edit, Order: h.at("order").unset(0), Share: h.none()}
	out.Amount = h.amount("share", "rms", "peak")
	if h.n.Kind != node.Map {
		return out
	}
	order := h.at("order").need()
	out.Order = order.whole(atLeast(2))
	out.Share = h.at("share").share(bounds{kind: moreThanLoToHi, hi: 10, why: "a share of the fundamental; ten per cent is 10 % or 0.1"})
	if f := out.Order.V * frequencyHz.V; out.Order.Set && f > highestFrequencyHz {
		order.problem(ruleRange, "%s is %s, which is %s: fields are computed up to 1 MHz",
			order.label(), clip(order.n.Text), si.Format(f, "Hz"))
	}
	return out
}

func hasAlternating(d *layout.Duty) bool {
	for _, c := range d.Currents {
		if !c.DCA.Set {
			return true
		}
	}
	return d.ThreePhase != nil
}

func (r *reader) ripple(duty, s *spot, d *layout.Duty) *layout.Ripple {
	if !s.mapping() {
		return nil
	}
	out := &layout.Ripple{Span: s.edit}
	out.FreqHz = s.at("frequency").need().quantity(si.Frequency, ripple())
	out.Amount = s.amount("rms", "peak")
	bars := s.at("bars")
	if items, ok := bars.items(); ok {
		if len(items) == 0 {
			bars.problem(ruleForm, "%s is empty: name a bar, or leave it out for every bar of the duty", bars.label())
		}
		for _, b := range distinctBars(items) {
			out.Circuits = append(out.Circuits, layout.CircuitIndex(b))
		}
	}
	if !bars.present() && len(d.Currents) == 0 && d.ThreePhase == nil {
		s.problemAt(s.edit, ruleForm, "%s has no bar to flow in: name bars, or give %s a current", s.label(), duty.label())
	}
	r.assume(s.edit, d.ID, "ripple of duty %s has the phases of the fundamental and any phase against it", quote(d.ID))
	return out
}
