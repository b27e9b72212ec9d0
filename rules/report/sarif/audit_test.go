package sarif

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// judged is thruster after a house standard: deviations, a baseline, and every
// kind of verdict.
func judged() *report.Result {
	r := thruster()
	house := span.Span{File: "house.yaml", Start: span.Pos{Line: 3, Column: 6}, End: span.Pos{Line: 3, Column: 10}}
	permitted := func(rule, object, cause string) finding.Finding {
		return finding.Finding{
			Rule: rule, Verdict: finding.Permitted, Object: object, Cause: cause, Span: at(8, 3, 2), Message: "as it is",
			Related: []finding.Related{{Span: house, Message: "permitted"}},
		}
	}
	r.Files = append(r.Files, report.File{Path: "house.yaml", RootPath: "house.yaml", Data: []byte("deviations: 1\npermits:\n  - {}\n")})
	r.Permitted = []report.Permission{{
		Finding: permitted("stray-ratio", "SW", "duty full ahead"), Was: finding.Fail, Level: finding.Error, Reason: "prototype [A]",
		Until: policy.Day(2026, 12, 31), By: "Head of Design", Ticket: "FER-12", Span: house,
	}, {
		Finding: permitted("linear-range", "SW", "duty short circuit"), Was: finding.Undecided, Level: finding.Warning, Reason: "measured on the bench",
		Until: policy.Day(2027, 1, 31), By: "Head of Design", Span: house,
	}, {
		Finding: permitted("range-use", "SX", ""), Reason: "recorded in the baseline", Baseline: true, Span: house,
	}, {
		Finding: permitted("unlisted", "SX", ""), Baseline: true, Span: house,
	}}
	r.Passed = append(r.Passed, finding.Finding{
		Rule: "linear-range", Verdict: finding.Pass, Object: "SV", Cause: "duty full ahead", Span: at(7, 3, 2), Message: "2.76 mT of 8 mT",
		Measure: &finding.Measure{Value: 0.00276, Limit: 0.008, Unit: "T", Certainty: 1e-9},
	}, finding.Finding{
		Rule: "range-use", Verdict: finding.Pass, Object: "SU", Span: at(7, 3, 2),
		Measure: &finding.Measure{Value: 0.006, Limit: 0.004, Unit: "T", AtLeast: true, Certainty: 1e-9},
	})
	r.NotApplicable = []finding.Finding{{Rule: "polarity", Verdict: finding.NotApplicable, Object: "SV", Span: at(7, 3, 2), Message: "no part"}}
	r.Baseline = &report.Baseline{
		Worse: []finding.Finding{r.Findings[1]},
		Absent: []finding.Finding{{
			Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "SQ", Others: []string{"U"}, Span: span.Span{File: layoutPath},
		}},
	}
	return r
}

// Each verdict has its kind, level, state and permission. The words are those of
// the standard, sections 3.27.9, 3.27.10, 3.27.23, 3.27.24 and 3.35.
func TestAuditForm(t *testing.T) {
	var log log
	if err := json.Unmarshal(written(t, judged(), Options{Audit: true}), &log); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range log.Runs[0].Results {
		if r.Suppressions == nil {
			t.Fatalf("%s has no suppressions", r.RuleID)
		}
		line := fmt.Sprint(r.RuleID, " ", r.Properties.Object, ": ", r.Kind, " ", r.Level, " ", r.BaselineState)
		for _, s := range *r.Suppressions {
			line += fmt.Sprintf("; %s until %s by %s %s %v at %s:%d", s.Justification, s.Properties.Until, s.Properties.Approver,
				s.Properties.Ticket, s.Properties.Baseline, s.Location.PhysicalLocation.ArtifactLocation.URI, s.Location.PhysicalLocation.Region.StartLine)
		}
		got = append(got, line)
	}
	want := []string{
		"stray-ratio SV: fail error new",
		"range-use SW: fail warning updated",
		"linear-range SV: open none new",
		"unknown-key : fail error new",
		"range-use SV: informational none new",
		"stray-ratio SW: fail error new; prototype [A] until 2026-12-31 by Head of Design FER-12 false at house.yaml:3",
		"linear-range SW: open none new; measured on the bench until 2027-01-31 by Head of Design  false at house.yaml:3",
		"range-use SX: fail warning unchanged; recorded in the baseline until  by   true at house.yaml:3",
		"unlisted SX: fail note unchanged; recorded in the baseline until  by   true at house.yaml:3",
		"linear-range SW: pass none new",
		"linear-range SV: pass none new",
		"range-use SU: pass none new",
		"polarity SV: notApplicable none new",
		"stray-ratio SQ: fail error absent",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	last := log.Runs[0].Results[len(want)-1]
	if last.Message.Text != "SQ with U: recorded in the baseline and not found any more." {
		t.Errorf("absent: %q", last.Message.Text)
	}
	if text := log.Runs[0].Results[len(want)-3].Message.Text; text != "SU: 6.00 mT, limit at least 4.00 mT, margin 50.0 %, certain to better than 0.001 %." {
		t.Errorf("pass without a message: %q", text)
	}
}

// Without a baseline nothing has a state, and without the option nothing has
// suppressions, and what is permitted stays out.
func TestDefaultFormHasNoPermissions(t *testing.T) {
	text := string(written(t, judged(), Options{}))
	for _, word := range []string{"suppressions", "Head of Design", "FER-12", `"pass"`, "absent", "unchanged"} {
		if strings.Contains(text, word) {
			t.Errorf("the default form holds %s", word)
		}
	}
	if !strings.Contains(text, `"baselineState": "updated"`) {
		t.Error("what got worse than recorded is not marked")
	}
	r := judged()
	r.Baseline = nil
	for _, audit := range []bool{true, false} {
		if strings.Contains(string(written(t, r, Options{Audit: audit})), "baselineState") {
			t.Errorf("audit %v: a state without a baseline", audit)
		}
	}
}

// A record is whole: the audit form has no limit.
func TestAuditKeepsAll(t *testing.T) {
	var log log
	if err := json.Unmarshal(written(t, many(maxResults+7), Options{Audit: true}), &log); err != nil {
		t.Fatal(err)
	}
	if got := len(log.Runs[0].Results); got != maxResults+7+1 {
		t.Errorf("%d results, want %d", got, maxResults+7+1)
	}
}

func TestAuditChecksSeeFaults(t *testing.T) {
	whole := string(written(t, judged(), Options{Audit: true}))
	for _, tc := range []struct{ from, to, want string }{
		{`"kind": "pass"`, `"kind": "fail"`, "kind fail with level none"},
		{`"kind": "external"`, `"kind": "inside"`, "suppression inside"},
		{`"status": "accepted"`, `"status": "x"`, "suppression external, x"},
		{`"justification": "proto`, `"justifications": "proto`, "without a justification"},
		{`"baselineState": "absent"`, `"baselineState": "gone"`, "baselineState gone"},
		{`"baselineState": "absent",`, ``, "baselineState on 13 results and not on 1"},
		{`"suppressions": [],`, ``, "suppressions on 4 of 14"},
		{`"uri": "house.yaml"`, `"uri": "/house.yaml"`, "URI"},
	} {
		if !strings.Contains(whole, tc.from) {
			t.Fatalf("nothing to break: %s", tc.from)
		}
		found := strings.Join(problems([]byte(strings.ReplaceAll(whole, tc.from, tc.to))), "\n")
		if !strings.Contains(found, tc.want) {
			t.Errorf("%s for %s: found %q, want %q", tc.to, tc.from, found, tc.want)
		}
	}
}
