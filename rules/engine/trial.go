package engine

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/model/remedy"
)

// trial is a change, and what the whole check says of the layout with it.
type trial struct {
	edits       []finding.Edit // none where the change cannot be written into the file
	before      severities     // of the layout as it is
	after       severities
	rules       []Rule
	worse       string   // the first finding that is new or worse, in words; empty: none
	clears      []string // findings that are gone, by name
	sideEffects string
}

// try checks the layout of an offer for f by all rules, once for each title; nil when no trial is left.
func (m *mender) try(o *remedy.Offer, f *finding.Finding) *trial {
	if t := m.trials[o.Title]; t != nil {
		return t
	}
	if len(m.trials) >= mostTrials {
		return nil
	}
	if m.trials == nil {
		m.trials = map[string]*trial{}
	}
	t := &trial{rules: m.rules}
	m.trials[o.Title] = t
	model := m.written(o, t)
	t.before = m.before
	found := m.recheck(model, t, f.Rule)
	if t.worse != "" {
		return t
	}
	t.after = severitiesOf(found, m.rules)
	for _, f := range m.found {
		if slices.ContainsFunc(m.rules, func(r Rule) bool { return r.AsBuilt && r.ID == f.Rule }) {
			continue
		}
		if name := f.Name(); severity(&f) > 0 && len(t.after[keyOf(&f, m.rules)]) == 0 && !slices.Contains(t.clears, name) {
			t.clears = append(t.clears, name)
		}
	}
	t.sideEffects = sideEffects(costsOf(m.found, found))
	return t
}

// recheck runs all rules over a changed layout and ends with the first that it leaves worse: what is refused needs no
// further reason. Those that found something in the layout as it is come first, since they are the likeliest, but for
// the rule that the change is to satisfy, whose goal it was searched for.
func (m *mender) recheck(model *probe.Model, t *trial, mended string) []finding.Finding {
	var first, rest []Rule
	for _, r := range ofDrawing(m.rules) {
		if r.ID != mended && slices.ContainsFunc(m.found, func(f finding.Finding) bool { return f.Rule == r.ID && severity(&f) > 0 }) {
			first = append(first, r)
		} else {
			rest = append(rest, r)
		}
	}
	var all []finding.Finding
	take := func(found []finding.Finding) bool {
		all = append(all, found...)
		t.worse = cmp.Or(severitiesOf(found, m.rules).worseThan(m.before), grows(costsOf(m.found, found)), silenced(m.found, found))
		return t.worse == ""
	}
	for _, r := range append(first, rest...) {
		if m.o.stopped() {
			return all
		}
		found := decide(model.Layout, model, &r, m.o).out
		m.o.grade(found)
		if !take(found) {
			return all
		}
	}
	take(m.o.house(model))
	return all
}

// written returns the model of the changed layout, as the file would be read with the edits of
// the offer where it can be written so.
func (m *mender) written(o *remedy.Offer, t *trial) *probe.Model {
	if m.o.File == nil {
		return o.Model.LevelOf(m.model)
	}
	edits, ok := edit.Between(m.o.File.Text, m.model.Layout, o.Model.Layout)
	if !ok {
		return o.Model.LevelOf(m.model)
	}
	text, err := edit.Apply(m.o.File.Text, edits)
	if err != nil {
		return o.Model.LevelOf(m.model)
	}
	l := m.o.File.Load(text)
	if l == nil || !edit.Same(o.Model.Layout, l) {
		return o.Model.LevelOf(m.model)
	}
	t.edits = edits
	return o.Model.LevelOf(m.model).With(edit.Shared(l, m.model.Layout, o.Model.Layout))
}

// against says why the change is no remedy of f; empty when it is one. A rule that reports its worst duty alone may name
// another one after the change: what is found of the same object in the place of f is no remedy either.
func (t *trial) against(f *finding.Finding) string {
	if t.worse != "" {
		return t.worse
	}
	k := keyOf(f, t.rules)
	was := t.before[k]
	for _, o := range t.after[k] {
		known := slices.ContainsFunc(was, func(b standing) bool { return b.cause == o.cause })
		if !known && len(t.after[k]) >= len(was) {
			return "the whole check finds " + o.words + inCause(o.cause) + " instead"
		}
	}
	for _, o := range t.after[k] {
		if o.cause != f.Cause {
			continue
		}
		if o.severity%2 == 1 {
			return "the verdict would be undecided"
		}
		return "the whole check finds " + o.words + " again"
	}
	return ""
}

// inCause names what the finding is about beside its object: a duty, as a rule.
func inCause(cause string) string {
	if cause == "" {
		return ""
	}
	return fmt.Sprintf(" in %q", cause)
}

// severities are the findings of a layout that are no passes, by what they are about, the worst first.
type severities map[string][]standing

// standing is one of them.
type standing struct {
	severity int
	cause    string
	words    string
}

// severity orders verdicts and levels: 0 is no finding.
func severity(f *finding.Finding) int {
	switch f.Verdict {
	case finding.Fail:
		return 2*int(f.Level) + 2
	case finding.Undecided:
		return 2*int(f.Level) + 1
	case finding.Pass, finding.NotApplicable, finding.Permitted:
	}
	return 0
}

// keyOf says what a finding is about. The cause belongs to it where it is the second object of a
// pair, the other objects where no number says how bad it is.
func keyOf(f *finding.Finding, rules []Rule) string {
	parts := []string{f.Rule, f.Object}
	if slices.ContainsFunc(rules, func(r Rule) bool { return r.ID == f.Rule && r.Pair }) {
		parts = append(parts, f.Cause)
	}
	if f.Measure == nil {
		parts = append(parts, f.Others...)
	}
	return strings.Join(parts, "\x00")
}

func severitiesOf(found []finding.Finding, rules []Rule) severities {
	out := severities{}
	for i := range found {
		f := &found[i]
		if s := severity(f); s > 0 {
			k := keyOf(f, rules)
			out[k] = append(out[k], standing{s, f.Cause, f.Name() + limitWords(f)})
		}
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b standing) int { return cmp.Compare(b.severity, a.severity) })
	}
	return out
}

// limitWords says how a number stands against its limit: " (4.60 %, limit 5 %)".
func limitWords(f *finding.Finding) string {
	if f.Measure == nil {
		return ""
	}
	word := "limit"
	if f.Measure.AtLeast {
		word = "least"
	}
	return fmt.Sprintf(" (%s, %s %s)", Show(f.Measure.Value, f.Measure.Unit), word, ShowLimit(f.Measure.Limit, f.Measure.Unit))
}

// worseThan says which finding is new or worse than what stood before, the first in order of its
// name; empty when none is.
func (s severities) worseThan(before severities) string {
	words := ""
	for key, list := range s {
		was := before[key]
		for i, now := range list {
			verb := ""
			switch {
			case i >= len(was):
				verb = "it brings "
			case now.severity > was[i].severity:
				verb = "it makes worse "
			}
			if verb != "" && (words == "" || verb+now.words < words) {
				words = verb + now.words
			}
		}
	}
	return words
}

const (
	nearMargin = 0.1  // share of a limit: less to spare is worth a word
	lostMargin = 0.01 // share of a limit that a change must cost for it
	mostSides  = 2
)

// silenced names the first verdict of before whose rule does not ask about the object any more; empty when there is none. A
// change that takes away what a rule needs mends nothing.
func silenced(before, after []finding.Finding) string {
	asked, quiet := map[string]bool{}, map[string]bool{}
	for i := range after {
		f := &after[i]
		if f.Verdict == finding.NotApplicable {
			quiet[f.Name()] = true
		} else {
			asked[f.Name()] = true
		}
	}
	for i := range before {
		if f := &before[i]; f.Verdict != finding.NotApplicable && quiet[f.Name()] && !asked[f.Name()] {
			return "then nothing asks for " + f.Name()
		}
	}
	return ""
}

// costsOf returns what a change costs elsewhere: failures that grow, and passes that it leaves with little to spare, the
// worst first.
func costsOf(before, after []finding.Finding) []*finding.Finding {
	type about struct{ rule, object, cause string }
	was := map[about]*finding.Finding{}
	alone := map[about]*finding.Finding{} // without a cause: where one finding alone is of the object, it may name another worst duty
	for i := range before {
		if f := &before[i]; f.Measure != nil {
			was[about{f.Rule, f.Object, f.Cause}] = f
			k := about{rule: f.Rule, object: f.Object}
			if _, several := alone[k]; several {
				f = nil
			}
			alone[k] = f
		}
	}
	var worse []*finding.Finding
	for i := range after {
		f := &after[i]
		if f.Measure == nil || f.Verdict != finding.Pass && f.Verdict != finding.Fail || !(f.Measure.Margin() < nearMargin) {
			continue
		}
		b := was[about{f.Rule, f.Object, f.Cause}]
		if b == nil {
			b = alone[about{rule: f.Rule, object: f.Object}]
		}
		if b != nil && b.Verdict == f.Verdict && b.Measure.Margin()-f.Measure.Margin() > lostMargin {
			worse = append(worse, f)
		}
	}
	slices.SortStableFunc(worse, func(a, b *finding.Finding) int {
		return cmp.Or(cmp.Compare(a.Measure.Margin(), b.Measure.Margin()), Compare(*a, *b))
	})
	return worse
}

// grows names the worst failure that a change leaves failing by more; empty when there is none.
func grows(costs []*finding.Finding) string {
	for _, f := range costs {
		if severity(f) > 0 {
			return "it makes worse " + f.Name() + limitWords(f)
		}
	}
	return ""
}

// sideEffects names the passes that a change leaves with little to spare.
func sideEffects(costs []*finding.Finding) string {
	out := ""
	for _, f := range costs[:min(len(costs), mostSides)] {
		out += fmt.Sprintf("; leaves %s%s", f.Name(), limitWords(f))
	}
	return out
}
