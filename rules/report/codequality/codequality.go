// Package codequality writes findings as the code quality report of a host, a
// JSON array with the fields that its documentation asks for (gitlabhq/gitlabhq,
// doc/ci/testing/code_quality.md, "Code Quality report format").
//
// The host says nothing when it cannot use an entry: one without a severity it
// knows is dropped, and of entries with equal fingerprints one is kept. Every
// entry therefore has every field, and no two fingerprints are equal.
package codequality

import (
	"io"
	"strconv"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Options has nothing to choose yet. The zero value is what there is.
type Options struct{}

// maxText is the longest description in code points. Common practice: the host
// shows it in one line.
const maxText = 1000

// Write writes r to w and returns the first error. Permitted findings stay out:
// the host would show them as open.
func Write(w io.Writer, r *report.Result, _ Options) error {
	paths := report.NewPaths(r.Files)
	seen := map[[2]string]int{}
	out := make([]entry, 0, len(r.Findings)) // never null
	for i := range r.Findings {
		f := &r.Findings[i]
		path, id := paths.Root(f.Span.File), report.Identity(f)
		seen[[2]string{path, id}]++
		start, _ := report.Place(f.Span)
		text := report.Message(f)
		if f.Remedy != "" {
			text += ". Try: " + report.Line(f.Remedy)
		}
		out = append(out, entry{
			Description: report.Shorten(text, maxText),
			CheckName:   report.Line(f.Rule),
			Fingerprint: report.Digest("1", path, id, strconv.Itoa(seen[[2]string{path, id}])),
			Severity:    severity(f),
			Location:    location{Path: path, Lines: lines{Begin: start.Line}},
		})
	}
	return report.EncodeJSON(w, out)
}

type entry struct {
	Description string   `json:"description"`
	CheckName   string   `json:"check_name"`
	Fingerprint string   `json:"fingerprint"`
	Severity    string   `json:"severity"`
	Location    location `json:"location"`
}

type location struct {
	Path  string `json:"path"` // relative to the root, without "./"
	Lines lines  `json:"lines"`
}

type lines struct {
	Begin int `json:"begin"`
}

// severity returns one of the host's five words. Its highest, blocker, is never
// used: whether a finding blocks is for the house standard to say.
func severity(f *finding.Finding) string {
	switch report.ShownLevel(f) {
	case finding.Error:
		return "critical"
	case finding.Warning:
		return "major"
	case finding.Note:
		return "minor"
	}
	return "info"
}
