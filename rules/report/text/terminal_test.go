package text

import (
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

const phasesYAML = `layout: 1
sensors:
  SU: {reads: U, at: [0 mm, 5.5 mm], axis: 180 deg}
  SV: {reads: V, at: [40 mm, 5.5 mm], axis: 180 deg}
  SW: {reads: W, at: [80 mm, 5.5 mm], axis: 180 deg}
  "größe 漢": {reads: W, at: [80 mm, 15.5 mm], axis: 180 deg}
`

// phases are one finding on three phases, one of another kind, one without a number on two sensors, and one of a file.
func phases() *report.Result {
	at := func(line, from, to int) span.Span {
		return span.Span{File: "w.yaml", Start: span.Pos{Line: line, Column: from}, End: span.Pos{Line: line, Column: to}}
	}
	stray := func(object, other string, line int, share, limit float64, remedy string) finding.Finding {
		from := 22
		if line == 6 {
			from = 29
		}
		return finding.Finding{Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: object, Others: []string{other}, Cause: "haul",
			Span: at(line, from, from+16), Measure: &finding.Measure{Value: share, Limit: limit, Unit: "1"}, Remedy: remedy,
			Message: object + `: neighbours move the reading ` + quantity(share, "1") + `, limit 5 %, in "haul". That is 39.8 A of 400 A. Most comes from bar "W"`}
	}
	list := []finding.Finding{
		stray("SU", "U", 3, 0.0995, 0.05, "move SU from 4.0 to 2.1 mm above U: 9.95 % → 4.98 %; output rises 13.2 %"),
		stray("SV", "V", 4, 0.0902, 0.05, "move SV from 4.0 to 2.3 mm above V: 9.02 % → 4.99 %"),
		stray("SW", "W", 5, 0.0898, 0.03, "move SW from 4.0 to 1.2 mm above W: 8.98 % → 2.98 %"),
		stray("größe 漢", "W", 6, 0.2, 0.05, "a place or an axis at which all that the duty carries is read for certain"),
	}
	for i, s := range []string{"SU", "SV"} {
		list = append(list, finding.Finding{Rule: "linear-range", Verdict: finding.Undecided, Level: finding.Warning, Object: s,
			Span: at(3+i, 3, 5), Message: s + ": has no linear range. Name a part that declares one"})
	}
	for i, s := range []string{"SU", "SV"} {
		for _, rule := range []string{"linear-range", "placement", "range-use"} {
			list = append(list, finding.Finding{Rule: rule, Verdict: finding.Undecided, Level: finding.Warning, Object: s, Cause: "haul " + rule,
				Span: at(3+i, 3, 5), Message: s + `: cannot be judged. "K" and "V" share a place`})
		}
	}
	list = append(list, finding.Finding{Rule: "key-missing", Verdict: finding.Fail, Level: finding.Error, Span: at(9, 1, 2), Message: `the layout needs "bars"`})
	return &report.Result{Tool: report.Tool{Name: "busgauss"}, Findings: list, Files: []report.File{{Path: "w.yaml", Data: []byte(phasesYAML)}}}
}

func TestTerminal(t *testing.T) {
	for name, o := range map[string]Options{
		"terminal-80":     {Width: 80},
		"terminal-48":     {Width: 48},
		"terminal-detail": {Width: 100, Detail: true},
	} {
		got := written(t, phases(), o)
		fixtures.Golden(t, name+".txt", []byte(got))
		o.Color = true
		if coloured := written(t, phases(), o); stripColour(coloured) != got {
			t.Errorf("%s: colour does not only add:\n%s", name, stripColour(coloured))
		}
		if o.Detail {
			continue
		}
		for line := range strings.SplitSeq(got, "\n") {
			if columns(line) > o.Width {
				t.Errorf("%s: %d columns: %s", name, columns(line), line)
			}
		}
	}
}

// Each mark stands under its token, whatever letters come before it.
func TestMarkStandsUnderItsToken(t *testing.T) {
	lines := strings.Split(written(t, phases(), Options{Width: 80}), "\n")
	marks := 0
	for i, line := range lines {
		at := strings.Index(line, "^")
		if at < 0 || strings.Trim(line, " |^") != "" {
			continue
		}
		marks++
		source, from := lines[i-1], 0
		for k := range source {
			if columns(source[:k]) == at {
				from = k
				break
			}
		}
		if rest := source[from:]; !strings.HasPrefix(rest, "[") && !strings.HasPrefix(rest, "SU") {
			t.Errorf("%q is marked in\n%s\n%s", rest, source, line)
		}
	}
	if marks != 4 {
		t.Errorf("%d marks, want 4", marks)
	}
}

// In a log every finding keeps its line: nothing is grouped or wrapped.
func TestLinesOfALog(t *testing.T) {
	r := phases()
	got := written(t, r, Options{Quiet: true, Width: 40})
	if n := strings.Count(got, "\n"); n != len(r.Findings) {
		t.Errorf("%d lines of %d findings:\n%s", n, len(r.Findings), got)
	}
}

func TestParted(t *testing.T) {
	at := func(from, toLine, to int) span.Span {
		return span.Span{Start: span.Pos{Line: 1, Column: from}, End: span.Pos{Line: toLine, Column: to}}
	}
	for _, c := range []struct {
		s                    span.Span
		before, token, after string
	}{
		{at(3, 1, 5), "ab", "cd", "ef"},
		{at(1, 1, 1), "", "", "abcdef"},
		{at(5, 2, 3), "abcd", "ef", ""},
		{at(9, 1, 12), "abcdef", "", ""},
	} {
		if b, k, a := parted("abcdef  ", c.s); strings.TrimSpace(b) != c.before || strings.TrimSpace(k) != c.token || a != c.after {
			t.Errorf("%v: %q %q %q", c.s, b, k, a)
		}
	}
}

func TestColumns(t *testing.T) {
	for text, want := range map[string]int{"": 0, "abc": 3, "é": 1, "e\u0301": 1, "漢字": 4, "🚠": 2, "µ²": 2} {
		if got := columns(text); got != want {
			t.Errorf("%q: %d, want %d", text, got, want)
		}
	}
	if got := head("abcdef", 4); got != "abc…" {
		t.Error(got)
	}
	if got := tail("abcdef", 4); got != "cdef" {
		t.Error(got)
	}
	if got := head("漢字", 3); got != "漢…" {
		t.Error(got)
	}
}
