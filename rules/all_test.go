package rules_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
)

func TestAllIsValid(t *testing.T) {
	if err := engine.Validate(rules.All()); err != nil {
		t.Fatal(err)
	}
}

// TestFourCases refuses a rule without its four kinds of case, and a folder that
// no rule owns or a file that no test reads.
func TestFourCases(t *testing.T) {
	known := map[string]bool{}
	for _, r := range rules.All() {
		known[r.ID] = true
		for _, kind := range kinds {
			if reasoned(t, r.ID, kind) {
				continue
			}
			if _, err := os.Stat(filepath.Join("testdata", r.ID, kind+".txtar")); err != nil {
				t.Errorf("rule %q lacks its case %q: %v", r.ID, kind, err)
			}
		}
	}
	folders, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range folders {
		if !known[folder.Name()] {
			t.Errorf("testdata/%s belongs to no rule", folder.Name())
			continue
		}
		files, err := os.ReadDir(filepath.Join("testdata", folder.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			name := f.Name()
			if i := strings.LastIndex(name, "-"); i >= 0 {
				name = name[i+1:] // what it is about stands in front
			}
			switch name {
			case "clean.txtar", "inside.txtar", "outside.txtar", "undecided.txtar", "undecided.md", "outside.md":
			default:
				t.Errorf("testdata/%s/%s is read by no test", folder.Name(), f.Name())
			}
		}
	}
}

// Every rule is described in the catalogue with its five facts and its limits.
func TestCatalogueDescribesEveryRule(t *testing.T) {
	list := rules.All()
	described := rules.Describe(list)
	for i, r := range list {
		help := rules.HelpOf(r.ID)
		for _, fact := range []string{"Quantity", "Formula", "Valid", "Source", "Not seen"} {
			if !strings.Contains(help, "- "+fact+": ") {
				t.Errorf("catalogue of %q lacks %q", r.ID, fact)
			}
		}
		for _, l := range r.Limits {
			if !strings.Contains(help, "Limit `"+l.Key+"`") {
				t.Errorf("catalogue of %q lacks limit %q", r.ID, l.Key)
			}
		}
		if d := described[i]; d.ID != r.ID || d.Title != r.Title || d.Level != r.Level || d.Full == "" || d.Help != help {
			t.Errorf("description of %q: %+v", r.ID, d)
		}
	}
	if rules.HelpOf("no-such-rule") != "" {
		t.Error("a rule that does not exist has help")
	}
}

// A field that cannot be computed, here since a shield runs through a bar, leaves
// every field rule undecided: no sensor passes and none fails. The same bars
// without the shield are judged.
func TestUnknownFieldLeavesFieldRulesUndecided(t *testing.T) {
	const bars = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [60 mm, 0 mm], metal: copper}
sensors:
  SU: {reads: U, at: [0 mm, 5.5 mm], axis: 180 deg, part: dunlin, placement: {x: 0.1 mm, y: 0.1 mm, tilt: 1 deg}}
  SV: {reads: V, at: [60 mm, 5.5 mm], axis: 180 deg, part: dunlin, placement: {x: 0.1 mm, y: 0.1 mm, tilt: 1 deg}}
parts:
  dunlin: {linear-range: 20 mT, sensitivity: 100 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 500 A}, V: {dc: -500 A}}}
`
	const through = `shields:
  P: {form: {plate: {width: 40 mm, thickness: 1 mm}}, at: [0 mm, 1 mm], material: iron, depth: long}
materials:
  iron: {relative-permeability: 5000, saturation: 1.9 T}
`
	for _, r := range []engine.Rule{rules.LinearRange, rules.RangeUse, rules.Polarity, rules.StrayRatio, rules.AmbientField, rules.Placement, rules.SensorAxis} {
		for _, id := range []string{"SU", "SV"} {
			if f := one(t, check(t, r, bars+through), id); f.Verdict != finding.Undecided || f.Level == finding.None || !strings.Contains(f.Message, "cannot be judged") {
				t.Errorf("%s %s: %v %v: %s", r.ID, id, f.Verdict, f.Level, f.Message)
			}
			if f := one(t, check(t, r, bars), id); f.Verdict != finding.Pass {
				t.Errorf("%s %s without the shield: %v %s", r.ID, id, f.Verdict, f.Message)
			}
		}
	}
}

// TestEveryTextIsOneLine reads all that the cases make the rules say: one line,
// lower case, no full stop, no number that is none. TestCases reads what the rule of a
// case says; here all rules speak, of every seventh layout without shields and with -long of all.
func TestEveryTextIsOneLine(t *testing.T) {
	paths, err := filepath.Glob("testdata/*/*.txtar")
	if err != nil || len(paths) == 0 {
		t.Fatal("no cases", err)
	}
	read, step := 0, 7
	if *long {
		step = 1
	}
	for k := 0; k < len(paths); k += step {
		path := paths[k]
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, text, _ := strings.Cut(string(data), "-- layout.yaml --\n")
		yaml, _, _ := strings.Cut(text, "-- want --\n")
		l := mustLoad(t, yaml)
		if len(l.Shields) > 0 && !*long {
			continue
		}
		read++
		oneLine(t, path, engine.Check(l, rules.All(), engine.Options{}))
	}
	if read < 100/step {
		t.Errorf("%d cases read", read)
	}
}

var badText = regexp.MustCompile(`\bNaN\b|not a number|infinite|%!|\s$`)

// oneLine fails where a text of the findings of the case in path is not as TestEveryTextIsOneLine
// wants it, where a finding has no place, and where its level is not that of its verdict.
func oneLine(t *testing.T, path string, found []finding.Finding) {
	t.Helper()
	for _, f := range found {
		firstSentence(t, path, &f)
		lines := []string{f.Message}
		if f.Remedy != "" {
			lines = append(lines, f.Remedy)
		}
		for _, r := range f.Related {
			lines = append(lines, r.Message)
			if !r.Span.Valid() {
				t.Errorf("%s: %s points nowhere: %s", path, f.Rule, r.Message)
			}
		}
		for _, line := range lines {
			if badText.MatchString(line) || strings.Contains(line, "\n") || strings.HasSuffix(line, ".") || line == "" {
				t.Errorf("%s: %s: %q", path, f.Rule, line)
			}
		}
		if !f.Span.Valid() {
			t.Errorf("%s: %s has no place: %s", path, f.Rule, f.Message)
		}
		if (f.Level == finding.None) != (f.Verdict == finding.Pass || f.Verdict == finding.NotApplicable) {
			t.Errorf("%s: %s: %v with level %v", path, f.Rule, f.Verdict, f.Level)
		}
	}
}
