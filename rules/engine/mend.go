package engine

import (
	"fmt"
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
	// mostOffers is how many changes a finding offers where all are asked for.
	mostOffers = 3
)

// mender searches what may be done about findings and offers what holds: what leaves the whole
// layout, checked again, without a new finding and without a worse one.
type mender struct {
	model  *probe.Model
	rules  []Rule
	o      Options
	found  []finding.Finding // of the layout as it is
	before severities
	trials map[string]*trial // by title
}

// mend gives the failures of found, which begins with what runs say, their remedies.
func (m *mender) mend(runs []*Run) {
	m.before = severitiesOf(m.found, m.rules)
	first := 0
	for _, r := range runs {
		for i, a := range r.asked {
			f := &m.found[first+a.of]
			switch {
			case f.Verdict != finding.Fail: // turned off by the standard
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
	most := 1
	if m.o.AllRemedies {
		most = mostOffers
	}
	var lines []string
	refused := ""
	tries := 0
	if w.Offers != nil {
		for o := range w.Offers {
			t := m.try(&o)
			if tries++; t == nil {
				break
			}
			if why := t.against(f); why != "" {
				if refused == "" {
					refused = fmt.Sprintf("%s is not offered: %s", o.Title, why)
				}
				if tries >= mostTries {
					break
				}
				continue
			}
			o.Effect += t.sideEffects
			lines = append(lines, o.Line())
			f.Changes = m.offered(f.Changes, f, &o, t)
			if len(lines) >= most {
				break
			}
		}
	}
	f.Remedy = m.line(&w, lines, refused)
	m.wide(f, &w)
}

// line is the remedy of a finding in words.
func (m *mender) line(w *remedy.Ways, lines []string, refused string) string {
	if len(lines) == 0 {
		none := *w
		if refused != "" && none.None != "" {
			none.None += "; " + refused
		}
		return none.Line(nil)
	}
	if w.Also != "" {
		lines = append(lines, w.Also)
	}
	return strings.Join(lines, "; or ")
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
	if t := m.try(&o); t != nil && t.against(f) == "" && len(t.clears) > 1 {
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
		if name != nameOf(f) {
			c.Clears = append(c.Clears, name)
		}
	}
	return append(list, c)
}

// nameOf is what changes call a finding.
func nameOf(f *finding.Finding) string {
	if f.Object == "" {
		return f.Rule
	}
	return f.Rule + " of " + f.Object
}
