// Package markdown writes the outcome of a run as Markdown, for the summary that
// build hosts show of a step or a request.
//
// Text from files stands in tables of HTML, inside code elements: a block of HTML
// runs to the next empty line (CommonMark 0.31, section 4.6) and nothing in it is
// read as Markdown, and no host looks for mentions, links or emoji in code.
package markdown

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// Options chooses how much is written. The zero value is usable.
type Options struct {
	// Passes adds every check that passed or did not apply.
	Passes bool

	// Limit is the most bytes to write. Default: 1,000,000, for hosts refuse a
	// whole summary beyond 1 MiB.
	Limit int
}

const (
	defaultLimit = 1_000_000
	// reserve is kept for the heads and ends of five tables.
	reserve = 2000
	// maxText is the longest text of a cell in code points. Common practice.
	maxText = 2000
)

// Write writes r to w and returns the first error. All of it goes out in one
// piece. The worst findings come first; what would go beyond the limit is counted.
func Write(w io.Writer, r *report.Result, o Options) error {
	if o.Limit <= 0 {
		o.Limit = defaultLimit
	}
	p := printer{tool: r.Tool.Name, paths: report.NewPaths(r.Files), limit: o.Limit - reserve}
	fmt.Fprintf(&p.out, "### %s\n\n%s\n", escape(r.Tool.Name), report.Summary(r))
	var worst [][]string
	for _, level := range []finding.Level{finding.Error, finding.Warning, finding.Note, finding.None} {
		for i := range r.Findings {
			if f := &r.Findings[i]; report.ShownLevel(f) == level {
				worst = append(worst, p.finding(f))
			}
		}
	}
	p.table("", []string{"level", "place", "finding", "rule"}, worst)
	var permitted, passed, other, assumed [][]string
	for i := range r.Permitted {
		f := &r.Permitted[i].Finding
		permitted = append(permitted, []string{code(p.place(f.Span)), code(report.About(f)), code(r.Permitted[i].Words()), code(report.Line(f.Rule))})
	}
	p.table("permitted", []string{"place", "about", "permission", "rule"}, permitted)
	if o.Passes {
		for f := range r.Each(finding.Pass) {
			passed = append(passed, p.pass(f))
		}
		for f := range r.Each(finding.NotApplicable) {
			other = append(other, p.pass(f))
		}
	}
	p.table("passed", []string{"place", "about", "number", "rule"}, passed)
	p.table("not applicable", []string{"place", "about", "reason", "rule"}, other)
	for _, a := range r.Assumed {
		assumed = append(assumed, []string{code(p.place(a.Span)), code(report.Line(a.Object)), code(report.Line(a.Text))})
	}
	p.table("assumed defaults", []string{"place", "object", "default"}, assumed)
	_, err := p.out.WriteTo(w)
	return err
}

type printer struct {
	out   bytes.Buffer
	tool  string
	paths *report.Paths
	limit int
}

// table writes rows under a title that unfolds them; without a title they lie
// open. Rows beyond the limit are counted.
func (p *printer) table(title string, head []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	p.out.WriteString("\n")
	if title != "" {
		fmt.Fprintf(&p.out, "<details><summary>%d %s</summary>\n", len(rows), title)
	}
	p.out.WriteString("<table>\n<tr><th>" + strings.Join(head, "</th><th>") + "</th></tr>\n")
	left := 0
	for i, row := range rows {
		line := "<tr><td>" + strings.Join(row, "</td><td>") + "</td></tr>\n"
		if p.out.Len()+len(line) > p.limit {
			left = len(rows) - i
			break
		}
		p.out.WriteString(line)
	}
	p.out.WriteString("</table>\n")
	if left > 0 {
		fmt.Fprintf(&p.out, "<p>%d more in the log</p>\n", left)
	}
	if title != "" {
		p.out.WriteString("</details>\n")
	}
}

func (p *printer) finding(f *finding.Finding) []string {
	level := report.ShownLevel(f).String()
	text := code(report.Message(f))
	if f.Remedy != "" {
		text += "<br>try: " + code(report.Line(f.Remedy))
	}
	if f.Measure != nil {
		text += "<br>number: " + code(report.Numbers(*f.Measure))
	}
	text += lines(f.Details)
	return []string{level, code(p.place(f.Span)), text, code(report.Line(f.Rule))}
}

func (p *printer) pass(f *finding.Finding) []string {
	text := code(report.Line(f.Message))
	if f.Measure != nil {
		text = code(report.Numbers(*f.Measure))
	}
	text += lines(f.Details)
	return []string{code(p.place(f.Span)), code(report.About(f)), text, code(report.Line(f.Rule))}
}

// place returns path:line:column with the path relative to the root.
func (p *printer) place(s span.Span) string {
	if s.File != "" {
		s.File = p.paths.Root(s.File)
	}
	return report.PlaceText(s, p.tool)
}

// code returns text as a code element, empty where there is none.
func code(s string) string {
	if strings.TrimSpace(s) == "" {
		return ""
	}
	return "<code>" + escape(report.Shorten(s, maxText)) + "</code>"
}

// lines returns the lines of a table as they stand. The bar in front keeps a
// line from being empty, which would end the block, and from reading as a command
// of a build host.
func lines(list []string) string {
	if len(list) == 0 {
		return ""
	}
	out := make([]string, len(list))
	for i, line := range list {
		out[i] = "| " + escape(report.Shorten(report.Line(line), maxText))
	}
	return "<pre>" + strings.Join(out, "\n") + "</pre>"
}

// escape returns text that stands for itself in HTML. The two characters that
// are none become visible.
func escape(s string) string {
	return strings.NewReplacer("\ufffe", `\ufffe`, "\uffff", `\uffff`).Replace(html.EscapeString(s))
}
