// Package sample holds outcomes of runs for the tests of writers, and the checks
// that all writers share. Tests only.
package sample

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// The layout of Ferry as the user named it and relative to the root, and a file
// of the house standard.
const (
	Path         = "../ferry/bow thruster.yaml"
	RootPath     = "plant/ferry/bow thruster.yaml"
	standardPath = "house.yaml"
)

// At returns a span of length characters on one line.
func At(file string, line, column, length int) span.Span {
	return span.Span{File: file, Start: span.Pos{Line: line, Column: column}, End: span.Pos{Line: line, Column: column + length}}
}

// Ferry is an invented outcome for the bow thruster of a cable ferry. It has
// every verdict, every level, and sets every field of a finding.
func Ferry() *report.Result {
	return &report.Result{
		Tool: report.Tool{Name: "busgauss", Version: "0.1.0"},
		Files: []report.File{
			{Path: Path, RootPath: RootPath, Data: []byte("layout: 1\n")},
			{Path: standardPath, RootPath: standardPath, Data: []byte("deviations: 1\n")},
		},
		Findings: []finding.Finding{{
			Rule: "shield-saturation", Verdict: finding.Undecided, Level: finding.Error, Object: "S1",
			Measure: &finding.Measure{Value: math.NaN(), Limit: 1.2, Unit: "T", Certainty: math.Inf(1)},
			Span:    At(Path, 30, 3, 2), Message: "wall flux density of an open channel is not computed yet",
		}, {
			Rule: "bar-heating", Verdict: finding.Fail, Level: finding.Note, Object: "U",
			Span:    span.Span{File: Path, Start: span.Pos{Line: 6, Column: 3}, End: span.Pos{Line: 9, Column: 1}},
			Message: "current density is a reminder, not a certificate",
		}, {
			Rule: "range-use", Verdict: finding.Fail, Level: finding.Warning, Object: "SW",
			Measure: &finding.Measure{Value: 0.0027, Limit: 0.004, Unit: "T", AtLeast: true, Certainty: math.NaN()},
			Span:    At(Path, 24, 9, 12), Message: `sensor "SW" uses 67.5 % of its range, <none> of it & "more"`,
		}, {
			Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error,
			Object: "SV", Others: []string{"U", "W"}, Cause: "duty full ahead",
			Measure: &finding.Measure{Value: 0.0335, Limit: 0.02, Unit: "1", Certainty: 0.0004, Origin: "house standard, stray-ratio.budget"},
			Span:    At(Path, 21, 9, 11),
			Message: `neighbours move sensor "SV" by 3.35 % of own field, 13.4 A, budget 2 %`,
			Remedy:  "SV from 6.0 to 4.3 mm above V: 3.35 % to 1.9 %; output rises 14 %",
			Changes: []finding.Change{{
				Title: "move SV from 6.0 to 4.3 mm above V", Effect: "3.35 % → 1.90 %; output rises 14.0 %", Clears: []string{"placement of SV"},
				Edits: []finding.Edit{{Span: At(Path, 21, 18, 2), Text: "4.3 mm"}},
			}},
			Related: []finding.Related{{Span: At(Path, 6, 3, 1), Message: `bar "U" gives the larger share`}},
			Details: []string{"amount  line", "13.4 A  bar U"},
		}, {
			Rule: "range-use", Verdict: finding.Fail, Level: finding.None, Object: "SU", Span: At(Path, 22, 9, 11),
			Message: "set to no level by the house",
		}, {
			Rule: "file-missing", Verdict: finding.Fail, Level: finding.Error, Message: "no layout in the directory",
		}},
		Permitted: []report.Permission{{
			Finding: finding.Finding{Rule: "stray-ratio", Verdict: finding.Permitted, Object: "SU",
				Cause: "duty full ahead", Span: At(Path, 18, 9, 13),
				Message: "other bars move it by 2.10 %"},
			Was: finding.Fail, Level: finding.Error, Reason: "prototype", Until: policy.Day(2026, 12, 31),
			By: "Head of Design", Ticket: "FER-12",
			Span: At(standardPath, 3, 6, 4),
		}, {
			Finding: finding.Finding{Rule: "bar-heating", Verdict: finding.Permitted, Object: "W",
				Span: At(Path, 8, 3, 1), Message: "as it was"},
			Reason: "recorded in the baseline", Baseline: true, Span: At(standardPath, 4, 5, 1),
		}},
		Passed: []finding.Finding{{
			Rule: "linear-range", Verdict: finding.Pass, Object: "SU", Cause: "duty full ahead",
			Measure: &finding.Measure{Value: 0.00276, Limit: 0.008, Unit: "T", Certainty: 1e-9, Origin: "part EX-8"},
			Span:    At(Path, 18, 9, 13),
		}, {
			Rule: "polarity", Verdict: finding.Pass, Object: "SU", Span: At(Path, 18, 9, 13),
			Message: "positive current raises the output",
		}},
		NotApplicable: []finding.Finding{{
			Rule: "shield-sheet", Verdict: finding.NotApplicable, Object: "S1", Span: At(Path, 30, 3, 2),
			Message: "the shield is solid",
		}},
		Assumed: []finding.Assumption{
			{Span: At(Path, 6, 3, 1), Object: "U", Text: "temperature 20 °C"},
			{Span: At(Path, 1, 1, 1), Text: "currents sum to zero"},
		},
	}
}

// Many returns an outcome of n errors, n warnings and n notes, the notes first.
func Many(n int) *report.Result {
	r := &report.Result{Tool: report.Tool{Name: "busgauss"}, Files: []report.File{{Path: Path, RootPath: RootPath}}}
	for _, level := range []finding.Level{finding.Note, finding.Warning, finding.Error} {
		for i := range n {
			r.Findings = append(r.Findings, finding.Finding{
				Rule: "range-use", Verdict: finding.Fail, Level: level, Object: fmt.Sprint(level, i),
				Span:    At(Path, i+1, 1, 1),
				Message: fmt.Sprintf("%s number %d", level, i),
			})
		}
	}
	return r
}

// HostileTexts are what a layout of a stranger may try in names, values and file
// names: forged lines, commands of hosts, colours, directions, markup.
func HostileTexts() []string {
	return []string{
		"a\n::error::forged", "::error file=x::forged", "  ::warning::forged", "\u00a0::notice::forged", "a\r::error::b", "%0A::error::forged", "a,line=1::b",
		"##[error]forged", "###[error]forged", "####vso[task.complete result=Succeeded]", "x ##vso[task.logissue]y",
		"\x1b[2Ahidden", "\u009b31m", "\u202egnp\u202c", "\u2066x\u2069", "a\u2028b\u2029c\u0085d", "\x00\x07\x7f", "\xff\xfe", "\ufffe\uffff", "\ufeff",
		"</code></td></tr></table>\n\n# forged", "</failure></testcase><testcase name=\"forged\"/>", "]]>", "<!--", "&lt;&#10;", `"'><script>alert(1)</script>`,
		"[link](https://example.org) ![x](y) `code` **bold** | cell", "\n\n- forged\n", "```", "@somebody :x: #1",
		"[[ATTACHMENT|/etc/passwd]]", "C:/Users/x", "/etc/x", "../../x", `back\slash`, " ", "a b#c%d?e:f",
	}
}

// Hostile puts s into every field that can hold text from a file.
func Hostile(s string) *report.Result {
	place := span.Span{File: s, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}
	f := finding.Finding{
		Rule: "house-" + s, Verdict: finding.Fail, Level: finding.Error, Object: s, Others: []string{s, s}, Cause: s, Span: place,
		Measure: &finding.Measure{Unit: s, Origin: s}, Message: s, Remedy: s, Related: []finding.Related{{Span: place, Message: s}},
		Details: []string{s, "", s},
	}
	with := func(v finding.Verdict) finding.Finding {
		g := f
		g.Verdict = v
		return g
	}
	return &report.Result{
		Tool:          report.Tool{Name: "busgauss"},
		Rules:         []finding.Description{{ID: "house-" + s, Title: s, Full: s, Help: s, Level: finding.Error}},
		Files:         []report.File{{Path: s, RootPath: s, Data: []byte(s)}},
		Findings:      []finding.Finding{f, with(finding.Undecided)},
		Permitted:     []report.Permission{{Finding: with(finding.Permitted), Reason: s, By: s, Ticket: s, Until: 1, Span: place}},
		Passed:        []finding.Finding{with(finding.Pass)},
		NotApplicable: []finding.Finding{with(finding.NotApplicable)},
		Assumed:       []finding.Assumption{{Span: place, Object: s, Text: s}},
	}
}
