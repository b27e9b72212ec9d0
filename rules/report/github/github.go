// Package github writes findings as workflow commands, which a build host turns
// into annotations of the changed files. They need no permission, so they work
// for a branch of a stranger too.
//
// The host takes ten errors, ten warnings and ten notices of one step and drops
// the rest without a word, in the order they are printed. The worst therefore
// come first, and what goes beyond ten of a level is counted and then listed as
// plain lines, so that the log has everything.
package github

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Options has nothing to choose yet. The zero value is what there is.
type Options struct{}

// maxCommands is how many annotations of one level a host takes from one step.
const maxCommands = 10

// Longest texts, in code points: of an annotation's title, which the host's own
// interface for annotations documents as 255 (docs.github.com, REST API, check
// runs), and of its text, common practice: more than fits a screen helps nobody.
const (
	maxTitle = 255
	maxText  = 4000
)

// Write writes r to w and returns the first error. All of it goes out in one
// piece. Paths are relative to the root of the repository, as the host wants
// them. An undecided verdict is a warning. A finding without a level is a plain
// line: there is no annotation of no level.
func Write(w io.Writer, r *report.Result, _ Options) error {
	p := printer{tool: r.Tool.Name, paths: report.NewPaths(r.Files)}
	var rest []*finding.Finding
	var more []string
	for _, level := range []finding.Level{finding.Error, finding.Warning, finding.Note} {
		count := 0
		for i := range r.Findings {
			f := &r.Findings[i]
			if report.ShownLevel(f) != level {
				continue
			}
			if count++; count <= maxCommands {
				p.command(f, level)
			} else {
				rest = append(rest, f)
			}
		}
		if n := count - maxCommands; n > 0 {
			more = append(more, report.Count(n, "more "+level.String()))
		}
	}
	for i := range r.Findings {
		if report.ShownLevel(&r.Findings[i]) == finding.None {
			rest = append(rest, &r.Findings[i])
		}
	}
	if len(more) > 0 {
		fmt.Fprintf(&p.out, "%s: %s without an annotation, listed below\n", report.Line(r.Tool.Name), strings.Join(more, ", "))
	}
	for _, f := range rest {
		fmt.Fprintf(&p.out, "%s: %s: %s [%s]\n", report.PlaceText(f.Span, p.tool), report.ShownLevel(f), report.Message(f), report.Line(f.Rule))
	}
	fmt.Fprintf(&p.out, "%s: %s\n", report.Line(r.Tool.Name), report.Summary(r))
	_, err := p.out.WriteTo(w)
	return err
}

type printer struct {
	out   bytes.Buffer
	tool  string
	paths *report.Paths
}

// command writes one workflow command:
//
//	::error file=F,line=L,endLine=L,col=C,endColumn=C,title=T::TEXT
//
// The last column is the one of the last character, for a command without one
// marks the single character at col (github.com/actions/toolkit,
// docs/problem-matchers.md and commands). The host refuses columns that stand in
// different lines, so these are left out.
func (p *printer) command(f *finding.Finding, level finding.Level) {
	words := map[finding.Level]string{finding.Error: "error", finding.Warning: "warning", finding.Note: "notice"}
	var properties []string
	set := func(key, value string) { properties = append(properties, key+"="+property(value)) }
	if f.Span.File != "" {
		start, end := report.Place(f.Span)
		if end.Line > start.Line && end.Column == 1 { // the line end belongs to the line before
			end.Line, end.Column = end.Line-1, 0
		}
		set("file", p.paths.Root(f.Span.File))
		set("line", fmt.Sprint(start.Line))
		set("endLine", fmt.Sprint(end.Line))
		if end.Line == start.Line {
			set("col", fmt.Sprint(start.Column))
			set("endColumn", fmt.Sprint(max(start.Column, end.Column-1)))
		}
	}
	set("title", report.Shorten(p.tool+": "+report.Line(f.Rule), maxTitle))
	text := []string{report.Message(f)}
	if f.Remedy != "" {
		text = append(text, "try: "+report.Line(f.Remedy))
	}
	fmt.Fprintf(&p.out, "::%s %s::%s\n", words[level], strings.Join(properties, ","), data(report.Shorten(strings.Join(text, "\n"), maxText)))
}

// data escapes the text of a command, and property a property of it, as the
// host's own library does (github.com/actions/toolkit, packages/core,
// command.ts).
func data(s string) string {
	return strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A").Replace(s)
}

func property(s string) string {
	return strings.NewReplacer(":", "%3A", ",", "%2C").Replace(data(report.Line(s)))
}
