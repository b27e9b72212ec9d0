package text

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// clean makes text from a file fit to stand in a line: what cannot be seen is
// made visible, and no two number signs stay together, because build hosts take
// "##[" and "##vso[" for commands wherever they stand in a line
// (github.com/actions/runner, ActionCommand.cs).
func clean(s string) string {
	s = finding.Clean(s)
	for strings.Contains(s, "##") {
		s = strings.ReplaceAll(s, "##", `#\#`)
	}
	return s
}

// place returns path:line:column for the start of a line. A line that begins
// with "::" after blanks is a command to some build hosts, so such a path gets
// "./" in front, which names the same file. Without a path the name of the tool
// stands there, as the GNU coding standards ask.
func place(s span.Span, tool string) string {
	if s.File == "" {
		return tool
	}
	path := clean(s.File)
	if strings.HasPrefix(strings.TrimLeftFunc(path, unicode.IsSpace), "::") {
		path = "./" + path
	}
	start, _ := report.Place(s)
	return fmt.Sprintf("%s:%d:%d", path, start.Line, start.Column)
}

// about says which objects a finding is about and what sets it apart:
// "SV with U, W, duty peak".
func about(f *finding.Finding) string {
	text := clean(f.Object)
	if len(f.Others) > 0 {
		if text != "" {
			text += " "
		}
		names := make([]string, len(f.Others))
		for i, name := range f.Others {
			names[i] = clean(name)
		}
		text += "with " + strings.Join(names, ", ")
	}
	if f.Cause != "" {
		if text != "" {
			text += "; "
		}
		text += clean(f.Cause)
	}
	return text
}

// number returns value, limit, margin and certainty in words. Where the margin
// of a zero limit is no share, it is left out: value and limit say it.
func number(m finding.Measure) string {
	unit := clean(m.Unit)
	bound := "at most"
	if m.AtLeast {
		bound = "at least"
	}
	value := "no value" // NaN is what could not be computed
	if !math.IsNaN(m.Value) {
		value = si.Format(m.Value, unit)
	}
	text := fmt.Sprintf("%s, limit %s %s", value, bound, si.Format(m.Limit, unit))
	if m.Origin != "" {
		text += " (" + clean(m.Origin) + ")"
	}
	if margin := report.Number(m.Margin()); margin != nil && m.Limit != 0 {
		text += ", margin " + si.Percent(*margin)
	}
	if certainty := report.Number(m.Certainty); certainty != nil {
		return text + ", certain to ±" + si.Percent(*certainty)
	}
	return text + ", certainty not known"
}
