package engine

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/model/remedy"
)

const (
	// mostRemedies is how many findings of one rule in one layout get a remedy: a search may
	// cost more than the verdict, and what ails more channels than that ails them alike.
	mostRemedies = 24
	// mostTrials is how many changes of one layout are checked against all rules.
	mostTrials = 120
	// mostTries is how many changes are tried for one finding.
	mostTries = 6
	// mostPaired is how many findings of one layout are searched for two changes at once.
	mostPaired = 4
	// mostOffers is how many changes a finding offers where all are asked for or they are of different kinds.
	mostOffers = 5
)

// mender searches what may be done about findings and offers what holds: what leaves the whole
// layout, checked again, without a new finding, without a higher level and without a failure that grows.
type mender struct {
	model  *probe.Model
	rules  []Rule
	o      Options
	found  []finding.Finding // of the layout as it is
	before severities
	trials map[string]*trial // by title
	paired int
}

// mend gives the failures of found, which begins with what runs say, their remedies.
func (m *mender) mend(runs []*Run) {
	m.before = severitiesOf(m.found, m.rules)
	first := 0
	for _, r := range runs {
		for i, a := range r.asked {
			f := &m.found[first+a.of]
			if m.o.stopped() {
				return
			}
			switch {
			case f.Verdict != finding.Fail: // turned off by the standard
			case m.model.Work().Over() != nil:
				f.Remedy = atEnd
			case i >= mostRemedies:
				f.Remedy = fmt.Sprintf("see the first %d findings of this rule: no more remedies are searched in one layout", mostRemedies)
			default:
				m.answer(f, a.ways())
			}
		}
		first += len(r.out)
	}
}

// answer fills the remedy and the changes of f.
func (m *mender) answer(f *finding.Finding, w remedy.Ways) {
	a := answer{m: m, f: f, most: 1}
	if m.o.AllRemedies || w.Several {
		a.most = mostOffers
	}
	a.take(w.Offers)
	if len(a.lines) == 0 && m.paired < mostPaired {
		m.paired++
		a.take(w.Pairs)
	}
	if m.model.Work().Over() == nil {
		f.Remedy = a.line(&w)
		m.wide(f, &w)
	}
	if m.model.Work().Over() != nil { // what was found before is told
		if f.Remedy = atEnd; len(a.lines) > 0 {
			f.Remedy = strings.Join(a.lines, "; or ") + "; " + atEnd
		}
	}
}

// answer collects what holds for one finding.
type answer struct {
	m       *mender
	f       *finding.Finding
	most    int
	lines   []string
	refused string // the first change that does not hold, and why
}

// take tries offers until enough of them hold.
func (a *answer) take(offers iter.Seq[remedy.Offer]) {
	if offers == nil {
		return
	}
	tries := 0
	for o := range offers {
		t := a.m.try(&o, a.f)
		if t == nil || a.m.model.Work().Over() != nil { // a trial without all its numbers says nothing
			return
		}
		tries++
		switch why := t.against(a.f); {
		case why == "":
			o.Effect += t.sideEffects
			a.lines = append(a.lines, o.Line())
			a.f.Changes = a.m.offered(a.f.Changes, a.f, &o, t)
		case a.refused == "":
			a.refused = fmt.Sprintf("%s would, but %s", o.Title, why)
		}
		if len(a.lines) >= a.most || tries >= mostTries {
			return
		}
	}
}

// line is the remedy in words.
func (a *answer) line(w *remedy.Ways) string {
	if len(a.lines) > 0 {
		lines := a.lines
		if w.Also != "" {
			lines = append(lines, w.Also)
		}
		return strings.Join(lines, "; or ")
	}
	none := *w
	if none.None != "" && a.refused != "" {
		none.None += "; " + a.refused
	} else if none.None != "" && w.Nearest != nil {
		if n := w.Nearest(); n != "" {
			none.None += "; " + n
		}
	}
	return none.Line(nil)
}

// wide adds the change that touches more than the object of f where it clears other findings too.
func (m *mender) wide(f *finding.Finding, w *remedy.Ways) {
	if w.Wide == nil || len(m.before) < 2 {
		return
	}
	o, ok := w.Wide()
	if !ok || slices.ContainsFunc(f.Changes, func(c finding.Change) bool { return c.Title == o.Title }) {
		return
	}
	if t := m.try(&o, f); t != nil && t.against(f) == "" && len(t.clears) > 1 {
		f.Changes = m.offered(f.Changes, f, &o, t)
	}
}

// offered appends a change that holds, where it can be written into the file.
func (m *mender) offered(list []finding.Change, f *finding.Finding, o *remedy.Offer, t *trial) []finding.Change {
	if len(t.edits) == 0 {
		return list
	}
	c := finding.Change{Title: o.Title, Effect: o.Effect, Edits: t.edits}
	for _, name := range t.clears {
		if name != f.Name() {
			c.Clears = append(c.Clears, name)
		}
	}
	return append(list, c)
}
