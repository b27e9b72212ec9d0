package sarif

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// outputs is everything that the standard's schema and our checks look at.
func outputs(t *testing.T) map[string][]byte {
	t.Helper()
	out := map[string][]byte{
		"findings":         written(t, thruster(), Options{ExitCode: 1}),
		"clean":            written(t, clean(), Options{Category: "nightly"}),
		"nothing":          written(t, &report.Result{Tool: report.Tool{Name: "busgauss"}}, Options{}),
		"many":             written(t, many(200), Options{ExitCode: 1}),
		"audit":            written(t, judged(), Options{ExitCode: 1, Audit: true}),
		"baseline":         written(t, judged(), Options{ExitCode: 1}),
		"audit of nothing": written(t, &report.Result{Tool: report.Tool{Name: "busgauss"}}, Options{Audit: true}),
		"very long":        written(t, hostile(strings.Repeat(`long [word]\ `, 500)), Options{ExitCode: 1}),
	}
	for i, s := range hostileTexts {
		out[fmt.Sprintf("hostile %d", i)] = written(t, hostile(s), Options{ExitCode: 1})
		out[fmt.Sprintf("hostile audit %d", i)] = written(t, hostile(s), Options{ExitCode: 1, Audit: true})
	}
	return out
}

var hostileTexts = []string{
	"a\n::error::forged", "::error::x", "##[error]x", "##vso[task.complete]", "\x1b[2Ahidden", "\u202egnp\u202c", "a\u2028b\u0085c", "\x00\x7f",
	`[link](1) \[`, "a b#c%d?e:f", `back\slash`, "C:/Users/x", "/etc/x", "../../x", "\xff\xfe", "*bold* `code` <b>", "\ufeff", " ", "```",
}

// hostile puts s into every field that can hold text from a file.
func hostile(s string) *report.Result {
	place := span.Span{File: s, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}
	f := finding.Finding{
		Rule: "house-" + s, Verdict: finding.Fail, Level: finding.Error, Object: s, Others: []string{s, s}, Cause: s, Span: place,
		Measure: &finding.Measure{Unit: s, Origin: s}, Message: s, Remedy: s, Related: []finding.Related{{Span: place, Message: s}},
		Details: []string{s, "", s},
	}
	undecided := f
	undecided.Verdict = finding.Undecided
	return &report.Result{
		Tool:      report.Tool{Name: "busgauss"},
		Rules:     []finding.Description{{ID: "house-" + s, Title: s, Full: s, Help: s + "\n" + s, Level: finding.Error}},
		Files:     []report.File{{Path: s, RootPath: s, Data: []byte(s)}},
		Findings:  []finding.Finding{f, undecided},
		Assumed:   []finding.Assumption{{Span: place, Object: s, Text: s}},
		Permitted: []report.Permission{{Finding: f, Reason: s, Until: 730000, By: s, Ticket: s, Span: place}},
		Passed:    []finding.Finding{{Rule: "house-" + s, Verdict: finding.Pass, Object: s, Cause: s, Span: place}},
		Baseline:  &report.Baseline{Worse: []finding.Finding{f}, Absent: []finding.Finding{f}},
	}
}

func TestHostileTextIsNeverSeenRaw(t *testing.T) {
	for i, s := range append(hostileTexts, hostileTexts...) {
		data := written(t, hostile(s), Options{Audit: i >= len(hostileTexts)})
		for _, c := range string(data) {
			if c != '\n' && unicode.In(c, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) {
				t.Errorf("%q: output holds %q", s, c)
			}
		}
		if bytes.Contains(data, []byte("##")) {
			t.Errorf("%q: output holds ##", s)
		}
		for line := range bytes.Lines(data) {
			if bytes.HasPrefix(bytes.TrimSpace(line), []byte("::")) {
				t.Errorf("%q: line reads as a command: %q", s, line)
			}
		}
		var log log
		if err := json.Unmarshal(data, &log); err != nil {
			t.Fatal(err)
		}
		r := log.Runs[0].Results[0]
		for _, shown := range []string{r.Message.Text, r.RelatedLocations[0].Message.Text, log.Runs[0].Invocations[0].Notifications[0].Message.Text} {
			if finding.Clean(shown) != shown {
				t.Errorf("%q: a message decodes to %q", s, shown)
			}
		}
		if utf8.ValidString(s) && (r.Properties.Object != s || r.Properties.Cause != s || r.Properties.Others[1] != s) {
			t.Errorf("%q: the names became %+v", s, r.Properties)
		}
		if d := r.Properties.Details; len(d) != 3 || d[0] != finding.Clean(s) || d[1] != "" {
			t.Errorf("%q: the table became %q", s, d)
		}
	}
}

// many returns n findings, every tenth a warning and the last one an error.
func many(n int) *report.Result {
	r := thruster()
	r.Findings = nil
	for i := range n {
		f := finding.Finding{Rule: "range-use", Verdict: finding.Fail, Level: finding.Note, Object: fmt.Sprint("S", i), Span: at(8, 3, 2), Message: "m"}
		switch {
		case i == n-1:
			f.Level = finding.Error
		case i%10 == 0:
			f.Level = finding.Warning
		}
		r.Findings = append(r.Findings, f)
	}
	return r
}

func TestTheMostSevereAreKept(t *testing.T) {
	whole := many(maxResults + 7)
	var log log
	if err := json.Unmarshal(written(t, whole, Options{}), &log); err != nil {
		t.Fatal(err)
	}
	got := log.Runs[0].Results
	if len(got) != maxResults {
		t.Fatalf("%d results, want %d", len(got), maxResults)
	}
	// The seven left out are the last notes, in front of the error.
	var want []string
	notes := 0
	for _, f := range whole.Findings {
		if f.Level == finding.Note {
			notes++
		}
	}
	for _, f := range whole.Findings {
		if f.Level == finding.Note {
			if notes--; notes < 7 {
				continue
			}
		}
		want = append(want, f.Object)
	}
	for i := range got {
		if got[i].Properties.Object != want[i] {
			t.Fatalf("result %d is of %s, want %s", i, got[i].Properties.Object, want[i])
		}
	}
	n := log.Runs[0].Invocations[0].Notifications[0]
	if n.Descriptor.ID != "results-left-out" || n.Level != "warning" || !strings.HasPrefix(n.Message.Text, "7 of 5007 results") {
		t.Errorf("notification %+v does not say that 7 are missing", n)
	}
	if err := json.Unmarshal(written(t, many(maxResults), Options{}), &log); err != nil {
		t.Fatal(err)
	}
	for _, n := range log.Runs[0].Invocations[0].Notifications {
		if n.Descriptor.ID == "results-left-out" {
			t.Errorf("exactly %d results: told that some are missing", maxResults)
		}
	}
}

func TestOnlyFailuresAndUndecided(t *testing.T) {
	for _, v := range []finding.Verdict{0, finding.Pass, finding.NotApplicable, finding.Permitted} {
		r := clean()
		r.Findings = []finding.Finding{{Rule: "range-use", Verdict: v}}
		var out bytes.Buffer
		if err := Write(&out, r, Options{}); err == nil || out.Len() != 0 {
			t.Errorf("verdict %q: error %v and %d bytes, want an error and none", v, err, out.Len())
		}
	}
}

func TestKindAndLevel(t *testing.T) {
	for _, v := range []finding.Verdict{finding.Fail, finding.Undecided} {
		for _, l := range []finding.Level{finding.None, finding.Note, finding.Warning, finding.Error} {
			f := finding.Finding{Rule: "range-use", Verdict: v, Level: l}
			got := newResult(&f, newCatalogue(nil, []finding.Finding{f}, ""), newFiles(nil), newFingerprints(newFiles(nil)))
			wantLevel, wantRule, wantKind := l.String(), "range-use", "fail"
			if v == finding.Undecided {
				wantLevel, wantRule = "warning", "undecided"
			} else if l == finding.None {
				wantKind = "informational"
			}
			if got.Level != wantLevel || got.RuleID != wantRule || got.Kind != wantKind {
				t.Errorf("%s at %s: %s, %s, %s; want %s, %s, %s", v, l, got.Kind, got.Level, got.RuleID, wantKind, wantLevel, wantRule)
			}
		}
	}
}

func TestExitCodeCategoryAndVersion(t *testing.T) {
	for _, tc := range []struct {
		o          Options
		successful bool
		category   string
	}{
		{Options{}, true, "busgauss/"},
		{Options{ExitCode: 1, Category: "nightly"}, true, "nightly/"},
		{Options{ExitCode: 2, Category: "a/b/"}, false, "a/b/"},
		{Options{ExitCode: 130}, false, "busgauss/"},
	} {
		var log log
		if err := json.Unmarshal(written(t, clean(), tc.o), &log); err != nil {
			t.Fatal(err)
		}
		run := log.Runs[0]
		if i := run.Invocations[0]; i.ExitCode != tc.o.ExitCode || i.ExecutionSuccessful != tc.successful {
			t.Errorf("%+v: invocation %+v", tc.o, i)
		}
		if run.AutomationDetails.ID != tc.category {
			t.Errorf("%+v: category %q, want %q", tc.o, run.AutomationDetails.ID, tc.category)
		}
	}
	for version, want := range map[string]string{
		"0.1.0": "0.1.0", "v1.2.3": "1.2.3", "1.2.3-rc.1+abc": "1.2.3-rc.1+abc",
		"": "", "(devel)": "", "1.2": "", "01.2.3": "", "1.2.x": "", "1.2.3 x": "",
	} {
		if got := semantic(version); got != want {
			t.Errorf("semantic(%q) = %q, want %q", version, got, want)
		}
	}
}

func TestWriterFailingAtEveryByte(t *testing.T) {
	r := judged()
	r.Findings, r.Permitted, r.Passed = r.Findings[:1], r.Permitted[:1], nil // short, for it is written once a byte
	r.Rules, r.Assumed, r.NotApplicable, r.Baseline = nil, nil, nil, nil
	for _, o := range []Options{{}, {Audit: true}} {
		fixtures.Fails(t, func(w io.Writer) error { return Write(w, r, o) })
	}
}
