package text

import (
	"bytes"
	"flag"
	"io"
	"strings"
	"testing"
	"unicode"

	"github.com/fatih/color"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/model/work"
	"busgauss/rules/report"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

func written(t *testing.T, r *report.Result, o Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestGolden(t *testing.T) {
	for name, o := range map[string]Options{
		"default":      {DetailFlag: "--verbose"},
		"quiet":        {Quiet: true, Detail: true, Passes: true},
		"detail":       {Detail: true, DetailFlag: "--verbose"},
		"passes":       {Passes: true},
		"color":        {Color: true, Passes: true},
		"color-detail": {Color: true, Detail: true},
	} {
		t.Run(name, func(t *testing.T) {
			got := written(t, thruster(), o)
			fixtures.Golden(t, name+".txt", []byte(got))
		})
	}
}

// Colour adds sequences and nothing else, and depends on the option alone.
func TestColourCarriesNoMeaning(t *testing.T) {
	for _, global := range []bool{true, false} {
		testColour(t, global)
	}
}

func testColour(t *testing.T, global bool) {
	t.Helper()
	was := color.NoColor
	color.NoColor = global // what the library would go by
	defer func() { color.NoColor = was }()
	o := Options{Passes: true, Detail: true}
	plain := written(t, thruster(), o)
	o.Color = true
	coloured := written(t, thruster(), o)
	if !strings.Contains(coloured, "\x1b[") {
		t.Fatal("no colour though it was asked for")
	}
	if strings.Contains(plain, "\x1b") {
		t.Fatal("colour though none was asked for")
	}
	if stripped := stripColour(coloured); stripped != plain {
		t.Errorf("without its sequences the coloured report is\n%s\nwant\n%s", stripped, plain)
	}
}

func stripColour(s string) string {
	var out strings.Builder
	for {
		before, rest, found := strings.Cut(s, "\x1b[")
		out.WriteString(before)
		if !found {
			return out.String()
		}
		_, s, _ = strings.Cut(rest, "m")
	}
}

func TestSummary(t *testing.T) {
	fail := finding.Finding{Rule: "r", Verdict: finding.Fail, Level: finding.Error}
	undecided := finding.Finding{Rule: "r", Verdict: finding.Undecided, Level: finding.Error}
	passes := make([]finding.Finding, 57)
	for _, tc := range []struct {
		name string
		r    report.Result
		o    Options
		want string
	}{
		{"nothing found", report.Result{Passed: passes, Files: make([]report.File, 1)}, Options{}, "0 findings, 57 checks passed in 1 file\n"},
		{"nothing looked at", report.Result{}, Options{}, "0 findings, 0 checks passed in 0 files\n"},
		{"one pass", report.Result{Passed: passes[:1], Files: make([]report.File, 2)}, Options{}, "0 findings, 1 check passed in 2 files\n"},
		{"nothing applied", report.Result{NotApplicable: passes[:2], Files: make([]report.File, 1)}, Options{},
			"0 findings, 0 checks passed in 1 file, 2 not applicable\n"},
		{"undecided is no error", report.Result{Findings: []finding.Finding{fail, undecided}, Files: make([]report.File, 1)}, Options{},
			"1 error, 0 warnings, 0 notes, 1 undecided; 0 checks passed in 1 file\n"},
		{"a verdict nobody set is no pass", report.Result{Findings: []finding.Finding{{}}}, Options{},
			"0 errors, 0 warnings, 0 notes, 1 undecided; 0 checks passed in 0 files\n"},
		{"too little work", report.Result{Findings: []finding.Finding{{Message: (&work.Over{}).Error()}}}, Options{},
			"0 errors, 0 warnings, 0 notes, 1 undecided; 0 checks passed in 0 files\n1 layout needs more work than it may take: what is open says what raises that (1500 million steps are about a second of one processor)\n"},
		{"one default", report.Result{Assumed: make([]finding.Assumption, 1)}, Options{DetailFlag: "-v"},
			"0 findings, 0 checks passed in 0 files\n1 default assumed (-v lists them)\n"},
		{"no hint to give", report.Result{Assumed: make([]finding.Assumption, 2)}, Options{},
			"0 findings, 0 checks passed in 0 files\n2 defaults assumed\n"},
	} {
		got := written(t, &tc.r, tc.o)
		if !strings.HasSuffix("\n"+got, "\n"+tc.want) {
			t.Errorf("%s: got\n%swant it to end with\n%s", tc.name, got, tc.want)
		}
	}
}

// hostile puts s into every field that can hold text from a file.
func hostile(s string) *report.Result {
	place := span.Span{File: s, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}
	f := finding.Finding{
		Rule: s, Verdict: finding.Fail, Level: finding.Error, Object: s, Others: []string{s, s}, Cause: s, Span: place,
		Measure: &finding.Measure{Unit: s, Origin: s}, Message: s, Remedy: s, Related: []finding.Related{{Span: place, Message: s}}, Details: []string{s},
	}
	pass := f
	pass.Verdict, pass.Message = finding.Pass, ""
	return &report.Result{
		Tool: report.Tool{Name: "busgauss"}, Findings: []finding.Finding{f}, Passed: []finding.Finding{pass},
		NotApplicable: []finding.Finding{f}, Assumed: []finding.Assumption{{Span: place, Object: s, Text: s}},
	}
}

func TestHostileText(t *testing.T) {
	// What one finding, one pass, one not applicable, one assumption, a line of a
	// table for the first three, and the two summary lines take, whatever the names
	// hold.
	const wantLines = 1 + 4 + 1 + 1 + 1 + 3 + 2
	for _, s := range []string{
		"a\n::error::forged", "::error file=x::forged", "  ::warning::forged", "\u00a0::notice::forged", "a\r::error::b",
		"##[error]forged", "###[error]forged", "####vso[task.complete result=Succeeded]", "x ##vso[task.logissue]y",
		"\x1b[2Ahidden", "\u009b31m", "\u202egnp\u202c", "\u2066x\u2069", "a\u2028b\u2029c\u0085d", "\x00\x07\x7f",
	} {
		got := written(t, hostile(s), Options{Detail: true, Passes: true})
		if n := strings.Count(got, "\n"); n != wantLines {
			t.Errorf("%q: %d lines, want %d:\n%q", s, n, wantLines, got)
		}
		for _, c := range got {
			if c != '\n' && unicode.In(c, unicode.Cc, unicode.Bidi_Control, unicode.Zl, unicode.Zp) {
				t.Errorf("%q: output holds %q:\n%q", s, c, got)
			}
		}
		if strings.Contains(got, "##") {
			t.Errorf("%q: output holds ## :\n%q", s, got)
		}
		for line := range strings.SplitSeq(got, "\n") {
			if strings.HasPrefix(strings.TrimLeftFunc(line, unicode.IsSpace), "::") {
				t.Errorf("%q: line reads as a command: %q", s, line)
			}
		}
	}
}

func TestPathsAreKept(t *testing.T) {
	for path, want := range map[string]string{
		"a/b.yaml": "a/b.yaml:2:3: ", "::x.yaml": "./::x.yaml:2:3: ", "bar#1.yaml": "bar#1.yaml:2:3: ", "-": "-:2:3: ", "": "busgauss: ",
	} {
		r := &report.Result{Tool: report.Tool{Name: "busgauss"}, Findings: []finding.Finding{{Verdict: finding.Fail, Level: finding.Note,
			Span: span.Span{File: path, Start: span.Pos{Line: 2, Column: 3}, End: span.Pos{Line: 2, Column: 4}}}}}
		if got := written(t, r, Options{Quiet: true}); !strings.HasPrefix(got, want+"note: ") {
			t.Errorf("path %q: got %q, want it to start with %q", path, got, want)
		}
	}
}

func TestWriterFailingAtEveryByte(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error {
		return Write(w, thruster(), Options{Color: true, Detail: true, Passes: true})
	})
}
