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
)

// recorded writes and reads a baseline of the findings of a.yaml.
func recorded(t *testing.T, list ...finding.Finding) string {
	t.Helper()
	var out bytes.Buffer
	entries := effective(t).Record([]Checked{{Layout: "a.yaml", Findings: list}}, nil, nil)
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
	again := e.Record(checked, set.Baseline, nil)
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
	// The two of a pair may be written in either order; other objects may not.
	pair := func(rule, a, b string) finding.Finding {
		return change(func(f *finding.Finding) { f.Rule, f.Object, f.Others, f.Cause = rule, a, []string{b}, b })
	}
	for rule, hidden := range map[string]bool{"clearance": true, "creepage": true, "stray-ratio": false} {
		e := effective(t, "b.yaml", recorded(t, pair(rule, "R", "C")))
		o := e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{pair(rule, "C", "R")}}}, Options{})
		if (len(o.Permitted) == 1) != hidden || (len(o.Absent) == 0) != hidden {
			t.Errorf("%s of C and R, R and C recorded: %s", rule, outcome(o))
		}
		o = e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{pair(rule, "C", "S")}}}, Options{})
		if len(o.Permitted) > 0 {
			t.Errorf("%s of C and S, R and C recorded, is hidden", rule)
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
	got := e.Record([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{found()}}, {Layout: "c.yaml", Broken: true}}, old, nil)
	var files []string
	for _, entry := range got {
		files = append(files, entry.File+" "+entry.Rule)
	}
	if want := []string{"a.yaml stray-ratio", "b.yaml geometry", "c.yaml geometry"}; !slices.Equal(files, want) {
		t.Errorf("%v", files)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space") }

func TestWriteBaselineFails(t *testing.T) {
	if err := WriteBaseline(full{}, nil, nil); err == nil || !strings.Contains(err.Error(), "no space") {
		t.Error(err)
	}
}
