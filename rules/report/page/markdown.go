package page

import (
	"fmt"
	"io"
	"strings"

	"busgauss/rules/audit"
	"busgauss/rules/report"
)

// mark collects Markdown.
type mark struct{ b strings.Builder }

// cell makes text fit for a cell of a table and for a line: what Markdown or HTML
// would read as markup stands for itself.
func cell(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`,
		"`", "\\`", "[", `\[`, "]", `\]`, "~", `\~`, "#", `\#`).Replace(report.Line(s))
}

func (m *mark) head(level int, text string) {
	fmt.Fprintf(&m.b, "%s %s\n\n", strings.Repeat("#", level), cell(text))
}

func (m *mark) line(text string) { fmt.Fprintf(&m.b, "%s\n\n", cell(text)) }

func (m *mark) table(head []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	write := func(row []string) {
		m.b.WriteString("|")
		for _, c := range row {
			m.b.WriteString(" " + cell(c) + " |")
		}
		m.b.WriteString("\n")
	}
	write(head)
	m.b.WriteString("|" + strings.Repeat(" --- |", len(head)) + "\n")
	for _, row := range rows {
		write(row)
	}
	m.b.WriteString("\n")
}

func (m *mark) cover(list []fact) {
	var rows [][]string
	for _, f := range list {
		rows = append(rows, []string{f.Name, f.Value})
	}
	m.table([]string{"cover", ""}, rows)
}

// lines writes a table of the page, where there is one, under a heading.
func (m *mark) lines(level int, head string, t *table) {
	if t == nil {
		return
	}
	if head != "" {
		m.head(level, head)
	}
	var rows [][]string
	for _, r := range t.Rows {
		rows = append(rows, r.Cells)
	}
	m.table(t.Head, rows)
}

// WriteMarkdown writes p as Markdown, without its drawings, and returns the first
// error.
func WriteMarkdown(w io.Writer, p *audit.Page) error {
	var m mark
	v, err := newView(cleaned(p))
	if err != nil {
		return err
	}
	title := p.Cover.Title
	if title == "" {
		title = p.Cover.Path
	}
	m.head(1, "Audit: "+title)
	m.line(v.Glance.Sign + " " + p.Glance.Verdict + ": " + p.Glance.Sentence + ".")
	m.line(v.Summary)
	m.glance(v)
	m.cover(v.Block)
	m.line("Safety. " + audit.Caution)
	for i := range v.Channels {
		c := &v.Channels[i]
		m.head(2, "Channel "+c.Sensor)
		m.facts(c.Facts)
		m.cards(c.Open)
	}
	if len(v.Rest) > 0 {
		m.head(2, "Other parts")
		m.cards(v.Rest)
	}
	m.lines(2, "Assumed values", v.Assumed)
	m.head(2, "This document")
	m.cover(v.Document)
	m.lines(3, "History", v.History)
	m.head(2, "Annex")
	m.holds(v)
	m.frames(v)
	for i := range v.Channels {
		m.calculation(&v.Channels[i])
	}
	m.shields(p)
	m.lines(3, "What the model does not see", v.NotSeen)
	m.lines(3, "Sources", v.Sources)
	_, err = io.WriteString(w, m.b.String())
	return err
}

// glance writes the matrix of margins and the changes that clear most.
func (m *mark) glance(v *view) {
	for _, t := range v.Glance.Tables {
		m.matrix(&t, func(c *matrixCell) string {
			if c.Amount != c.Share {
				return c.Share + ", " + c.Amount
			}
			return c.Share
		})
	}
	if len(v.Page.Glance.Changes) == 0 {
		return
	}
	m.head(2, v.Glance.ChangesTitle)
	for i, c := range v.Page.Glance.Changes {
		text := c.Title
		if c.Effect != "" {
			text += ": " + c.Effect
		}
		verb := "Meant for "
		if c.Proven {
			verb = "Clears "
		}
		fmt.Fprintf(&m.b, "%d. %s. %s\n", i+1, cell(text), cell(verb+clears(c)))
	}
	m.b.WriteString("\n")
}

// matrix writes a matrix with what text gives for a cell behind its sign.
func (m *mark) matrix(t *matrixView, text func(*matrixCell) string) {
	var rows [][]string
	for i := range t.Rows {
		row := []string{t.Rows[i].Rule}
		for k := range t.Rows[i].Cells {
			c := &t.Rows[i].Cells[k]
			row = append(row, strings.TrimSpace(c.Sign+" "+text(c)))
		}
		rows = append(rows, row)
	}
	m.table(append([]string{"worst margin"}, t.Head...), rows)
}

func (m *mark) cards(list []verdictView) {
	var rows [][]string
	for i := range list {
		v := &list[i]
		says := v.Message
		if v.Remedy != "" {
			says += "; try: " + v.Remedy
		}
		if v.Permission != "" {
			says += "; permitted: " + v.Permission
		}
		rows = append(rows, []string{v.Sign + " " + v.Word, v.Rule, v.About, v.Value, v.Limit, v.Margin, v.Certainty, v.Amperes, v.Percent, says})
	}
	m.table([]string{"verdict", "rule", "object", "value", "limit", "margin", "certainty", "in amperes", "in per cent", "what"}, rows)
}

func (m *mark) holds(v *view) {
	m.head(3, "What holds")
	var rows [][]string
	for i := range v.Holding {
		h := &v.Holding[i]
		rows = append(rows, []string{h.Sign + " " + h.Rule, h.About, h.Value, h.Limit, h.Margin, h.Certainty, h.Amperes})
	}
	m.table([]string{"rule", "object", "value", "limit", "margin", "certainty", "in amperes"}, rows)
	m.lines(4, "Without a number", v.Plain)
	m.lines(4, "Not applicable", v.NotAsked)
}

func (m *mark) frames(v *view) {
	m.head(3, "Sensors in each duty")
	for i := range v.Frames {
		f := &v.Frames[i]
		m.head(4, f.Name)
		if f.Undecided != "" {
			m.line("The field is not known: " + f.Undecided)
			continue
		}
		m.line(f.Method)
		if f.Currents != "" {
			m.line(f.Currents)
		}
		m.lines(0, "", f.Rows)
	}
}

func (m *mark) facts(list []audit.Fact) {
	var rows [][]string
	for _, f := range list {
		rows = append(rows, []string{f.Name, f.Value})
	}
	m.table([]string{"", ""}, rows)
}

func (m *mark) calculation(c *channelView) {
	m.head(3, "Channel "+c.Sensor+": calculation and uncertainty")
	m.lines(4, "Estimate by hand", c.HandTable)
	m.lines(4, "Worked calculation", c.WorkedTable)
	for i := range c.Curves {
		v := &c.Curves[i]
		if len(v.Rows) > 0 {
			m.head(4, v.Name)
			m.line(v.Text)
			m.table(v.Head, v.Rows)
		}
	}
	if c.Ranked != nil {
		m.head(4, "Uncertainty")
		m.line(c.Ranked.Text)
		var rows [][]string
		for _, it := range c.Ranked.Ranking.Items {
			rows = append(rows, []string{it.Name, it.Text})
		}
		m.table([]string{"contributor", "amount"}, rows)
	}
	if c.NoBudget != "" {
		m.line("No budget: " + c.NoBudget)
	}
}

func (m *mark) shields(p *audit.Page) {
	if len(p.Shields) == 0 {
		return
	}
	m.head(3, "Shields")
	for i := range p.Shields {
		s := &p.Shields[i]
		m.head(4, s.Name+", of "+s.Material)
		m.facts(s.Facts)
		if s.Text != "" {
			m.line(s.Text)
		}
		if s.Curve != nil {
			m.line(s.Curve.Text)
			m.table(s.Curve.Head, s.Curve.Rows)
		}
	}
}

// WriteIndexMarkdown writes an index as Markdown and returns the first error.
func WriteIndexMarkdown(w io.Writer, x *Index) error {
	var m mark
	title := x.Cover.Title
	if title == "" {
		title = "Audit of several layouts"
	}
	m.head(1, title)
	m.line(x.result())
	m.cover(append(block(&x.Cover), given(fact{Name: "Revision", Value: x.Cover.Revision}, fact{Name: "Made with", Value: x.Cover.Tool})...))
	m.line("Safety. " + audit.Caution)
	m.head(2, "Layouts")
	m.b.WriteString("| layout | title | outcome | fail | noted | undecided | permitted | pass | smallest margin |\n|" + strings.Repeat(" --- |", 9) + "\n")
	for i := range x.Entries {
		e := &x.Entries[i]
		if e.Broken != "" {
			fmt.Fprintf(&m.b, "| %s | it cannot be understood: %s | | | | | | | |\n", cell(e.Path), cell(e.Broken))
			continue
		}
		t := &e.Tally
		fmt.Fprintf(&m.b, "| [%s](%s) | %s | %s | %d | %d | %d | %d | %d | %s |\n", cell(e.Path), e.Href, cell(e.Title), e.Outcome,
			t.Fail, t.Noted, t.Undecided, t.Permitted, t.Pass, cell(e.Smallest))
	}
	t, pages := x.total()
	fmt.Fprintf(&m.b, "| all layouts | %s | | %d | %d | %d | %d | %d | |\n\n", report.Count(pages, "page"), t.Fail, t.Noted, t.Undecided, t.Permitted, t.Pass)
	m.head(2, "Margins")
	if n := len(x.Entries); n > 0 {
		all := x.matrix(0, n)
		m.matrix(&all, func(c *matrixCell) string { return c.Share })
	}
	_, err := io.WriteString(w, m.b.String())
	return err
}
