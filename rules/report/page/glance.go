package page

import (
	"fmt"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/word"
	"busgauss/rules/audit"
)

// glanceView is the first screen beside what the page itself holds.
type glanceView struct {
	Class, Sign  string
	Many         bool // more channels than stand beside the section
	Tables       []matrixView
	ChangesTitle string
	NoChange     string
	More         string
}

// matrixView is the matrix, or a part of its columns.
type matrixView struct {
	Caption string
	Head    []string
	Rows    []matrixRow
}

type matrixRow struct {
	Rule, Title string
	Cells       []matrixCell
}

type matrixCell struct {
	Class, Sign, Share, Amount string
	Label, Href, Say           string
}

const (
	mostBeside = 6  // columns of a matrix beside the section
	mostWide   = 12 // columns of one table
)

func glanceOf(p *audit.Page) glanceView {
	t := &p.Glance.Tally
	v := glanceView{NoChange: "Nothing needs one."}
	v.Class, v.Sign = outcome(*t, 0)
	m := &p.Glance.Matrix
	head := append([]string{}, m.Columns...)
	if m.Rest {
		head = append(head, audit.RestColumn)
	}
	v.Many = len(head) > mostBeside
	for from := 0; from < len(head) && len(m.Rows) > 0; from += mostWide {
		v.Tables = append(v.Tables, matrixOf(p, head, from, min(from+mostWide, len(head))))
	}
	v.ChangesTitle = "Changes"
	switch n := len(p.Glance.Changes); {
	case n == 1:
		v.ChangesTitle = "The change that clears most"
	case n > 1:
		v.ChangesTitle = fmt.Sprintf("The %s changes that clear most", [...]string{"two", "three"}[n-2])
	}
	if t.Fail+t.Undecided > 0 {
		v.NoChange = "No rule knows one; each finding says why."
	}
	if more := p.Glance.Offered - len(p.Glance.Changes); more > 0 {
		v.More = fmt.Sprintf("%d more at the findings below.", more)
	}
	return v
}

// outcome returns class and sign of all verdicts together; broken layouts fail.
func outcome(t audit.Tally, broken int) (class, sign string) {
	worst := finding.Pass
	switch {
	case t.Fail > 0 || broken > 0:
		worst = finding.Fail
	case t.Undecided > 0 || t.Judged() == 0:
		worst = finding.Undecided
	case t.Permitted > 0:
		worst = finding.Permitted
	}
	return classOf(worst), signOf(worst)
}

// matrixOf is the matrix of the columns from, to before end.
func matrixOf(p *audit.Page, head []string, from, end int) matrixView {
	m := &p.Glance.Matrix
	v := matrixView{Caption: "Worst margin of each rule on each channel", Head: head[from:end]}
	if end-from < len(head) {
		v.Caption += fmt.Sprintf(", %s to %s", head[from], head[end-1])
	}
	for i := range m.Rows {
		r := &m.Rows[i]
		row := matrixRow{Rule: r.Rule, Title: r.Title}
		for k := from; k < end; k++ {
			row.Cells = append(row.Cells, cellOf(p, &r.Cells[k], head[k]))
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

func cellOf(p *audit.Page, c *audit.MatrixCell, label string) matrixCell {
	out := matrixCell{Class: "none", Label: label}
	if c.Verdict < 0 {
		return out
	}
	v := &p.Verdicts[c.Verdict]
	out.Class, out.Sign = classAndSign(v)
	out.Share, out.Amount = v.Margin, v.MarginAmount
	if out.Share == "" {
		out.Share = wordOf(v)
	}
	if out.Amount == "" {
		out.Amount = out.Share
	}
	out.Href = fmt.Sprintf("#verdict-%d", c.Verdict)
	out.Say = v.Rule + ", " + v.About
	if c.Count > 1 {
		out.Say += fmt.Sprintf("; the worst of %d", c.Count)
	}
	return out
}

// classAndSign returns the class and the sign of a verdict; a note has its own.
func classAndSign(v *audit.Verdict) (class, sign string) {
	if v.Noted() {
		return "noted", "•"
	}
	return classOf(v.Verdict), signOf(v.Verdict)
}

// wordOf is what stands in a cell without a margin.
func wordOf(v *audit.Verdict) string {
	switch {
	case v.Noted():
		return "noted"
	case v.Verdict == finding.Pass:
		return "holds"
	case v.Verdict == finding.Fail:
		return "fails"
	case v.Verdict == finding.Permitted:
		return "permitted"
	}
	return "open"
}

// clears says what a change clears: "5 findings: stray-ratio of SU, SV and SW; placement of SU".
func clears(c audit.Change) string {
	objects := map[string][]string{}
	var order []string
	for _, name := range c.Clears {
		rule, object, ok := strings.Cut(name, " of ")
		if !ok {
			rule, object = name, ""
		}
		if _, seen := objects[rule]; !seen {
			order = append(order, rule)
		}
		objects[rule] = append(objects[rule], object)
	}
	var parts []string
	for _, rule := range order {
		text := rule
		if list := strings.Join(objects[rule], ""); list != "" {
			text += " of " + word.And(objects[rule])
		}
		parts = append(parts, text)
	}
	noun := "findings"
	if len(c.Clears) == 1 {
		noun = "finding"
	}
	return fmt.Sprintf("%d %s: %s.", len(c.Clears), noun, strings.Join(parts, "; "))
}
