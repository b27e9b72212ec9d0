package page

import (
	"fmt"
	"io"
	"strings"

	"busgauss/model/finding"
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

func (m *mark) cover(c *audit.Cover, path bool) {
	rows := [][]string{}
	add := func(name, value string) {
		if value != "" {
			rows = append(rows, []string{name, value})
		}
	}
	if path {
		add("layout", c.Path)
		add("digest (SHA-256)", c.Digest)
	}
	add("revision", c.Revision)
	standard := c.Standard
	if standard == "" {
		standard = "none; default limits"
	}
	add("house standard", standard)
	add("made with", c.Tool)
	add("date", c.Date)
	m.table([]string{"cover", ""}, rows)
	m.line("Safety. " + audit.Caution)
}

// WriteMarkdown writes p as Markdown, without its drawings, and returns the first
// error.
func WriteMarkdown(w io.Writer, p *audit.Page) error {
	var m mark
	title := p.Cover.Title
	if title == "" {
		title = p.Cover.Path
	}
	m.head(1, "Audit: "+title)
	m.cover(&p.Cover, true)
	m.line(summary(p))
	m.head(2, "Verdicts")
	var rows, not [][]string
	for i := range p.Verdicts {
		v := &p.Verdicts[i]
		if v.Verdict == finding.NotApplicable {
			not = append(not, []string{v.About, v.Rule, v.Message})
			continue
		}
		says := v.Message
		if v.Remedy != "" {
			says += "; try: " + v.Remedy
		}
		if v.Permission != "" {
			says += "; permitted: " + v.Permission
		}
		rows = append(rows, []string{signOf(v.Verdict) + " " + v.Verdict.String(), v.About, v.Rule, v.Value, v.Limit, v.Margin, v.Certainty, v.Amperes, v.Percent, says})
	}
	m.table([]string{"verdict", "object", "rule", "value", "limit", "margin", "certainty", "in amperes", "in per cent", "what"}, rows)
	if len(not) > 0 {
		m.head(3, "Not applicable")
		m.table([]string{"object", "rule", "why"}, not)
	}
	m.head(2, "Assumed values")
	rows = nil
	for _, a := range p.Assumed {
		rows = append(rows, []string{a.Object, a.Text, fmt.Sprint(a.Line)})
	}
	m.table([]string{"object", "assumed", "line"}, rows)
	m.head(2, "What the model does not see")
	rows = nil
	for _, n := range p.NotSeen {
		rows = append(rows, []string{n.Rule, n.Text})
	}
	m.table([]string{"rule", "not seen"}, rows)
	m.frames(p)
	for i := range p.Channels {
		m.channel(&p.Channels[i])
	}
	m.shields(p)
	m.head(2, "Sources")
	rows = nil
	for _, s := range p.Sources {
		rows = append(rows, []string{s.For, s.Text})
	}
	m.table([]string{"for", "source"}, rows)
	_, err := io.WriteString(w, m.b.String())
	return err
}

func (m *mark) frames(p *audit.Page) {
	m.head(2, "Sensors in each duty")
	for i := range p.Section.Frames {
		f := &p.Section.Frames[i]
		m.head(3, frameName(f))
		if f.Undecided != "" {
			m.line("The field is not known: " + f.Undecided)
			continue
		}
		m.line(f.Method)
		if f.Currents != "" {
			m.line(f.Currents)
		}
		var rows [][]string
		for k := range f.Rows {
			r := rowOf(&f.Rows[k])
			if r.Unsaid != "" {
				rows = append(rows, []string{r.Sensor, r.Bar, "not known: " + r.Unsaid, "", "", "", "", "", ""})
				continue
			}
			rows = append(rows, []string{r.Sensor, r.Bar, r.Axis, r.Phase, r.PerAmpere, r.Own, r.Stray, r.Largest, r.Certainty})
		}
		m.table([]string{"sensor", "reads", "on its axis, peak", "phase", "own field per ampere", "own current, peak",
			"stray", "largest of the others", "certainty of its field"}, rows)
	}
}

func (m *mark) facts(list []audit.Fact) {
	var rows [][]string
	for _, f := range list {
		rows = append(rows, []string{f.Name, f.Value})
	}
	m.table([]string{"", ""}, rows)
}

func (m *mark) channel(c *audit.Channel) {
	m.head(2, "Channel "+c.Sensor)
	m.facts(c.Facts)
	var rows [][]string
	for _, h := range c.Hand {
		rows = append(rows, []string{h.Name, h.Formula, h.Numbers, h.Result, h.Against, h.Reason})
	}
	if len(rows) > 0 {
		m.head(3, "Estimate by hand")
		m.table([]string{"way", "formula", "numbers", "result", "against computed", "why they differ"}, rows)
	}
	rows = nil
	for _, s := range c.Worked {
		rows = append(rows, []string{s.What, s.Formula, s.Numbers, s.Result, s.Source})
	}
	if len(rows) > 0 {
		m.head(3, "Worked calculation")
		m.table([]string{"step", "formula", "numbers", "result", "source"}, rows)
	}
	for i := range c.Curves {
		v := &c.Curves[i]
		if len(v.Rows) > 0 {
			m.head(3, v.Name)
			m.line(v.Text)
			m.table(v.Head, v.Rows)
		}
	}
	if c.Ranked != nil {
		m.head(3, "Uncertainty")
		m.line(c.Ranked.Text)
		rows = nil
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
	m.head(2, "Shields")
	for i := range p.Shields {
		s := &p.Shields[i]
		m.head(3, s.Name+", of "+s.Material)
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
	m.cover(&x.Cover, false)
	m.head(2, "Layouts")
	m.b.WriteString("| layout | title | fail | undecided | permitted | pass | smallest margin |\n|" + strings.Repeat(" --- |", 7) + "\n")
	for i := range x.Entries {
		e := &x.Entries[i]
		if e.Broken != "" {
			fmt.Fprintf(&m.b, "| %s | it cannot be understood: %s | | | | | |\n", cell(e.Path), cell(e.Broken))
			continue
		}
		fmt.Fprintf(&m.b, "| [%s](%s) | %s | %d | %d | %d | %d | %s |\n", cell(e.Path), e.Href, cell(e.Title), e.Fail, e.Undecided, e.Permitted, e.Pass, cell(e.Smallest))
	}
	m.b.WriteString("\n")
	m.head(2, "Margins")
	head := []string{"rule"}
	for i := range x.Entries {
		head = append(head, x.Entries[i].Path)
	}
	var rows [][]string
	for _, rule := range x.rules() {
		row := []string{rule}
		for i := range x.Entries {
			r := x.Entries[i].of(rule)
			text := r.text()
			if r.Verdict != 0 {
				text = signOf(r.Verdict) + " " + text
			}
			row = append(row, text)
		}
		rows = append(rows, row)
	}
	m.table(head, rows)
	_, err := io.WriteString(w, m.b.String())
	return err
}
