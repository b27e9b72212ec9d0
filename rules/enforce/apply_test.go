package enforce

import (
	"bytes"
	"errors"
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
			"d.yaml:3:26-3:36 error standard-unknown: no rule is called \"stray-rate\"; did you mean \"stray-ratio\"?\n"},
		{"a problem of files", strings.Replace(permits("until: 2026-12-31"), "stray-ratio", "file-syntax", 1),
			"d.yaml:3:26-3:37 error standard-unknown: no rule is called \"file-syntax\"\n"},
		{"unit of the bound", permits("until: 2026-12-31, up-to: 2 mT"),
			"d.yaml:3:121-3:125 error value-quantity: up-to of the deviation for stray-ratio: mT is a flux density, share wanted: % or ppm would do\n"},
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

// recorded writes and reads a baseline of the findings of a.yaml.
func recorded(t *testing.T, list ...finding.Finding) string {
	t.Helper()
	var out bytes.Buffer
	entries := effective(t).Record([]Checked{{Layout: "a.yaml", Findings: list}}, nil)
	if err := WriteBaseline(&out, entries, func(s string) string { return s }); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestBaselineText(t *testing.T) {
	f, g, h := found(), undecided(), found()
	g.Object, g.Measure.Value = "V\u202e\"\U000e0001", math.NaN()
	h.Rule, h.Measure = "geometry", nil
	h.Cause, h.Others = "", nil
	passed, problem, note := found(), found(), found()
	passed.Verdict, problem.Rule, note.Verdict = finding.Pass, "key-unknown", finding.Permitted
	text := recorded(t, f, g, h, passed, problem, note)
	want := `# Findings that stood when this was written. Remove lines, do not add any.
baseline: 1
findings:
  - {file: "a.yaml", rule: "geometry", object: "U", verdict: fail, level: error, value: 0.062, limit: 0.05, unit: "1"}
  - {file: "a.yaml", rule: "stray-ratio", object: "U", cause: "cruise", others: ["A", "B"], verdict: fail, level: error, value: 0.062, limit: 0.05, unit: "1"}
  - {file: "a.yaml", rule: "stray-ratio", object: "V\u202e\"\U000e0001", cause: "cruise", others: ["A", "B"], verdict: undecided, level: warning}
`
	want = strings.Replace(want, `level: error, value: 0.062, limit: 0.05, unit: "1"}`, `level: error}`, 1)
	if text != want {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
	set := read(t, "b.yaml", text)
	if len(set.Baseline) != 3 || set.Baseline[2].Object != g.Object || set.Baseline[1].Value != 0.062 {
		t.Errorf("%+v", set.Baseline)
	}
	// Written again it is the same, and everything in it is permitted.
	e := effective(t, "b.yaml", text)
	checked := []Checked{{Layout: "a.yaml", Findings: []finding.Finding{h, g, f}}}
	o := e.Apply(checked, Options{Strict: true})
	if len(o.Permitted) != 3 || len(o.Findings) != 3 {
		t.Errorf("%s", outcome(o))
	}
	again := e.Record(checked, set.Baseline)
	for i := range again {
		again[i].Span = set.Baseline[i].Span
	}
	if !reflect.DeepEqual(again, set.Baseline) {
		t.Errorf("got  %+v\nwant %+v", again, set.Baseline)
	}
	if got := recorded(t); got != "# Findings that stood when this was written. Remove lines, do not add any.\nbaseline: 1\nfindings: []\n" {
		t.Error(got)
	}
}

// A baseline hides what stood, and nothing that got worse.
func TestBaselineHidesNothingWorse(t *testing.T) {
	text := recorded(t, found())
	change := func(edit func(*finding.Finding)) finding.Finding {
		f := found()
		m := *f.Measure
		f.Measure = &m
		edit(&f)
		return f
	}
	for _, c := range []struct {
		name   string
		f      finding.Finding
		hidden bool
		says   string
	}{
		{"as it was", found(), true, "recorded in the baseline"},
		{"better", change(func(f *finding.Finding) { f.Measure.Value = 0.055 }), true, ""},
		{"elsewhere in the file", change(func(f *finding.Finding) { f.Span = at(70, 1) }), true, ""},
		{"others in another order", change(func(f *finding.Finding) { f.Others = []string{"B", "A"} }), true, ""},
		{"within the slack", change(func(f *finding.Finding) { f.Measure.Value = 0.0624 }), true, ""}, // slack: 1 % of 5 % = 0.05 %
		{"beyond the slack", change(func(f *finding.Finding) { f.Measure.Value = 0.0626 }), false, "the baseline records 6.20 %"},
		{"limit tighter, no more than the slack", change(func(f *finding.Finding) { f.Measure.Limit = 0.0496 }), true, ""},
		{"limit tighter", change(func(f *finding.Finding) { f.Measure.Limit = 0.049 }), false, "the baseline records a limit of 5.00 %, which is 4.90 % now"},
		{"limit and number, each within the slack", change(func(f *finding.Finding) { f.Measure.Value, f.Measure.Limit = 0.0624, 0.0496 }), false, "the baseline records a limit of 5.00 %"},
		{"limit tighter, number as much better", change(func(f *finding.Finding) { f.Measure.Value, f.Measure.Limit = 0.042, 0.03 }), true, ""},
		{"limit looser", change(func(f *finding.Finding) { f.Measure.Limit = 0.06 }), true, ""},
		{"limit looser, number worse", change(func(f *finding.Finding) { f.Measure.Value, f.Measure.Limit = 0.072, 0.06 }), false, "the baseline records 6.20 %"},
		{"limit of nothing", change(func(f *finding.Finding) { f.Measure.Limit = 0 }), false, "the baseline records a limit of 5.00 %"},
		{"undecided against a tighter limit", change(func(f *finding.Finding) {
			f.Verdict, f.Level, f.Measure.Limit = finding.Undecided, finding.Warning, 0.03
		}), false, "the baseline records a limit of 5.00 %"},
		{"undecided, no worse", change(func(f *finding.Finding) { f.Verdict, f.Level = finding.Undecided, finding.Warning }), true, ""},
		{"not known any more", change(func(f *finding.Finding) {
			f.Verdict, f.Level, f.Measure.Value = finding.Undecided, finding.Warning, math.NaN()
		}), false, "the baseline records no number that could be compared"},
		{"another unit", change(func(f *finding.Finding) { f.Measure.Unit = "T" }), false, "no number that could be compared"},
		{"another cause", change(func(f *finding.Finding) { f.Cause = "climb" }), false, ""},
		{"another neighbour", change(func(f *finding.Finding) { f.Others = []string{"A", "C"} }), false, ""},
		{"another channel", change(func(f *finding.Finding) { f.Object = "V" }), false, ""},
	} {
		e := effective(t, "b.yaml", text)
		o := e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{c.f}}}, Options{})
		if (len(o.Permitted) == 1) != c.hidden || !strings.Contains(outcome(o), c.says) {
			t.Errorf("%s:\n%s", c.name, outcome(o))
		}
	}
	warning := change(func(f *finding.Finding) { f.Level = finding.Warning })
	if o := effective(t, "b.yaml", recorded(t, warning)).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{found()}}}, Options{}); len(o.Permitted) > 0 {
		t.Error("a warning that became an error is hidden")
	}
	if o := effective(t, "b.yaml", recorded(t, undecided())).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{found()}}}, Options{}); len(o.Permitted) > 0 {
		t.Error("an undecided verdict that became a failure is hidden")
	}
	// The same at equal levels, so that the verdict alone decides.
	open, failed := undecided(), change(func(f *finding.Finding) { f.Level = finding.Warning })
	if o := effective(t, "b.yaml", recorded(t, open)).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{failed}}}, Options{}); len(o.Permitted) > 0 {
		t.Error("an undecided verdict that became a failure of the same level is hidden")
	}
	// Against a floor, less is worse.
	floor := func(v float64) finding.Finding {
		return change(func(f *finding.Finding) {
			*f.Measure = finding.Measure{Value: v, Limit: 0.2, Unit: "1", AtLeast: true}
		})
	}
	for v, hidden := range map[float64]bool{0.1: true, 0.15: true, 0.0985: true, 0.097: false} { // slack: 1 % of 20 %
		o := effective(t, "b.yaml", recorded(t, floor(0.1))).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{floor(v)}}}, Options{})
		if (len(o.Permitted) == 1) != hidden {
			t.Errorf("floor of 20 %%, 10 %% recorded, %g found: hidden %v", v, !hidden)
		}
	}
	// A floor that rises asks for more, also of what has nothing.
	for _, c := range []struct {
		v, limit float64
		hidden   bool
	}{{0.1, 0.2, true}, {0.1, 0.2015, true}, {0.1, 0.203, false}, {0.1, 0.1, true}, {0.13, 0.23, true}, {0.05, 0.1, false}} {
		f := floor(c.v)
		f.Measure.Limit = c.limit
		o := effective(t, "b.yaml", recorded(t, floor(0.1))).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{f}}}, Options{})
		if (len(o.Permitted) == 1) != c.hidden {
			t.Errorf("10 %% against a floor of 20 %% recorded, %g against %g found: hidden %v", c.v, c.limit, !c.hidden)
		}
	}
	nothing := floor(0)
	nothing.Measure.Limit = 0.9
	if o := effective(t, "b.yaml", recorded(t, floor(0))).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{nothing}}}, Options{}); len(o.Permitted) > 0 {
		t.Error("0 against a floor of 90 %, recorded against one of 20 %, is hidden")
	}
	// One line hides one finding, not its double.
	twin := change(func(f *finding.Finding) { f.Span = at(10, 1) })
	if o := effective(t, "b.yaml", text).Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{found(), twin}}}, Options{}); len(o.Permitted) != 1 {
		t.Errorf("one line hides %d", len(o.Permitted))
	}
	wide := effective(t, "b.yaml", text, "s.yaml", "standard: 1\nbaseline-slack: 20 %\n")
	if o := wide.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{change(func(f *finding.Finding) { f.Measure.Value = 0.0719 })}}}, Options{}); len(o.Permitted) != 1 {
		t.Error("a slack of 20 % of 5 % permits 7.19 %")
	}
}

func TestBaselineGone(t *testing.T) {
	e := effective(t, "b.yaml", recorded(t, found()))
	gone := "b.yaml:4:5 %s baseline-gone: nothing matches the baseline's stray-ratio of \"U\" in a.yaml any more\n"
	for _, c := range []struct {
		checked []Checked
		o       Options
		want    string
	}{
		{[]Checked{{Layout: "a.yaml"}}, Options{}, fmt.Sprintf(gone, "note")},
		{[]Checked{{Layout: "a.yaml"}}, Options{Strict: true}, fmt.Sprintf(gone, "error")},
		{[]Checked{{Layout: "a.yaml", Broken: true}}, Options{Strict: true}, ""},
		{[]Checked{{Layout: "b.yaml"}}, Options{Strict: true}, ""},
		{nil, Options{Exists: func(string) bool { return false }}, fmt.Sprintf(gone, "note")},
	} {
		if got := outcome(e.Apply(c.checked, c.o)); got != c.want {
			t.Errorf("%+v: got %swant %s", c.checked, got, c.want)
		}
	}
}

// Recording some layouts keeps what is recorded of the others.
func TestRecordKeepsOthers(t *testing.T) {
	e := effective(t)
	old := []policy.Entry{{File: "b.yaml", Rule: "geometry", Object: "X", Level: "error"},
		{File: "a.yaml", Rule: "geometry", Object: "X", Level: "error"},
		{File: "c.yaml", Rule: "geometry", Object: "X", Level: "error"}}
	got := e.Record([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{found()}}, {Layout: "c.yaml", Broken: true}}, old)
	var files []string
	for _, entry := range got {
		files = append(files, entry.File+" "+entry.Rule)
	}
	if want := []string{"a.yaml stray-ratio", "b.yaml geometry", "c.yaml geometry"}; !slices.Equal(files, want) {
		t.Errorf("%v", files)
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

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space") }

func TestWriteBaselineFails(t *testing.T) {
	if err := WriteBaseline(full{}, nil, nil); err == nil || !strings.Contains(err.Error(), "no space") {
		t.Error(err)
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
