package page

import (
	"fmt"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/audit"
)

// verdictView is a verdict as a card or as a row of what holds.
type verdictView struct {
	audit.Verdict
	Index                        int // in the page
	Class, Sign, Word, LevelText string
	Place                        string
}

// verdicts sorts the verdicts of the page into its parts; channels take their own.
func (v *view) verdicts() {
	plain := tableOf("Rules that ask yes or no, and hold", []int{18, 22, 60}, "Rule", "Object", "What was found")
	not := tableOf("Rules that do not ask about an object, and why", []int{18, 22, 60}, "Rule", "Object", "Why")
	for i := range v.Page.Verdicts {
		d := &v.Page.Verdicts[i]
		row := tableRow{ID: fmt.Sprintf("verdict-%d", i), Cells: []string{signOf(d.Verdict) + " " + d.Rule, orLayout(d.About), d.Message}}
		switch {
		case d.Verdict == finding.NotApplicable:
			row.Cells[0] = d.Rule
			not.Rows = append(not.Rows, row)
		case d.Verdict == finding.Pass && !d.Number:
			plain.Rows = append(plain.Rows, row)
		case d.Verdict == finding.Pass:
			v.Holding = append(v.Holding, verdictOf(d, i))
		case d.Channel == "":
			v.Rest = append(v.Rest, cardOf(d, i))
		}
	}
	v.Plain, v.NotAsked = plain.orNil(), not.orNil()
}

// openOn returns what fails, is open, noted or permitted on a channel, and how many verdicts hold.
func openOn(p *audit.Page, sensor string) (open []verdictView, holds int) {
	for i := range p.Verdicts {
		switch d := &p.Verdicts[i]; {
		case d.Channel != sensor || d.Verdict == finding.NotApplicable:
		case d.Verdict == finding.Pass:
			holds++
		default:
			open = append(open, cardOf(d, i))
		}
	}
	return open, holds
}

// summary counts the verdicts; what fails and is a note, on which nothing rests, apart.
func summary(p *audit.Page) string {
	t := audit.Count(p.Verdicts)
	text := fmt.Sprintf("%d failing, ", t.Fail)
	if t.Noted > 0 {
		text += fmt.Sprintf("%d noted, ", t.Noted)
	}
	return text + fmt.Sprintf("%d undecided, %d permitted, %d passed, %d not applicable", t.Undecided, t.Permitted, t.Pass, t.NotApplicable)
}

// classOf is the word of a verdict in class names and data attributes.
func classOf(v finding.Verdict) string {
	switch v {
	case finding.Pass:
		return "pass"
	case finding.Fail:
		return "fail"
	case finding.Permitted:
		return "permitted"
	case finding.NotApplicable:
		return "not-applicable"
	}
	return "undecided"
}

func signOf(v finding.Verdict) string {
	switch v {
	case finding.Pass:
		return "✓"
	case finding.Fail:
		return "✕"
	case finding.Permitted:
		return "(✓)"
	case finding.NotApplicable:
		return "–"
	}
	return "?"
}

func verdictOf(d *audit.Verdict, i int) verdictView {
	v := verdictView{Verdict: *d, Index: i, Word: d.Verdict.String(), Place: fmt.Sprintf("line %d, column %d", d.Line, d.Column)}
	v.Class, v.Sign = classAndSign(d)
	if d.Level != finding.None {
		v.LevelText = d.Level.String()
	}
	if d.Verdict == finding.Permitted {
		v.LevelText = "else " + d.Was.String() + levelAfter(d.Level)
	}
	v.About = orLayout(v.About)
	return v
}

// cardOf is a verdict as a card, on which "253 % of the range" says value and share at once.
func cardOf(d *audit.Verdict, i int) verdictView {
	v := verdictOf(d, i)
	if v.Percent != "" && strings.HasPrefix(v.Percent, v.Value) {
		v.Value, v.Percent = v.Percent, ""
	}
	return v
}

func levelAfter(l finding.Level) string {
	if l == finding.None {
		return ""
	}
	return ", " + l.String()
}
