package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// insulated is two bars gapMM apart with one entry under insulation.
func insulated(gapMM float64, entry string) string {
	return fmt.Sprintf(`layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [%.9g mm, 0 mm], metal: copper}
insulation:
  - {between: [U, V], %s}
`, 20+gapMM, entry)
}

// Rows of fixtures/reference/clearance.yaml, impulse.yaml and altitude.yaml (IEC
// 60664-1 tables F.2, F.1, A.2); a row marked C or D must be said to be unconfirmed.
func TestClearanceTables(t *testing.T) {
	for _, c := range []struct {
		entry  string
		wantMM float64
		mark   string
	}{
		{"kind: basic, impulse: 4 kV, pollution-degree: 2, altitude: 2000 m", 3.0, ""},
		{"kind: basic, impulse: 4 kV, pollution-degree: 2, altitude: 3000 m", 3.0 * 1.14, ""},
		{"kind: basic, impulse: 4 kV, pollution-degree: 2, altitude: 5000 m", 3.0 * 1.48, ""},
		{"kind: reinforced, impulse: 4 kV, pollution-degree: 2", 5.5, ""}, // one step up the series: 6 kV
		{"kind: reinforced, impulse: 6 kV, pollution-degree: 2", 8.0, ""}, // one step up: 8 kV
		{"kind: basic, impulse: 1.5 kV, pollution-degree: 3", 0.8, ""},
		{"kind: basic, impulse: 5 kV, pollution-degree: 2", 4.0, "C"},
		{"kind: basic, impulse: 10 kV, pollution-degree: 2", 11, "D"},
		{"kind: basic, supply: {rms: 300 V}, category: 3, pollution-degree: 2", 3.0, ""},  // 4 kV
		{"kind: basic, supply: {rms: 230 V}, category: 2, pollution-degree: 2", 1.5, ""},  // row 300 V: 2.5 kV
		{"kind: basic, supply: {rms: 1000 V}, category: 3, pollution-degree: 2", 8.0, ""}, // 8 kV
		{"kind: basic, supply: {rms: 50 V}, category: 4, pollution-degree: 2", 0.5, "D"},  // 1.5 kV
	} {
		for side, want := range map[float64]finding.Verdict{0.01: finding.Pass, -0.01: finding.Fail} {
			f := one(t, check(t, rules.Clearance, insulated(c.wantMM+side, c.entry)), "U")
			if f.Verdict != want || math.Abs(f.Measure.Limit-c.wantMM*1e-3) > 1e-9 {
				t.Errorf("%s, gap %+.2f mm: %v, needs %g m, want %g mm", c.entry, side, f.Verdict, f.Measure.Limit, c.wantMM)
			}
			mark := ""
			if _, rest, ok := strings.Cut(f.Message, "not confirmed against the standard's text (mark "); ok {
				mark = rest[:1]
			}
			// The rule for reinforced insulation has a mark of its own, which may be weaker.
			if mark != c.mark && !strings.Contains(c.entry, "reinforced") {
				t.Errorf("%s: mark %q, want %q: %s", c.entry, mark, c.mark, f.Message)
			}
			if !strings.Contains(f.Message, "A reminder") || f.Verdict == finding.Fail && f.Level != finding.Warning {
				t.Errorf("%s is not said to be a reminder: %v %s", c.entry, f.Level, f.Message)
			}
		}
	}
}

// A gap drawn exactly as long as needed passes: 23 mm less 20 mm are 3 mm.
func TestClearanceExactlyAsDrawn(t *testing.T) {
	for _, gapMM := range []float64{3.0, 5.5, 8.0, 11, 14} {
		impulse := map[float64]string{3: "4 kV", 5.5: "6 kV", 8: "8 kV", 11: "10 kV", 14: "12 kV"}[gapMM]
		for _, offMM := range []float64{0, 7.3, -1.9} {
			yaml := strings.Replace(insulated(gapMM, "kind: basic, impulse: "+impulse), "at: [0 mm,", fmt.Sprintf("at: [%g mm,", offMM), 1)
			yaml = strings.Replace(yaml, fmt.Sprintf("at: [%.9g mm, 0 mm]", 20+gapMM), fmt.Sprintf("at: [%.9g mm, 0 mm]", 20+gapMM+offMM), 1)
			if f := one(t, check(t, rules.Clearance, yaml), "U"); f.Verdict != finding.Pass {
				t.Errorf("%g mm for %s at %g mm: %v %s", gapMM, impulse, offMM, f.Verdict, f.Message)
			}
		}
	}
}

func TestClearanceWithoutVoltage(t *testing.T) {
	f := one(t, check(t, rules.Clearance, insulated(5, "kind: basic, working: {rms: 250 V}")), "U")
	if f.Verdict != finding.Undecided || !strings.Contains(f.Message, "No impulse voltage is known") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// A declared clearance wins over the drawing.
func TestClearanceDeclared(t *testing.T) {
	f := one(t, check(t, rules.Clearance, insulated(20, "kind: basic, impulse: 4 kV, clearance: 2 mm")), "U")
	measured(t, f, finding.Fail, 2e-3, 1e-9)
}

// The field wants the sensor close, the voltage wants it far. At 4 mm above a
// 20 x 3 mm bar 0.3 mm cost 2.12 % (common practice), so a millimetre about 7 %.
func TestClearanceNamesThePriceInField(t *testing.T) {
	yaml := `layout: 1
bars: {A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg, part: plover-8}}
parts: {plover-8: {linear-range: 8 mT, body: {width: 4 mm, height: 2 mm, element-height: 0.5 mm}}}
insulation: [{between: [S, A], kind: basic, impulse: 5 kV}]
`
	f := one(t, check(t, rules.Clearance, yaml), "S")
	measured(t, f, finding.Fail, 3.5e-3, 1e-9) // element 4 mm above the face, body 0.5 mm nearer
	if want := "move S from 4.0 to 4.5 mm above A: 3.50 mm → 4.00 mm; output falls 3.51 %; or widen the gap by 500 µm; the field wants it closer: the first millimetre costs 7.17 % of the reading, 500 µm in all cost 3.51 %"; f.Remedy != want {
		t.Errorf("remedy %q, want %q", f.Remedy, want)
	}
}

// Rows of fixtures/reference/creepage.yaml (IEC 60664-1 table F.4).
func TestCreepageTables(t *testing.T) {
	for _, c := range []struct {
		entry  string
		wantMM float64
		said   string
	}{
		{"kind: basic, working: {rms: 250 V}, pollution-degree: 2, material-group: IIIa", 2.5, ""},
		{"kind: basic, working: {rms: 400 V}, pollution-degree: 3, material-group: I", 5.0, ""},
		{"kind: basic, working: {dc: 800 V}, pollution-degree: 2, material-group: II", 5.6, ""},
		{"kind: reinforced, working: {rms: 250 V}, pollution-degree: 2, material-group: IIIa", 5.0, ""}, // twice basic
		{"kind: basic, working: {rms: 3200 V}, pollution-degree: 2, material-group: I", 16, "mark C"},
		{"kind: basic, working: {rms: 100 V}, impulse: 6 kV, pollution-degree: 2, material-group: I", 5.5, ""}, // never below the clearance
	} {
		for side, want := range map[float64]finding.Verdict{0: finding.Pass, -0.01: finding.Fail} {
			f := one(t, check(t, rules.Creepage, insulated(0.2, fmt.Sprintf("%s, creepage: %.9g mm", c.entry, c.wantMM+side))), "U")
			if f.Verdict != want || f.Measure == nil || math.Abs(f.Measure.Limit-c.wantMM*1e-3) > 1e-9 {
				t.Errorf("%s %+.2f mm: %v %s", c.entry, side, f.Verdict, f.Message)
			}
			if !strings.Contains(f.Message, c.said) || !strings.Contains(f.Message, "A reminder") {
				t.Errorf("message: %s", f.Message)
			}
		}
	}
}

// Without a declared path the air gap of the drawing passes only when it alone is
// long enough; otherwise nothing is decided, and nothing fails either.
func TestCreepageFromTheDrawing(t *testing.T) {
	const entry = "kind: basic, working: {rms: 250 V}, pollution-degree: 2, material-group: IIIa"
	for gapMM, want := range map[float64]finding.Verdict{2.6: finding.Pass, 2.4: finding.Undecided} {
		if f := one(t, check(t, rules.Creepage, insulated(gapMM, entry)), "U"); f.Verdict != want {
			t.Errorf("%g mm: %v %s", gapMM, f.Verdict, f.Message)
		}
	}
}

// A house asks for more than the tables where it says so, and never for less.
func TestInsulationOfAHouse(t *testing.T) {
	const entry = "kind: basic, impulse: 4 kV, pollution-degree: 2, working: {rms: 300 V}, material-group: IIIa, creepage: 5 mm"
	for _, c := range []struct {
		houseM float64
		want   finding.Verdict
		limitM float64
		origin string
	}{
		{0, finding.Pass, 3e-3, "F.2"}, // table F.2: 3 mm
		{1e-3, finding.Pass, 3e-3, "F.2"},
		{8e-3, finding.Fail, 8e-3, "house"},
	} {
		for _, rule := range []engine.Rule{rules.Clearance, rules.Creepage} {
			o := engine.Options{Limit: func(id, key, _ string) (float64, string, span.Span, bool) {
				return c.houseM, "house", span.Span{}, c.houseM > 0 && id == rule.ID && key == "distance"
			}}
			f := one(t, engine.Check(mustLoad(t, insulated(5, entry)), []engine.Rule{rule}, o), "U")
			if f.Verdict != c.want || rule.ID == "clearance" && math.Abs(f.Measure.Limit-c.limitM) > 1e-9 {
				t.Errorf("%s, house %g m: %v %+v", rule.ID, c.houseM, f.Verdict, f.Measure)
			}
			if house := f.Measure.Origin == "house"; house != (c.origin == "house") {
				t.Errorf("%s, house %g m: origin %q", rule.ID, c.houseM, f.Measure.Origin)
			}
			if c.want == finding.Fail && !strings.Contains(f.Remedy, " by 3 mm") && !strings.Contains(f.Remedy, " by 3.00 mm") {
				t.Errorf("%s: remedy %q", rule.ID, f.Remedy)
			}
		}
	}
}
