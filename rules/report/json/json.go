// Package json writes the outcome of a run for other programs, in the format
// that check.schema.json describes. Fields are only ever added under one format
// number; readers pass over the ones they do not know.
//
// Names and paths come out exactly as they were read. Messages, remedies and
// other text for people are cleaned of characters that would move a terminal
// once a reader prints them. Numbers have at most six significant digits and are
// null where there is none, or none that is finite.
package json

import (
	_ "embed"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// Schema is the published JSON Schema of the format. Callers must not change it.
//
//go:embed check.schema.json
var Schema []byte

// Format is the number of the format that Write writes.
const Format = 1

// Options has nothing to choose yet. The zero value is what there is.
type Options struct{}

// Write writes r to w, entry by entry, for a report of thousands of layouts is large, and returns the first error.
func Write(w io.Writer, r *report.Result, _ Options) error {
	s := report.NewJSONStream(w)
	s.Value("format", Format)
	s.List("findings", func(add func(any)) {
		for i := range r.Findings {
			add(newEntry(&r.Findings[i]))
		}
	})
	s.List("permitted", func(add func(any)) {
		for i := range r.Permitted {
			add(newPermission(&r.Permitted[i]))
		}
	})
	s.List("passed", func(add func(any)) {
		for f := range r.Each(finding.Pass) {
			add(newEntry(f))
		}
	})
	s.List("not_applicable", func(add func(any)) {
		for f := range r.Each(finding.NotApplicable) {
			add(newEntry(f))
		}
	})
	s.List("assumed", func(add func(any)) {
		for i := range r.Assumed {
			add(newAssumption(&r.Assumed[i]))
		}
	})
	return s.End()
}

// entry is one verdict of one rule on one object. Every field is always there.
type entry struct {
	Rule        string    `json:"rule"`
	Verdict     string    `json:"verdict"`
	Level       string    `json:"level"`
	Object      string    `json:"object"`
	Others      []string  `json:"others"`
	Cause       string    `json:"cause"`
	Value       *float64  `json:"value"`
	Limit       *float64  `json:"limit"`
	AtLeast     bool      `json:"at_least"`
	Unit        string    `json:"unit"`
	Margin      *float64  `json:"margin"`
	Certainty   *float64  `json:"certainty"`
	LimitOrigin string    `json:"limit_origin"`
	place                 // path, line, column, end_line, end_column
	Message     string    `json:"message"`
	Remedy      string    `json:"remedy"`
	Related     []related `json:"related"`
	Details     []string  `json:"details"` // lines of a table, in columns
	Changes     []change  `json:"changes"` // what may be done to the file
}

// change is one way to mend a finding: all its edits together.
type change struct {
	Title  string   `json:"title"`
	Effect string   `json:"effect"`
	Clears []string `json:"clears"` // other findings that it clears too
	Slip   bool     `json:"slip"`   // a slip of writing, which alters nothing else
	Edits  []edit   `json:"edits"`
}

// edit puts a text in the place of what stands from line and column up to, not including, the end.
type edit struct {
	place
	Text string `json:"text"`
}

// permission is a finding that may stand. Verdict is permitted; was and
// was_level are verdict and level without the permission.
type permission struct {
	entry
	Was      string `json:"was"`
	WasLevel string `json:"was_level"`
	Reason   string `json:"reason"`
	Until    string `json:"until"` // year-month-day; empty for a baseline
	Approver string `json:"approver"`
	Ticket   string `json:"ticket"`
	Baseline bool   `json:"baseline"`
	By       place  `json:"permitted_at"`
}

type place struct {
	Path      string `json:"path"`
	Line      int    `json:"line"`
	Column    int    `json:"column"`
	EndLine   int    `json:"end_line"`
	EndColumn int    `json:"end_column"`
}

type related struct {
	place
	Message string `json:"message"`
}

type assumption struct {
	Object string `json:"object"`
	place
	Text string `json:"text"`
}

func newPermission(p *report.Permission) permission {
	one := permission{
		entry: newEntry(&p.Finding), Was: p.Was.String(), WasLevel: p.Level.String(), Reason: finding.Clean(p.Reason),
		Approver: finding.Clean(p.By), Ticket: finding.Clean(p.Ticket), Baseline: p.Baseline, By: placeOf(p.Span),
	}
	one.Verdict = finding.Permitted.String()
	if p.Was == 0 {
		one.Was = finding.Fail.String()
	}
	if p.Until > 0 {
		one.Until = p.Until.String()
	}
	return one
}

func newEntry(f *finding.Finding) entry {
	e := entry{
		Rule:    f.Rule,
		Verdict: f.Verdict.String(),
		Level:   f.Level.String(),
		Object:  f.Object,
		Others:  append([]string{}, f.Others...),
		Cause:   f.Cause,
		place:   placeOf(f.Span),
		Message: finding.Clean(f.Message),
		Remedy:  finding.Clean(f.Remedy),
		Related: make([]related, 0, len(f.Related)),
		Details: make([]string, 0, len(f.Details)),
		Changes: make([]change, 0, len(f.Changes)),
	}
	for _, c := range f.Changes {
		one := change{Title: finding.Clean(c.Title), Effect: finding.Clean(strings.TrimPrefix(c.Effect, "; ")), Slip: c.Safe,
			Clears: append([]string{}, c.Clears...), Edits: make([]edit, 0, len(c.Edits))}
		for _, e := range c.Edits {
			one.Edits = append(one.Edits, edit{placeOf(e.Span), e.Text})
		}
		e.Changes = append(e.Changes, one)
	}
	if m := f.Measure; m != nil {
		e.Value, e.Limit, e.AtLeast, e.Unit = report.Number(m.Value), report.Number(m.Limit), m.AtLeast, m.Unit
		e.Margin, e.Certainty = report.Number(m.Margin()), report.Number(m.Certainty)
		e.LimitOrigin = finding.Clean(m.Origin)
	}
	for _, r := range f.Related {
		e.Related = append(e.Related, related{place: placeOf(r.Span), Message: finding.Clean(r.Message)})
	}
	for _, line := range f.Details {
		e.Details = append(e.Details, finding.Clean(line))
	}
	return e
}

func newAssumption(a *finding.Assumption) assumption {
	return assumption{Object: a.Object, place: placeOf(a.Span), Text: finding.Clean(a.Text)}
}

func placeOf(s span.Span) place {
	start, end := report.Place(s)
	return place{Path: s.File, Line: start.Line, Column: start.Column, EndLine: end.Line, EndColumn: end.Column}
}
