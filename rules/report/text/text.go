// Package text writes the outcome of a run for people, in the form of the GNU
// coding standards ("Formatting Error Messages"): one line a finding,
//
//	path:line:col: level: message [rule]
//
// with indented lines after it for what helps to act on it. Columns count code
// points. The meaning never hangs on colour alone.
//
// On a terminal the same is written for eyes: wrapped, with the line of the file and a
// mark under the token, and what is so of several objects said once.
package text

import (
	"bytes"
	"fmt"
	"io"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Options chooses how much is written. The zero value writes every finding with
// its remedy and a closing summary, without colour.
type Options struct {
	Color bool // emphasis by terminal colour sequences

	// Detail adds to each finding its number, limit and origin, what it is
	// about, the related places and the table behind the number, which passed
	// checks have too, and lists every assumed default.
	Detail bool

	// Passes adds every finding that is permitted, with what permits it, and every
	// check that passed or did not apply.
	Passes bool

	// Quiet writes the lines of findings alone, one a finding: no remedy, no
	// detail, no passes, no summary.
	Quiet bool

	// Width is how many columns the terminal has that the report is for; 0: it is for a
	// file, a pipe or a log, where each finding is one line. Quiet takes no part in it.
	Width int

	// DetailFlag is what a user types to get Detail, such as "--verbose". The
	// summary names it beside the count of assumed defaults; empty: no hint.
	DetailFlag string
}

// Write writes r to w and returns the first error. All of it goes out in one
// piece, so that a report is whole or its loss is reported.
func Write(w io.Writer, r *report.Result, o Options) error {
	if o.Quiet {
		o.Detail, o.Passes, o.Width = false, false, 0
	}
	p := printer{tool: r.Tool.Name, options: o, style: newStyle(o.Color), files: r.Files, lines: map[string][]string{}}
	if !o.Quiet {
		p.mostClearing(r)
	}
	p.findings(r.Findings)
	if o.Detail && !o.Passes {
		// A table is worth its place whatever the verdict.
		for f := range r.Each(finding.Pass) {
			if len(f.Details) > 0 {
				p.pass(f)
			}
		}
	}
	if o.Passes {
		for i := range r.Permitted {
			p.permitted(&r.Permitted[i])
		}
		for _, v := range []finding.Verdict{finding.Pass, finding.NotApplicable} {
			for f := range r.Each(v) {
				p.pass(f)
			}
		}
	}
	if o.Detail {
		for i := range r.Assumed {
			p.assumed(&r.Assumed[i])
		}
	}
	if !o.Quiet {
		p.summary(r)
	}
	_, err := p.out.WriteTo(w)
	return err
}

// printer collects the lines of one report.
type printer struct {
	out     bytes.Buffer
	tool    string
	options Options
	style   style
	files   []report.File
	lines   map[string][]string // of the files that were shown from
}

func (p *printer) findings(list []finding.Finding) {
	if p.options.Width <= 0 {
		for i := range list {
			p.finding(&list[i])
		}
		return
	}
	shown, alike := grouped(list)
	if p.options.Detail { // each has numbers of its own
		shown, alike = nil, nil
		for i := range list {
			shown = append(shown, &list[i])
		}
	}
	for _, f := range shown {
		p.terminalFinding(f, alike[f])
		p.about(f)
		for _, other := range alike[f] {
			p.about(other)
		}
		p.out.WriteString("\n")
	}
}

func (p *printer) finding(f *finding.Finding) {
	fmt.Fprintf(&p.out, "%s: %s: ", p.style.path.Sprint(report.PlaceText(f.Span, p.tool)), p.style.level(f.Level).Sprint(f.Level))
	if f.Verdict != finding.Fail {
		fmt.Fprintf(&p.out, "%s: ", p.style.verdict(f.Verdict).Sprint(f.Verdict))
	}
	fmt.Fprintf(&p.out, "%s [%s]\n", report.Line(f.Message), report.Line(f.Rule))
	if p.options.Quiet {
		return
	}
	if f.Remedy != "" {
		p.detail("try", report.Line(f.Remedy))
	}
	p.about(f)
}

// about writes under a finding what is always shown, and what Detail adds.
func (p *printer) about(f *finding.Finding) {
	if !p.options.Detail {
		for i := range f.Related {
			if f.Related[i].Always {
				p.see(&f.Related[i])
			}
		}
		return
	}
	if about := report.About(f); about != "" {
		p.detail("about", about)
	}
	if f.Measure != nil {
		p.detail("number", report.Numbers(*f.Measure))
	}
	for i := range f.Related {
		p.see(&f.Related[i])
	}
	p.table(f)
}

func (p *printer) see(r *finding.Related) {
	p.detail("see", report.PlaceText(r.Span, p.tool)+": "+report.Line(r.Message))
}

// mostToldChanges is how many changes the report opens with.
const mostToldChanges = 3

// mostClearing opens the report with the changes that clear most.
func (p *printer) mostClearing(r *report.Result) {
	for _, c := range report.MostClearing(r.Findings, mostToldChanges) {
		fmt.Fprintf(&p.out, "one change clears %s of %s: %s\n", report.Count(c.Clears, "finding"), report.Line(c.Of.Span.File),
			report.Line(c.Change.Title))
	}
}

// table writes the lines behind a number as they stand, columns and all. The bar
// in front keeps a line from reading as a command of a build host.
func (p *printer) table(f *finding.Finding) {
	for _, line := range f.Details {
		fmt.Fprintf(&p.out, "  | %s\n", report.Line(line))
	}
}

func (p *printer) permitted(one *report.Permission) {
	f := &one.Finding
	text := report.Line(f.Message)
	if text == "" {
		text = report.About(f)
	}
	fmt.Fprintf(&p.out, "%s: %s: %s (%s) [%s]\n", p.style.path.Sprint(report.PlaceText(f.Span, p.tool)), p.style.verdict(finding.Permitted).Sprint(finding.Permitted),
		text, one.Words(), report.Line(f.Rule))
	if !p.options.Detail {
		return
	}
	if f.Measure != nil {
		p.detail("number", report.Numbers(*f.Measure))
	}
	if one.Span.Valid() {
		p.detail("see", report.PlaceText(one.Span, p.tool)+": it is permitted here")
	}
	p.table(f)
}

func (p *printer) pass(f *finding.Finding) {
	fmt.Fprintf(&p.out, "%s: %s: ", p.style.path.Sprint(report.PlaceText(f.Span, p.tool)), p.style.verdict(f.Verdict).Sprint(f.Verdict))
	text := report.Line(f.Message)
	if text == "" {
		text = report.About(f)
	}
	if text != "" && f.Measure != nil {
		text += ". Number: "
	}
	if f.Measure != nil {
		text += report.Numbers(*f.Measure)
	}
	fmt.Fprintf(&p.out, "%s [%s]\n", text, report.Line(f.Rule))
	if p.options.Detail {
		p.table(f)
	}
}

func (p *printer) assumed(a *finding.Assumption) {
	fmt.Fprintf(&p.out, "%s: assumed: ", p.style.path.Sprint(report.PlaceText(a.Span, p.tool)))
	if a.Object != "" {
		fmt.Fprintf(&p.out, "%s: ", report.Line(a.Object))
	}
	fmt.Fprintf(&p.out, "%s\n", report.Line(a.Text))
}

// detail writes one indented line under a finding.
func (p *printer) detail(label, text string) {
	fmt.Fprintf(&p.out, "  %s: %s\n", label, text)
}
