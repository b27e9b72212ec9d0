package rules_test

import (
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// wholly checks the text of a layout by all rules, as the command does.
func wholly(t testing.TB, text string) []finding.Finding {
	t.Helper()
	return engine.Check(mustLoad(t, text), rules.All(), engine.Options{File: &engine.File{Text: text, Load: func(text string) *layout.Layout {
		l, _ := load.Load("case.yaml", []byte(text))
		return l
	}}})
}

// open counts what is no pass, by rule and object.
func open(found []finding.Finding) map[string]int {
	out := map[string]int{}
	for i := range found {
		if f := &found[i]; f.Verdict == finding.Fail || f.Verdict == finding.Undecided {
			out[f.Rule+" of "+f.Object]++
		}
	}
	return out
}

// TestOfferedChangesHold carries out each change that a finding of the cases offers, by its edits of the file alone, and
// checks the whole layout again: the finding is gone, nothing new has come, and no byte but those of the edits has changed.
func TestOfferedChangesHold(t *testing.T) {
	offered := map[string]int{}
	files, err := filepath.Glob("testdata/*/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatal(err, len(files))
	}
	for _, name := range files {
		base := filepath.Base(name)
		if base != "outside.txtar" && !*long {
			continue
		}
		archive, err := txtar.ParseFile(name)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(archive.Files, func(f txtar.File) bool { return f.Name == "layout.yaml" })
		text := string(archive.Files[i].Data)
		before := wholly(t, text)
		tried := map[string]bool{}
		for k := range before {
			f := &before[k]
			for _, c := range f.Changes {
				offered[f.Rule]++
				if tried[f.Rule+f.Object+c.Title] {
					continue
				}
				tried[f.Rule+f.Object+c.Title] = true
				holds(t, name, text, before, f, &c)
			}
		}
	}
	want := []string{"stray-ratio", "stray-with-frequency", "linear-range", "range-use", "sensor-axis", "ambient-field", "gain-with-frequency",
		"shield-saturation", "shield-linearity", "polarity", "output-chain", "response", "zeroing", "plausibility"}
	if *long {
		want = append(want, "placement", "clearance")
	}
	for _, rule := range want {
		if offered[rule] == 0 {
			t.Errorf("no case shows a change for %s: %v", rule, offered)
		}
	}
}

// A part of which less is declared is no remedy: the checks that it silences would be lost without a word.
func TestNoOfferSilencesACheck(t *testing.T) {
	layoutWith := func(plain string) string {
		return `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 600 mm}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [120 mm, 0 mm], metal: copper, length: 600 mm}
sensors:
  S: {reads: U, at: [0 mm, 5.5 mm], axis: 180 deg, part: rich}
  T: {reads: V, at: [120 mm, 5.5 mm], axis: 180 deg, part: plain}
parts:
  rich: {linear-range: 1.5 mT, sensitivity: 100 mV/mT, output: {zero: 1.65 V, low: 0.3 V, high: 3.0 V}}
  plain: {linear-range: 12 mT` + plain + `}
duties:
  run: {kind: continuous, currents: {U: {dc: 200 A}, V: {dc: -200 A}}}
`
	}
	for plain, offered := range map[string]bool{"": false, ", sensitivity: 100 mV/mT, output: {zero: 1.65 V, low: 0.3 V, high: 3.0 V}": true} {
		found := wholly(t, layoutWith(plain))
		i := slices.IndexFunc(found, func(f finding.Finding) bool { return f.Rule == "linear-range" && f.Object == "S" })
		const title = "part plain for S instead of rich"
		if has := slices.ContainsFunc(found[i].Changes, func(c finding.Change) bool { return c.Title == title }); found[i].Verdict != finding.Fail || has != offered {
			t.Errorf("plain%s: %v, offered %v: %s", plain, found[i].Verdict, has, found[i].Remedy)
		}
	}
}

// holds carries out c, which f offers.
func holds(t *testing.T, name, text string, before []finding.Finding, f *finding.Finding, c *finding.Change) {
	t.Helper()
	changed, err := edit.Apply(text, c.Edits)
	if err != nil {
		t.Errorf("%s: %s: %v", name, c.Title, err)
		return
	}
	if strings.Count(changed, "\n") != strings.Count(text, "\n") {
		t.Errorf("%s: %s changes the lines of the file", name, c.Title)
	}
	after := wholly(t, changed)
	was, is := open(before), open(after)
	for key, n := range is {
		if n > was[key] {
			t.Errorf("%s: %s brings %s\n%s", name, c.Title, key, printed(after))
		}
	}
	key := f.Rule + " of " + f.Object
	if is[key] >= was[key] {
		t.Errorf("%s: %s does not clear %s", name, c.Title, key)
	}
	for _, also := range c.Clears {
		if is[also] > 0 && is[also] >= was[also] {
			t.Errorf("%s: %s does not clear %s, as it says", name, c.Title, also)
		}
	}
}

// TestOfferMovesFailureToNoOtherDuty: U and W lie to either side under V, one of them flowing in each duty. Turning the axis
// from U turns it towards W: what clears the duty that is reported leaves the same sensor worse in the other.
func TestOfferMovesFailureToNoOtherDuty(t *testing.T) {
	text := `layout: 1
title: Two duties
bars:
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 80 °C}
  U: {section: {width: 6 mm, thickness: 3 mm}, at: [-40 mm, -20 mm], metal: copper, temperature: 80 °C}
  W: {section: {width: 6 mm, thickness: 3 mm}, at: [40 mm, -20 mm], metal: copper, temperature: 80 °C}
sensors:
  SV: {reads: V, at: [0 mm, 3.5 mm], axis: 180 deg, part: snipe-9, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}
parts:
  snipe-9: {linear-range: 9 mT, sensitivity: 70 mV/mT}
duties:
  a: {kind: continuous, currents: {V: {dc: 200 A}, U: {dc: 180 A}}}
  b: {kind: continuous, currents: {V: {dc: 200 A}, W: {dc: 177 A}}}
surroundings: {return: far}
`
	before := wholly(t, text)
	i := slices.IndexFunc(before, func(f finding.Finding) bool { return f.Rule == rules.StrayRatio.ID && f.Verdict == finding.Fail })
	if i < 0 || before[i].Cause != "a" {
		t.Fatal("the layout does not fail in its first duty")
	}
	for _, c := range before[i].Changes {
		mended, err := edit.Apply(text, c.Edits)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range wholly(t, mended) {
			if f.Rule == rules.StrayRatio.ID && f.Verdict != finding.Pass {
				t.Errorf("with %q: %s", c.Title, f.Message)
			}
		}
	}
	if strings.HasPrefix(before[i].Remedy, "turn the axis") {
		t.Errorf("offered: %s", before[i].Remedy)
	}
}

// TestOfferMakesNoFailureWorse: nearer to V the neighbours weigh less, but the gap that must insulate is too small as it is.
func TestOfferMakesNoFailureWorse(t *testing.T) {
	text := `layout: 1
title: Cable ferry, winch motor
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-30 mm, 0 mm], metal: copper, temperature: 80 °C, length: 300 mm}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 80 °C, length: 300 mm}
  W: {section: {width: 20 mm, thickness: 3 mm}, at: [30 mm, 0 mm], metal: copper, temperature: 80 °C, length: 300 mm}
sensors:
  SV: {reads: V, at: [0 mm, 6.5 mm], axis: 180 deg, part: snipe-25, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}
parts:
  snipe-25: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  haul: {kind: continuous, frequency: 10 Hz, three-phase: {bars: [U, V, W], rms: 230 A}}
insulation:
  - {between: [SV, V], kind: reinforced, working: {rms: 400 V}, supply: {rms: 300 V}, category: 3, pollution-degree: 2, material-group: IIIa, altitude: 2000 m, creepage: 12 mm}
`
	clearance := func(found []finding.Finding) float64 {
		i := slices.IndexFunc(found, func(f finding.Finding) bool { return f.Rule == "clearance" && f.Verdict == finding.Fail })
		if i < 0 {
			return math.Inf(1)
		}
		return found[i].Measure.Value
	}
	before := wholly(t, text)
	if math.IsInf(clearance(before), 1) {
		t.Fatal("the gap insulates")
	}
	stray := false
	for _, f := range before {
		stray = stray || f.Rule == rules.StrayRatio.ID && f.Verdict == finding.Fail
		for _, c := range f.Changes {
			mended, err := edit.Apply(text, c.Edits)
			if err != nil {
				t.Fatal(err)
			}
			if now := clearance(wholly(t, mended)); now < clearance(before) {
				t.Errorf("with %q the clearance is %g m, %g m before", c.Title, now, clearance(before))
			}
		}
	}
	if !stray {
		t.Fatal("no neighbour disturbs SV")
	}
}
