package audit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/word"
)

// Glance is what a page shows first.
type Glance struct {
	Verdict  string // one or two words for all of it
	Sentence string // what Verdict rests on; it goes on from it after a colon
	Tally    Tally
	Matrix   Matrix
	Changes  []Change // those that clear most, the best first
	// Offered is how many different changes there are in all.
	Offered int
}

// Matrix holds the worst margin of each rule on each channel.
type Matrix struct {
	// Columns are the channels in the order of the layout. Rest says that one more column follows
	// for bars, shields and the layout as a whole.
	Columns []string
	Rest    bool
	Rows    []MatrixRow // the worst first
}

// MatrixRow is one rule.
type MatrixRow struct {
	Rule, Title string
	Cells       []MatrixCell // of each column, that of the rest last
}

// MatrixCell is the worst verdict of a rule on a channel.
type MatrixCell struct {
	Verdict int // in Page.Verdicts; -1 where the rule does not ask
	Count   int // verdicts that it is the worst of
}

// RestColumn is the name of the column of what is no channel.
const RestColumn = "other parts"

// glance needs the verdicts of the page, in their order.
func (b *builder) glance(p *Page) Glance {
	g := Glance{Tally: Count(p.Verdicts), Matrix: b.matrix(p.Verdicts)}
	all := b.changes()
	g.Offered, g.Changes = len(all), all[:min(len(all), mostChanges)]
	g.Verdict, g.Sentence = b.sentence(g.Tally, p.Verdicts)
	return g
}

// matrix takes the first verdict of each cell, which is the worst, and the rules in the order of
// their worst verdicts.
func (b *builder) matrix(verdicts []Verdict) Matrix {
	var m Matrix
	column := map[string]int{}
	for i := range b.l.Sensors {
		column[b.l.Sensors[i].ID] = i
		m.Columns = append(m.Columns, b.l.Sensors[i].ID)
	}
	n := len(m.Columns) + 1
	row := map[string]int{}
	for i := range verdicts {
		v := &verdicts[i]
		if v.Verdict == finding.NotApplicable {
			continue
		}
		k, ok := row[v.Rule]
		if !ok {
			k = len(m.Rows)
			row[v.Rule] = k
			m.Rows = append(m.Rows, MatrixRow{Rule: v.Rule, Title: v.Title, Cells: slices.Repeat([]MatrixCell{{Verdict: -1}}, n)})
		}
		at, ok := column[v.Channel]
		if !ok {
			at, m.Rest = n-1, true
		}
		c := &m.Rows[k].Cells[at]
		if c.Count++; c.Verdict < 0 {
			c.Verdict = i
		}
	}
	if !m.Rest {
		for k := range m.Rows {
			m.Rows[k].Cells = m.Rows[k].Cells[:n-1]
		}
	}
	return m
}

// sentence says the outcome of all verdicts in one sentence.
func (b *builder) sentence(t Tally, verdicts []Verdict) (verdict, rests string) {
	var more []string
	add := func(n int, one, many string) {
		switch {
		case n == 1:
			more = append(more, "1 "+one)
		case n > 1:
			more = append(more, fmt.Sprintf("%d %s", n, many))
		}
	}
	switch {
	case t.Judged() == 0:
		return "Nothing judged", "no rule asks anything of this layout"
	case t.Fail > 0:
		verdict, rests = "Fails", b.failing(verdicts)
		add(t.Undecided, "verdict could not be decided", "verdicts could not be decided")
	case t.Undecided > 0:
		verdict = "Not decided"
		rests = fmt.Sprintf("%d of %s could not be computed well enough, %s; what could be computed holds", t.Undecided,
			count(t.Judged(), "verdict"), b.touched(verdicts, finding.Undecided))
	case t.Permitted > 0:
		verdict = "Holds with permission"
		rests = fmt.Sprintf("%d of %s would fail or stay open, and may by permission", t.Permitted, count(t.Judged(), "verdict"))
	default:
		verdict = "Holds"
		rests = fmt.Sprintf("%s on %s", every(t.Pass), count(len(b.l.Sensors), "channel"))
	}
	if least := tightest(verdicts); least != nil && t.Fail == 0 {
		rests += fmt.Sprintf("; the least margin is %s, %s of %s", least.marginWords(), least.Rule, least.object())
	}
	if t.Fail > 0 || t.Undecided > 0 {
		add(t.Permitted, "is permitted", "are permitted")
	}
	add(t.Noted, "is noted", "are noted")
	if len(more) > 0 {
		rests += "; " + word.And(more)
	}
	return verdict, rests
}

// every names all of a number of verdicts.
func every(n int) string {
	if n == 1 {
		return "the one verdict"
	}
	return fmt.Sprintf("all %d verdicts", n)
}

// failing says how much fails, on what, and the worst of it.
func (b *builder) failing(verdicts []Verdict) string {
	levels := map[finding.Level]int{}
	var worst *Verdict
	for i := range verdicts {
		if v := &verdicts[i]; v.Verdict == finding.Fail && !v.Noted() {
			levels[v.Level]++
			if worst == nil {
				worst = v
			}
		}
	}
	var parts []string
	for _, l := range []finding.Level{finding.Error, finding.Warning, finding.None} {
		noun := map[finding.Level]string{finding.None: "failure"}[l]
		if noun == "" {
			noun = l.String()
		}
		if levels[l] > 0 {
			parts = append(parts, count(levels[l], noun))
		}
	}
	text := word.And(parts) + " " + b.touched(verdicts, finding.Fail) + "; the worst is " + worst.Rule + " of " + worst.object()
	if worst.Margin != "" {
		text += ", which misses its limit by " + strings.TrimPrefix(worst.Margin, "-")
		if strings.HasSuffix(worst.MarginAmount, "A") {
			text += " (" + strings.TrimPrefix(worst.MarginAmount, "-") + ")"
		}
	}
	return text
}

// touched says on how many channels, and whether on anything else, a verdict stands.
func (b *builder) touched(verdicts []Verdict, kind finding.Verdict) string {
	on := map[string]bool{}
	for i := range verdicts {
		if v := &verdicts[i]; v.Verdict == kind && !v.Noted() {
			on[v.Channel] = true
		}
	}
	rest := on[""]
	delete(on, "")
	var text string
	switch n, all := len(on), len(b.l.Sensors); {
	case n == 0:
		return "on other parts than channels"
	case n == all && all > 1:
		text = fmt.Sprintf("on all %d channels", all)
	case all == 1:
		text = "on the one channel"
	default:
		text = fmt.Sprintf("on %d of %d channels", n, all)
	}
	if rest {
		text += " and other parts"
	}
	return text
}

// tightest returns the passing verdict with the least margin; nil where none has one.
func tightest(verdicts []Verdict) *Verdict {
	var out *Verdict
	for i := range verdicts {
		v := &verdicts[i]
		if v.Verdict != finding.Pass || math.IsNaN(v.MarginShare) {
			continue
		}
		if out == nil || v.MarginShare < out.MarginShare {
			out = v
		}
	}
	return out
}

// marginWords is the margin with what it is in amperes, where it is something.
func (v *Verdict) marginWords() string {
	if strings.HasSuffix(v.MarginAmount, "A") {
		return v.Margin + " (" + v.MarginAmount + ")"
	}
	return v.Margin
}

// object names what v is about.
func (v *Verdict) object() string {
	if v.Object == "" {
		return "the layout"
	}
	return v.Object
}
