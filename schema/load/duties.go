package load

import (
	"math"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
)

// duties reads the section of duties. Circuits must be read before.
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
	d.FreqHz, d.PeriodS = baseFrequency(s)
	r.set(s, &d.Set)
	if with, ok := s.at("with").items(); ok {
		for i, w := range with {
			d.With = append(d.With, r.with(w.called("item %d of with of %s", i+1, s.label())))
		}
	}
	r.directTwice(s, &d)
	d.Ripple = r.ripple(s, s.at("ripple"), &d)
	d.Asymmetry = r.asymmetry(s, s.at("asymmetry"), &d)
	return d
}

// baseFrequency reads the frequency of a duty, or its period.
func baseFrequency(s *spot) (freqHz, periodS layout.Num) {
	frequency, period := s.at("frequency"), s.at("period")
	freqHz = frequency.quantity(si.Frequency, alternating())
	periodS = period.quantity(si.Time,
		bounds{kind: fromLo, lo: 1 / highestFrequencyHz, unit: "s", why: "fields are computed up to 1 MHz"})
	switch {
	case frequency.present() && period.present():
		period.problemAt(period.edit, ruleForm,
			"%s has frequency and period. Give one, the period is one over the frequency", s.label())
	case period.present():
		freqHz = layout.Num{V: 1 / periodS.V, Set: periodS.Set, Span: periodS.Span}
	case !frequency.present():
		freqHz.V = 0
	}
	return freqHz, periodS
}

// set reads the currents of s over the frequency that out has.
func (r *reader) set(s *spot, out *layout.Set) {
	out.Span = s.edit
	if !out.PeriodS.Set {
		out.PeriodS = s.unset(math.NaN())
	}
	r.currents(s, s.at("currents"), out)
	out.ThreePhase = r.threePhase(s, s.at("three-phase"), out.FreqHz)
	r.doubled(s, out)
	harmonics := s.at("harmonics")
	if items, ok := harmonics.items(); ok && len(items) > 0 && out.FreqHz.V != 0 && !alternates(out) {
		harmonics.problemAt(harmonics.edit, ruleForm,
			"%s need an alternating current in %s to be multiples of", harmonics.label(), s.label())
	}
	out.Harmonics = harmonicsOf(s, harmonics, out.FreqHz)
}

// with reads a set that flows at the same time, unrelated in phase.
func (r *reader) with(s *spot) layout.Set {
	var out layout.Set
	if !s.mapping() {
		return out
	}
	out.FreqHz = s.at("frequency").need().quantity(si.Frequency, ripple())
	r.set(s, &out)
	if !s.at("currents").present() && !s.at("three-phase").present() {
		s.problemAt(s.edit, ruleMissing, "%s needs currents or three-phase", s.label())
	}
	return out
}

func (r *reader) threePhase(owner, s *spot, frequencyHz layout.Num) *layout.ThreePhase {
	if !s.mapping() {
		return nil
	}
	out := &layout.ThreePhase{Span: s.edit, Signs: [3]float64{1, 1, 1}}
	out.Circuits = [3]layout.CircuitIndex{layout.None, layout.None, layout.None}
	bars := s.at("bars").need()
	if items, ok := bars.items(); ok {
		if len(items) != 3 {
			bars.problem(ruleForm, "%s must be three bars [a, b, c], not a list of %d", bars.label(), len(items))
		}
		circuits, signs := distinctCircuits(items)
		copy(out.Circuits[:], circuits)
		copy(out.Signs[:], signs)
	}
	out.Amount = s.amount("rms", "peak")
	out.Amount.DCA = s.at("dc").quantity(si.Current, bounds{})
	s.still(owner, frequencyHz)
	return out
}

// distinctCircuits reads a list of bars or circuits and reports a circuit that
// stands twice.
func distinctCircuits(items []*spot) (circuits []layout.CircuitIndex, signs []float64) {
	first := map[layout.CircuitIndex]int{}
	for i, item := range items {
		c, sign := item.carries()
		circuits, signs = append(circuits, c), append(signs, sign)
		if c == layout.None {
			continue
		}
		j, twice := first[c]
		if !twice {
			first[c] = i
			continue
		}
		var f *finding.Finding
		if circuit := &item.r.out.Circuits[c]; circuit.Kind == layout.Single {
			f = item.problem(ruleForm, "%s is bar %s again. Each bar stands once", item.label(), item.quoted())
		} else {
			f = item.problem(ruleForm, "%s is %s, which is circuit %s again. Each circuit stands once",
				item.label(), item.r.carrierWords(item.n.Text), quote(circuit.ID))
		}
		f.Related = []finding.Related{{Span: items[j].n.Span, Message: "first " + items[j].quoted()}}
	}
	return circuits, signs
}

// doubled reports a circuit that has a current of its own and one of the three
// phases; a direct part beside them is one only where both give it.
func (r *reader) doubled(s *spot, set *layout.Set) {
	t := set.ThreePhase
	if t == nil {
		return
	}
	for i := range set.Currents {
		c := &set.Currents[i]
		alternates := c.Alternates() || len(c.Points) > 0
		for _, k := range t.Circuits {
			if k != c.Circuit || k == layout.None || !alternates && !(c.DCA.Set && t.Amount.DCA.Set) {
				continue
			}
			own := r.written(s.at("currents"), c.Span)
			what := "current"
			if !alternates {
				what = "direct current"
			}
			f := own.problemAt(own.edit, ruleForm, "%s has a %s of its own and one of three-phase in %s. Give one",
				r.carrierWords(own.key), what, s.label())
			f.Related = []finding.Related{{Span: t.Span, Message: "three-phase"}}
		}
	}
}

// written returns the current of a section whose name stands at a place.
func (r *reader) written(section *spot, at span.Span) *spot {
	for _, s := range section.members() {
		if s.edit == at {
			return s
		}
	}
	return section
}

// directTwice reports a circuit to which two sets of a duty give a direct current:
// it has no frequency to be told apart by.
func (r *reader) directTwice(s *spot, d *layout.Duty) {
	first := map[layout.CircuitIndex]layout.Num{}
	take := func(c layout.CircuitIndex, dc layout.Num, again bool) {
		if c == layout.None || !dc.Set {
			return
		}
		before, twice := first[c]
		if !twice {
			first[c] = dc
			return
		}
		if again {
			f := s.at("with").problemAt(dc.Span, ruleForm,
				"%s gives circuit %s a direct current twice. It has no frequency of its own, give the sum once",
				s.label(), quote(r.out.Circuits[c].ID))
			f.Related = []finding.Related{{Span: before.Span, Message: "first direct current"}}
		}
	}
	for i := range d.With {
		for _, set := range []*layout.Set{&d.Set, &d.With[i]} {
			for k := range set.Currents {
				take(set.Currents[k].Circuit, set.Currents[k].DCA, set != &d.Set)
			}
			if t := set.ThreePhase; t != nil {
				for _, c := range t.Circuits {
					take(c, t.Amount.DCA, set != &d.Set)
				}
			}
		}
	}
}

// alternates reports whether a current of the set alternates by its amplitude.
func alternates(set *layout.Set) bool {
	for i := range set.Currents {
		if set.Currents[i].Alternates() {
			return true
		}
	}
	return set.ThreePhase != nil
}

// namesAmplitude reports whether a duty has an alternating current in its text, sound or not.
func namesAmplitude(duty *spot) bool {
	for _, c := range append(duty.at("currents").members(), duty.at("three-phase")) {
		if c.at("rms").present() || c.at("peak").present() {
			return true
		}
	}
	return false
}

// asymmetry reads the decaying direct component of a fault.
func (r *reader) asymmetry(duty, s *spot, d *layout.Duty) *layout.Asymmetry {
	alternating := alternates(&d.Set)
	for i := range d.With {
		alternating = alternating || alternates(&d.With[i])
	}
	if !s.present() {
		if d.Kind == layout.Fault && alternating {
			r.assume(duty.edit, d.ID, "fault %s is symmetrical: no decaying direct component", quote(d.ID))
		}
		return nil
	}
	if !s.mapping() {
		return nil
	}
	switch {
	case d.Kind != layout.Fault && d.Kind != 0:
		s.problemAt(s.edit, ruleForm,
			"%s belongs to a fault, and %s is of kind %s. Leave it out", s.label(), duty.label(), d.Kind)
	case !alternating && !namesAmplitude(duty):
		s.problemAt(s.edit, ruleForm, "%s needs an alternating current in %s, given by rms or peak", s.label(),
			duty.label())
	}
	s.exactlyOne("peak-factor", "r-over-x")
	return &layout.Asymmetry{
		PeakFactor: s.at("peak-factor").pure(bounds{kind: fromLoToHi, lo: 1, hi: 2,
			why: "1 is symmetrical, 2 fully offset"}),
		ROverX: s.at("r-over-x").pure(notNegative()),
		Span:   s.edit,
	}
}
