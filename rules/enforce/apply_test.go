package enforce

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/engine"
)

// found is a failure of stray-ratio at U in cruise: 6.2 % against 5 %.
func found() finding.Finding {
	return finding.Finding{
		Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "U", Others: []string{"A", "B"}, Cause: "cruise", Span: at(9, 3),
		Measure: &finding.Measure{Value: 0.062, Limit: 0.05, Unit: "1"}, Message: "m",
	}
}

func undecided() finding.Finding {
	f := found()
	f.Verdict, f.Level = finding.Undecided, finding.Warning
	return f
}

func permits(list ...string) string {
	out := "deviations: 1\npermits:\n"
	for _, p := range list {
		out += "  - {file: a.yaml, rule: stray-ratio, object: U, reason: prototype, approver: Head of Design, " + p + "}\n"
	}
	return out
}

// outcome prints what Apply leaves: verdicts of the layout's findings, then all
// that is said of deviations and baseline.
func outcome(o Outcome) string {
	var out strings.Builder
	for _, f := range o.Findings {
		if f.Span.File == "a.yaml" {
			fmt.Fprintf(&out, "%s %v %v", f.Rule, f.Verdict, f.Level)
			for _, r := range f.Related {
				fmt.Fprintf(&out, " (%s: %s)", r.Span, r.Message)
			}
			out.WriteString("\n")
			continue
		}
		fmt.Fprintf(&out, "%s %v %s: %s\n", f.Span, f.Level, f.Rule, f.Message)
	}
	return out.String()
}

func day(text string) policy.Date {
	d, err := policy.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func TestDeviations(t *testing.T) {
	const words = "permitted until 2026-12-31 by Head of Design: prototype"
	for _, c := range []struct {
		name, permits string
		day           string
		found         []finding.Finding
		want          string
	}{
		{"permitted", permits("until: 2026-12-31, ticket: FER-12"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + " (FER-12))\n"},
		{"fifteen days left", permits("until: 2026-12-31"), "2026-12-16", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ")\n"},
		{"fourteen days left", permits("until: 2026-12-31"), "2026-12-17", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ")\n" +
				"d.yaml:3:102 note deviation-ends-soon: the deviation for stray-ratio of \"U\" in a.yaml ends on 2026-12-31, in 14 days\n"},
		{"last day", permits("until: 2026-12-31"), "2026-12-31", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ")\n" +
				"d.yaml:3:102 note deviation-ends-soon: the deviation for stray-ratio of \"U\" in a.yaml ends on 2026-12-31, today\n"},
		{"ended", permits("until: 2026-12-31"), "2027-01-01", []finding.Finding{found()},
			"stray-ratio fail error (d.yaml:3:6: the deviation ended on 2026-12-31)\n" +
				"d.yaml:3:102 warning deviation-ended: the deviation for stray-ratio of \"U\" in a.yaml ended on 2026-12-31 and the finding is back\n"},
		{"ended and mended", permits("until: 2026-12-31"), "2027-01-01", nil,
			"d.yaml:3:102 warning deviation-ended: the deviation for stray-ratio of \"U\" in a.yaml ended on 2026-12-31 and nothing needs it any more\n"},
		{"unused", permits("until: 2026-12-31"), "2026-06-01", nil,
			"d.yaml:3:6 warning deviation-unused: the deviation for stray-ratio of \"U\" in a.yaml permits nothing: there is no such finding\n"},
		{"another cause", permits("cause: climb, until: 2026-12-31"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio fail error\n" +
				"d.yaml:3:6 warning deviation-unused: the deviation for stray-ratio of \"U\" in a.yaml permits nothing: there is no such finding\n"},
		{"the cause", permits("cause: cruise, until: 2026-12-31"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ")\n"},
		{"inside the bound", permits("until: 2026-12-31, up-to: 6.2 %"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ", up to 6.20 %)\n"},
		{"beyond the bound", permits("until: 2026-12-31, up-to: 6.1 %"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio fail error (d.yaml:3:6: the deviation permits 6.10 % at the worst)\n"},
		{"undecided", permits("until: 2026-12-31"), "2026-06-01", []finding.Finding{undecided()},
			"stray-ratio undecided warning (d.yaml:3:6: the deviation does not cover a verdict that could not be reached)\n"},
		{"undecided, covered", permits("until: 2026-12-31, undecided: true"), "2026-06-01", []finding.Finding{undecided()},
			"stray-ratio permitted none (d.yaml:3:6: " + words + ")\n"},
		{"ended for all causes, permitted for one", permits("until: 2026-01-31", "cause: cruise, until: 2026-12-31"), "2026-06-01", []finding.Finding{found()},
			"stray-ratio permitted none (d.yaml:3:6: the deviation ended on 2026-01-31) (d.yaml:4:6: " + words + ")\n" +
				"d.yaml:3:102 warning deviation-ended: the deviation for stray-ratio of \"U\" in a.yaml ended on 2026-01-31 and nothing needs it any more\n"},
		{"nothing", "deviations: 1\npermits: []\n", "2026-06-01", []finding.Finding{found()}, "stray-ratio fail error\n"},
	} {
		e := effective(t, "d.yaml", c.permits)
		o := e.Apply([]Checked{{Layout: "a.yaml", Findings: c.found}}, Options{Day: day(c.day)})
		if got := outcome(o); got != c.want {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
		if want := strings.Count(c.want, " permitted none"); len(o.Permitted) != want {
			t.Errorf("%s: %d permissions", c.name, len(o.Permitted))
		}
		for _, p := range o.Permitted {
			if p.Reason != "prototype" || p.By != "Head of Design" || p.Until != day("2026-12-31") || p.Finding.Verdict != finding.Permitted || p.InBase {
				t.Errorf("%s: %+v", c.name, p)
			}
		}
	}
}

// A bound is held against the worst that a number can be, in the sense of its
// limit; what has no number or no certainty is not inside.
func TestBounds(t *testing.T) {
	e := effective(t, "d.yaml", permits("until: 2026-12-31, up-to: 6.3 %"))
	f := found()
	for _, c := range []struct {
		m    *finding.Measure
		want bool
	}{
		{&finding.Measure{Value: 0.062, Limit: 0.05, Unit: "1", Certainty: 0.01}, true},  // 6.262 %
		{&finding.Measure{Value: 0.062, Limit: 0.05, Unit: "1", Certainty: 0.02}, false}, // 6.324 %
		{&finding.Measure{Value: 0.062, Limit: 0.05, Unit: "1", Certainty: math.NaN()}, false},
		{&finding.Measure{Value: math.NaN(), Limit: 0.05, Unit: "1"}, false},
		{&finding.Measure{Value: 0.062, Limit: 0.05, Unit: "T"}, false},
		{nil, false},
		{&finding.Measure{Value: 0.062, Limit: 0.07, Unit: "1", AtLeast: true}, false}, // below the floor permitted
		{&finding.Measure{Value: 0.064, Limit: 0.07, Unit: "1", AtLeast: true}, true},
		{&finding.Measure{Value: 0.064, Limit: 0.07, Unit: "1", AtLeast: true, Certainty: 0.02}, false}, // 6.272 %
	} {
		f.Measure = c.m
		o := e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{f}}}, Options{Day: 1})
		if got := len(o.Permitted) == 1; got != c.want {
			t.Errorf("%+v: permitted %v", c.m, got)
		}
	}
}

// A deviation that names both of a pair fits either order; one that names the
// first alone permits no pair in which that one stands second.
func TestDeviationsOfPairs(t *testing.T) {
	for _, c := range []struct {
		rule, cause string
		want        bool
	}{
		{"clearance", "cause: C, ", true}, {"creepage", "cause: C, ", true}, {"stray-ratio", "cause: C, ", false},
		{"clearance", "cause: S, ", false}, {"clearance", "", false},
	} {
		text := "deviations: 1\npermits:\n  - {file: a.yaml, rule: " + c.rule + ", object: R, " + c.cause + "reason: r, approver: A, until: 2026-12-31}\n"
		f := found()
		f.Rule, f.Object, f.Others, f.Cause = c.rule, "C", []string{"R"}, "R"
		o := effective(t, "d.yaml", text).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{f}}}, Options{Day: 1})
		if (len(o.Permitted) == 1) != c.want {
			t.Errorf("%+v:\n%s", c, outcome(o))
		}
	}
}

// Layouts that were not checked, or not read, prove nothing about a deviation.
func TestDeviationsOfOtherLayouts(t *testing.T) {
	e := effective(t, "d.yaml", permits("until: 2026-12-31"))
	for _, c := range []struct {
		name    string
		checked []Checked
		exists  func(string) bool
		want    string
	}{
		{"not checked", []Checked{{Layout: "b.yaml"}}, nil, ""},
		{"there", nil, func(name string) bool { return name == "a.yaml" }, ""},
		{"broken", []Checked{{Layout: "a.yaml", Broken: true}}, nil, ""},
		{"lost", nil, func(string) bool { return false }, "d.yaml:3:12 warning deviation-lost: the deviation names a.yaml, which does not exist\n"},
		{"same finding elsewhere", []Checked{{Layout: "b.yaml", Findings: []finding.Finding{found()}}}, nil, "stray-ratio fail error\n"},
	} {
		if got := outcome(e.Apply(c.checked, Options{Day: 1, Exists: c.exists})); got != c.want {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
	}
	// A problem of the file itself is never permitted.
	f := finding.Finding{Rule: "key-unknown", Verdict: finding.Fail, Level: finding.Error, Object: "U", Span: at(1, 1)}
	if o := e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{f}, Broken: true}}, Options{Day: 1}); len(o.Permitted) != 0 {
		t.Error("a problem of the file is permitted")
	}
	defer func() {
		if recover() == nil {
			t.Error("deviations without a day must panic")
		}
	}()
	e.Apply(nil, Options{})
}

func TestRefusedDeviations(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"unknown rule", strings.Replace(permits("until: 2026-12-31"), "stray-ratio", "stray-rate", 1),
			"d.yaml:3:26-3:36 error standard-unknown: no rule is called \"stray-rate\". Did you mean \"stray-ratio\"?\n"},
		{"a pair twice", strings.NewReplacer("stray-ratio, object: U", "clearance, object: R").Replace(permits("cause: C, until: 2026-12-31")) +
			"  - {file: a.yaml, rule: clearance, object: C, cause: R, reason: r, approver: A, until: 2026-12-31}\n",
			"d.yaml:4:6-4:10 error deviation-repeated: the deviation for clearance of \"C\" in a.yaml stands twice\n"},
		{"a problem of files", strings.Replace(permits("until: 2026-12-31"), "stray-ratio", "file-syntax", 1),
			"d.yaml:3:26-3:37 error standard-unknown: no rule is called \"file-syntax\"\n"},
		{"unit of the bound", permits("until: 2026-12-31, up-to: 2 mT"),
			"d.yaml:3:121-3:125 error value-quantity: up-to of the deviation for stray-ratio: mT is a flux density, share wanted. Write % or ppm\n"},
		{"bound of no number", strings.Replace(permits("until: 2026-12-31, up-to: 2 %"), "stray-ratio", "geometry", 1),
			"d.yaml:3:118-3:121 error value-quantity: rule geometry judges no number that a bound could hold\n"},
		{"twice", permits("until: 2026-12-31", "until: 2027-12-31"),
			"d.yaml:4:6-4:10 error deviation-repeated: the deviation for stray-ratio of \"U\" in a.yaml stands twice\n"},
	} {
		e, problems := New(read(t, "d.yaml", c.text), known())
		if got := said(problems); got != c.want || e != nil {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
	}
}

// Apply does not depend on the order of layouts and leaves its input alone.
func TestApplyIsOrdered(t *testing.T) {
	e := effective(t, "d.yaml", permits("until: 2026-12-31"), "b.yaml", recorded(t, undecided()))
	a := Checked{Layout: "a.yaml", Findings: []finding.Finding{found()}}
	b := Checked{Layout: "b.yaml", Findings: []finding.Finding{found(), undecided()}}
	b.Findings[0].Span.File, b.Findings[1].Span.File = "b.yaml", "b.yaml"
	x, y := e.Apply([]Checked{a, b}, Options{Day: 1}), e.Apply([]Checked{b, a}, Options{Day: 1})
	if !reflect.DeepEqual(x, y) {
		t.Errorf("%s\n%s", outcome(x), outcome(y))
	}
	if a.Findings[0].Verdict != finding.Fail || len(a.Findings[0].Related) != 0 {
		t.Error("the input was changed")
	}
	if !slices.IsSortedFunc(x.Findings, engine.Compare) {
		t.Error("not sorted")
	}
}

// The descriptions cover every rule that this package reports.
func TestProblemsAreDescribed(t *testing.T) {
	list := Problems()
	if !slices.IsSortedFunc(list, func(a, b finding.Description) int { return strings.Compare(a.ID, b.ID) }) {
		t.Error("not sorted")
	}
	for _, id := range []string{ruleUnknown, ruleLooser, ruleVersion, ruleExpression, ruleRepeated, ruleEnded, ruleSoon, ruleUnused, ruleLost, ruleGone} {
		if !slices.ContainsFunc(list, func(d finding.Description) bool { return d.ID == id && d.Title != "" && d.Full != "" && d.Help != "" }) {
			t.Errorf("%s is not described", id)
		}
	}
}
