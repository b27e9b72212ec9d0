package report

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/model/span"
)

// Line makes text from a file fit to stand in a line: see finding.Line.
func Line(s string) string { return finding.Line(s) }

// PlaceText returns path:line:column for the start of a line. A line that begins
// with "::" after blanks is a command to some build hosts, so such a path gets
// "./" in front, which names the same file. Without a path the name of the tool
// stands there, as the GNU coding standards ask.
func PlaceText(s span.Span, tool string) string {
	if s.File == "" {
		return tool
	}
	path := Line(s.File)
	if strings.HasPrefix(strings.TrimLeftFunc(path, unicode.IsSpace), "::") {
		path = "./" + path
	}
	start, _ := Place(s)
	return fmt.Sprintf("%s:%d:%d", path, start.Line, start.Column)
}

// Message returns what a finding says, with its verdict in front when it is not
// a failure, and the name of its rule where it has no words.
func Message(f *finding.Finding) string {
	text := Line(f.Message)
	if strings.TrimSpace(text) == "" {
		text = Line(f.Rule)
	}
	if f.Verdict != finding.Fail {
		return f.Verdict.String() + ": " + text
	}
	return text
}

// About says which objects a finding is about and what sets it apart:
// "SV with U, W; duty peak".
func About(f *finding.Finding) string {
	text := Line(f.Object)
	if len(f.Others) > 0 {
		if text != "" {
			text += " "
		}
		names := make([]string, len(f.Others))
		for i, name := range f.Others {
			names[i] = Line(name)
		}
		text += "with " + strings.Join(names, ", ")
	}
	if f.Cause != "" {
		if text != "" {
			text += "; "
		}
		text += Line(f.Cause)
	}
	return text
}

// leastCertainty is the smallest that is told by its number: below it stands what arithmetic leaves.
const leastCertainty = 1e-5

// Numbers returns value, limit, margin and certainty in words. Where the margin
// of a zero limit is no share, it is left out: value and limit say it. A certainty beyond
// the value itself is told in its unit, not as a share of what is nearly nothing.
func Numbers(m finding.Measure) string {
	unit := Line(m.Unit)
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
		text += " (" + Line(m.Origin) + ")"
	}
	if margin := Number(m.Margin()); margin != nil && m.Limit != 0 {
		text += ", margin " + si.Percent(*margin)
	}
	if certainty := Number(m.Certainty); certainty != nil {
		if half := *certainty * math.Abs(m.Value); *certainty > 1 && half > 0 {
			return text + ", certain to ±" + si.Format(half, unit)
		}
		if 0 < *certainty && *certainty < leastCertainty {
			return text + ", certain to better than 0.001 %"
		}
		return text + ", certain to ±" + si.Percent(*certainty)
	}
	return text + ", certainty not known"
}

// Words returns what permits a finding: "until 2026-12-31, by Head of Design,
// FER-12: prototype".
func (p *Permission) Words() string {
	var parts []string
	if p.Baseline {
		parts = append(parts, "recorded in the baseline")
	}
	if p.Until > 0 {
		parts = append(parts, "until "+p.Until.String())
	}
	if p.By != "" {
		parts = append(parts, "by "+Line(p.By))
	}
	if p.Ticket != "" {
		parts = append(parts, Line(p.Ticket))
	}
	text := strings.Join(parts, ", ")
	if p.Reason == "" || p.Baseline && p.Reason == "recorded in the baseline" {
		return text
	}
	if text != "" {
		text += ": "
	}
	return text + Line(p.Reason)
}

// ShownLevel returns the level that hosts are given for a finding. An undecided
// one is always a warning, whatever level its rule has: nobody must take it for a
// pass.
func ShownLevel(f *finding.Finding) finding.Level {
	if f.Verdict == finding.Undecided {
		return finding.Warning
	}
	return f.Level
}

// Fit writes every character of s in the form given, up to limit code points. The
// cut never parts a form, and an ellipsis marks it.
func Fit(s string, limit int, form func(rune) string) string {
	const ellipsis = "…"
	var out strings.Builder
	length, cut := 0, 0 // cut is where an ellipsis still fits after
	for _, c := range s {
		next := form(c)
		length += utf8.RuneCountInString(next)
		if length > limit {
			if limit < 1 {
				return ""
			}
			return strings.TrimRightFunc(out.String()[:cut], unicode.IsSpace) + ellipsis
		}
		out.WriteString(next)
		if length < limit {
			cut = out.Len()
		}
	}
	return out.String()
}

// Shorten returns s in at most limit code points.
func Shorten(s string, limit int) string {
	return Fit(s, limit, func(c rune) string { return string(c) })
}
