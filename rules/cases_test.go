package rules_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

var (
	update = flag.Bool("update", false, "rewrite the want part of the rule cases")
	long   = flag.Bool("long", false, "run cases of minutes too")
)

// kinds are the four cases that every rule has. A rule that knows no undecided
// case says why in undecided.md.
var kinds = []string{"clean", "inside", "outside", "undecided"}

// TestCases runs each rule alone over its layouts and compares every line that
// it says, passes included, with the case's want.
func TestCases(t *testing.T) {
	for _, rule := range rules.All() {
		for _, kind := range kinds {
			// Further cases say in front what they are about.
			further, err := filepath.Glob(filepath.Join("testdata", rule.ID, "*-"+kind+".txtar"))
			if err != nil {
				t.Fatal(err)
			}
			for _, path := range further {
				name := strings.TrimSuffix(filepath.Base(path), ".txtar")
				t.Run(rule.ID+"/"+name, func(t *testing.T) { runCase(t, rule, kind, path) })
			}
			path := filepath.Join("testdata", rule.ID, kind+".txtar")
			if reasoned(t, rule.ID, kind) {
				continue
			}
			t.Run(rule.ID+"/"+kind, func(t *testing.T) { runCase(t, rule, kind, path) })
		}
	}
}

// dear are cases that solve for seconds, mostly for their remedies: .ci/run has them, by -long. Each of their rules keeps others of
// the kind.
var dear = map[string]bool{
	"shield-linearity/outside": true, "shield-linearity/permeability-tolerance-outside": true, "shield-linearity/hump-outside": true,
	"shield-linearity/opening-tolerance-outside": true, "calibration/duties-outside": true,
	"shield-saturation/short-beside-long-outside": true, "shield-saturation/short-slit-ring-outside": true,
	"zeroing/set-beside-undecided": true, "shield-linearity/any-depth-undecided": true,
}

func runCase(t *testing.T, rule engine.Rule, kind, path string) {
	if dear[rule.ID+"/"+strings.TrimSuffix(filepath.Base(path), ".txtar")] && !*long && !*update {
		t.Skip("seconds: with -long")
	}
	archive, err := txtar.ParseFile(path)
	if err != nil {
		t.Fatalf("rule %q lacks its case %q: %v", rule.ID, kind, err)
	}
	if len(bytes.TrimSpace(archive.Comment)) == 0 {
		t.Errorf("%s does not say where its numbers come from", path)
	}
	if len(archive.Files) != 2 || archive.Files[0].Name != "layout.yaml" || archive.Files[1].Name != "want" {
		t.Fatalf("%s must hold layout.yaml and want", path)
	}
	l, problems := load.Load("layout.yaml", archive.Files[0].Data)
	if l == nil {
		t.Fatalf("layout does not load: %v", problems)
	}
	found := engine.Check(l, []engine.Rule{rule}, engine.Options{})
	verdicts(t, kind, found)
	oneLine(t, path, found)
	got := printed(found)
	if *update {
		archive.Files[1].Data = []byte(got)
		if err := os.WriteFile(path, txtar.Format(archive), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	compareLines(t, got, string(archive.Files[1].Data))
}

// verdicts refuses a case that does not show what its name says, whatever its
// want says.
func verdicts(t *testing.T, kind string, found []finding.Finding) {
	t.Helper()
	count := map[finding.Verdict]int{}
	for _, f := range found {
		count[f.Verdict]++
		if f.Verdict == finding.Fail && f.Remedy == "" {
			t.Errorf("%s fails without a remedy: %s", f.Object, f.Message)
		}
	}
	fails, open, passes := count[finding.Fail], count[finding.Undecided], count[finding.Pass]
	switch kind {
	case "clean", "inside":
		if fails+open > 0 || passes == 0 {
			t.Errorf("case %s: %d fail, %d undecided, %d pass", kind, fails, open, passes)
		}
	case "outside":
		if fails == 0 {
			t.Error("case outside: nothing fails")
		}
	case "undecided":
		if open == 0 || fails > 0 {
			t.Errorf("case undecided: %d undecided, %d fail", open, fails)
		}
	}
}

// printed writes one line a finding, then its remedy and its related places.
func printed(found []finding.Finding) string {
	var b strings.Builder
	for _, f := range found {
		fmt.Fprintf(&b, "%d:%d %s %s %s %s: %s\n", f.Span.Start.Line, f.Span.Start.Column, f.Verdict, f.Level, f.Rule, f.Object, f.Message)
		if f.Remedy != "" {
			fmt.Fprintf(&b, "  remedy: %s\n", f.Remedy)
		}
		for _, r := range f.Related {
			fmt.Fprintf(&b, "  see %d:%d: %s\n", r.Span.Start.Line, r.Span.Start.Column, r.Message)
		}
	}
	return b.String()
}

// compareLines fails for each line that is missing and each that is too many.
func compareLines(t *testing.T, got, want string) {
	t.Helper()
	if got == want {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for _, line := range w {
		if !slices.Contains(g, line) {
			t.Errorf("missing: %s", line)
		}
	}
	for _, line := range g {
		if !slices.Contains(w, line) {
			t.Errorf("extra:   %s", line)
		}
	}
	if !t.Failed() {
		t.Errorf("lines are repeated or in another order\ngot:\n%swant:\n%s", got, want)
	}
}

// reasoned reports whether the case of this kind is replaced by a file that says
// why there is none: an undecided case, or one outside of a rule that only says what
// cannot be judged.
func reasoned(t *testing.T, id, kind string) bool {
	t.Helper()
	if kind != "undecided" && kind != "outside" {
		return false
	}
	text, err := os.ReadFile(filepath.Join("testdata", id, kind+".md"))
	if err != nil {
		return false
	}
	if len(strings.Fields(string(text))) < 10 {
		t.Errorf("rule %q: %s.md gives no reason", id, kind)
	}
	if _, err := os.Stat(filepath.Join("testdata", id, kind+".txtar")); err == nil {
		t.Errorf("rule %q has a case %s and a reason for having none", id, kind)
	}
	return true
}

// mustLoad loads a layout written in a test.
func mustLoad(t testing.TB, yaml string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("layout.yaml", []byte(yaml))
	if l == nil {
		t.Fatalf("layout does not load: %v\n%s", problems, yaml)
	}
	return l
}

// check runs one rule over a layout written in a test.
func check(t testing.TB, rule engine.Rule, yaml string) []finding.Finding {
	t.Helper()
	return engine.Check(mustLoad(t, yaml), []engine.Rule{rule}, engine.Options{})
}

// one returns the only finding on an object.
func one(t testing.TB, found []finding.Finding, object string) finding.Finding {
	t.Helper()
	var out []finding.Finding
	for _, f := range found {
		if f.Object == object {
			out = append(out, f)
		}
	}
	if len(out) != 1 {
		t.Fatalf("%d findings on %q, want 1:\n%s", len(out), object, printed(found))
	}
	return out[0]
}

// measured fails unless f has the verdict and a value within rel of want.
func measured(t testing.TB, f finding.Finding, verdict finding.Verdict, want, rel float64) {
	t.Helper()
	if f.Verdict != verdict {
		t.Errorf("%s %s: %v, want %v: %s", f.Rule, f.Object, f.Verdict, verdict, f.Message)
	}
	if f.Measure == nil {
		t.Fatalf("%s %s has no number", f.Rule, f.Object)
	}
	if d := f.Measure.Value - want; !(d <= rel*want && -d <= rel*want) {
		t.Errorf("%s %s: %.6g, want %.6g within %.2g", f.Rule, f.Object, f.Measure.Value, want, rel)
	}
}
