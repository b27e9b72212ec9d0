package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// house sets limits of rule bar-heating.
func house(limits map[string]float64) engine.Options {
	return engine.Options{Limit: func(id, key, _ string) (float64, string, span.Span, bool) {
		v, ok := limits[key]
		return v, "house", span.Span{}, ok && id == rules.BarHeating.ID
	}}
}

func heated(t *testing.T, yaml string, limits map[string]float64) []finding.Finding {
	t.Helper()
	return engine.Check(mustLoad(t, yaml), []engine.Rule{rules.BarHeating}, house(limits))
}

// 60 mm² of copper under a house that judges by density: density and I²/(σA) by definition,
// σ = 57.42 MS/m at 20 °C (fixtures/reference/conductors.yaml, copper_ETP_bar).
func TestBarHeatingByDensity(t *testing.T) {
	limits := map[string]float64{"density": 4e6, "rise": 500}
	for _, c := range []struct {
		name, duty string
		wantRMSA   float64
		verdict    finding.Verdict
	}{
		{"direct", "{kind: continuous, currents: {A: {dc: -240 A}}}", 240, finding.Pass},
		{"rms", "{kind: continuous, frequency: 10 Hz, currents: {A: {rms: 241 A}}}", 241, finding.Fail},
		{"peak", "{kind: continuous, frequency: 10 Hz, currents: {A: {peak: 241 A}}}", 241 / math.Sqrt2, finding.Pass},
		{"harmonic", "{kind: continuous, frequency: 10 Hz, currents: {A: {rms: 200 A}}, harmonics: [{order: 5, share: 50 %}]}", math.Hypot(200, 100), finding.Pass},
		{"ripple", "{kind: continuous, currents: {A: {dc: 200 A}}, ripple: {frequency: 40 Hz, peak: 100 A}}", math.Sqrt(200*200 + 100*100/2.0), finding.Pass},
	} {
		f := one(t, heated(t, smallBar(2.5, "duties: {d: "+c.duty+"}\n"), limits), "A")
		measured(t, f, c.verdict, c.wantRMSA/60e-6, 1e-9)
	}
	f := one(t, check(t, rules.BarHeating, smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 240 A}}}}\n")), "A")
	if want := "16.7 W per metre"; !strings.Contains(f.Message, want) { // 240²/(57.42e6·60e-6) = 16.72
		t.Errorf("message lacks %q: %s", want, f.Message)
	}
	// What a house does not set is not asked: 5 A/mm² of a thin strip stay cool.
	strip := "layout: 1\nbars: {A: {section: {width: 12.7 mm, thickness: 1.5875 mm}, at: [0 mm, 0 mm], metal: copper}}\nduties: {d: {kind: continuous, currents: {A: {dc: 103 A}}}}\n"
	measured(t, one(t, check(t, rules.BarHeating, strip), "A"), finding.Pass, 30, 0.1) // C11000, 1/16 x 1/2 inch: 103 A at 30 K
	measured(t, one(t, heated(t, strip, limits), "A"), finding.Fail, 103/(12.7*1.5875)*1e6, 1e-9)
}

// The duty that loses most counts, not that of the largest current: 300 A at 20 kHz crowd
// and lose more than 400 A of direct current.
func TestBarHeatingCountsTheHottestDuty(t *testing.T) {
	yaml := `layout: 1
bars: {A: {section: {width: 20 mm, thickness: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
duties:
  steady: {kind: continuous, currents: {A: {dc: 400 A}}}
  fast: {kind: continuous, frequency: 20 kHz, currents: {A: {rms: 300 A}}}
`
	f := one(t, check(t, rules.BarHeating, yaml), "A")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, `limit 40 K, in "fast"`) {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// Two bars joined share their current whichever of the two the duty names: 600 A in two bars of
// 60 mm² are 300 A each. Bars that lie on each other keep the faces between them from the air.
func TestBarHeatingOfBondedBars(t *testing.T) {
	yaml := `layout: 1
bars:
  A: {section: {width: 30 mm, thickness: 2 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 30 mm, thickness: 2 mm}, at: [0 mm, %s], metal: copper}
bonded: [A, B]
duties: {d: {kind: continuous, currents: {B: {dc: 500 A}}}}
`
	apart := check(t, rules.BarHeating, strings.Replace(yaml, "%s", "80 mm", 1))
	for _, id := range []string{"A", "B"} {
		f := one(t, apart, id)
		if f.Verdict != finding.Pass || !strings.Contains(f.Message,
			"carries 250 A rms, its share of what it is joined to") {
			t.Errorf("apart: %v %s", f.Verdict, f.Message)
		}
	}
	f := one(t, check(t, rules.BarHeating, strings.Replace(yaml, "%s", "2 mm", 1)), "A")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, "Other metal is close to") {
		t.Errorf("on each other: %v %s", f.Verdict, f.Message)
	}
}

// A fault heats without loss: k = 226 √(ln(434.5/314.5)) = 128 A√s/mm² from 80 to 200 °C
// (IEC 60364-5-54, annex A), so 100 A/mm² last 1.65 s. The conductivity of bars is 1 % less
// than that of the standard, its coefficient too.
func TestBarHeatingOfAFault(t *testing.T) {
	yaml := func(amps string) string {
		return smallBar(2.5, "duties: {d: {kind: fault, currents: {A: {dc: "+amps+"}}}}\n")
	}
	k := 226 * math.Sqrt(math.Log(434.5/314.5))
	at := func(amps string, limits map[string]float64) finding.Finding {
		var out []finding.Finding
		for _, f := range heated(t, yaml(amps), limits) {
			if f.Verdict != finding.NotApplicable {
				out = append(out, f)
			}
		}
		return one(t, out, "A")
	}
	measured(t, at("6 kA", nil), finding.Pass, k*k/1e4, 0.01)
	if f := at("9 kA", nil); f.Verdict != finding.Undecided ||
		!strings.Contains(f.Message, "No layout says how long a fault lasts") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	measured(t, at("9 kA", map[string]float64{"fault-time": 0.5}), finding.Pass, k*k/150/150, 0.01)
	f := at("9 kA", map[string]float64{"fault-time": 3})
	measured(t, f, finding.Fail, k*k/150/150, 0.01)
	if !strings.Contains(f.Remedy, "end it within 726 ms") {
		t.Errorf("remedy %q", f.Remedy)
	}
}

// What the loss is cannot be said where the metal declares no conductivity; a house that judges by
// density is answered.
func TestBarHeatingWithoutConductivity(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\nmaterials: {tin: {source: none}}\n"), "metal: copper", "metal: tin", 1)
	f := one(t, check(t, rules.BarHeating, yaml), "A")
	if f.Verdict != finding.Undecided || !strings.Contains(f.Message, "declares no conductivity") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	f = one(t, heated(t, yaml, map[string]float64{"density-other": 2.5e6}), "A")
	if f.Verdict != finding.Pass || !strings.Contains(f.Message, "Its rise is not known") ||
		f.Measure.Limit != 2.5e6 {
		t.Errorf("limit %g, message: %s", f.Measure.Limit, f.Message)
	}
}

// Copper on a board is named as such.
func TestBarHeatingOfBoardCopper(t *testing.T) {
	yaml := "layout: 1\nbars: {A: {section: {width: 20 mm, thickness: 0.07 mm}, at: [0 mm, 0 mm], metal: copper}}\nduties: {d: {kind: continuous, currents: {A: {dc: 10 A}}}}\n"
	if f := one(t, check(t, rules.BarHeating, yaml), "A"); !strings.Contains(f.Message, "IPC-2152") {
		t.Errorf("%s", f.Message)
	}
	// 12 A in 3 mm of two ounces: 0.21 mm² are 325.5 square mil, (12/(0.048 x 325.5^0.725))^(1/0.44) = 20.4 K on an
	// outer layer (IPC-2221), some 100 K in free air: which of the two is not known here.
	yaml = strings.Replace(strings.Replace(yaml, "20 mm", "3 mm", 1), "10 A", "12 A", 1)
	if f := one(t, check(t, rules.BarHeating, yaml), "A"); f.Verdict != finding.Undecided ||
		!strings.Contains(f.Message, "between 20.4 K and 101 K") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	if f := one(t, check(t, rules.BarHeating, strings.Replace(yaml, "12 A", "30 A", 1)),
		"A"); f.Verdict != finding.Fail {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// Faces of one outline that look at each other cool as a slit does: a folded sheet gets
// hotter than the same outline laid open.
func TestBarHeatingOfAFoldedOutline(t *testing.T) {
	yaml := func(outline string) string {
		return "layout: 1\nbars: {A: {section: {outline: " + outline +
			"}, at: [0 mm, 0 mm], metal: copper}}\nduties: {d: {kind: continuous, currents: {A: {dc: 800 A}}}}\n"
	}
	value := func(outline string) float64 {
		return one(t, check(t, rules.BarHeating, yaml(outline)), "A").Measure.Value
	}
	folded := value("[[0 mm, 0 mm], [40 mm, 0 mm], [40 mm, 3 mm], [3 mm, 3 mm], [3 mm, 5 mm], [40 mm, 5 mm], [40 mm, 8 mm], [0 mm, 8 mm]]")
	open := value("[[0 mm, 0 mm], [40 mm, 0 mm], [40 mm, 3 mm], [3 mm, 3 mm], [3 mm, 45 mm], [40 mm, 45 mm], [40 mm, 48 mm], [0 mm, 48 mm]]")
	if !(folded > 1.3*open) {
		t.Errorf("folded %.1f K, open %.1f K", folded, open)
	}
}

// A peak of unknown length is asked as a fault is: 5 kA in 60 mm² are 83 A/mm², 2.4 s.
func TestBarHeatingOfAPeak(t *testing.T) {
	for amps, want := range map[string]finding.Verdict{"5 kA": finding.Pass, "9 kA": finding.Undecided} {
		found := check(t, rules.BarHeating, smallBar(2.5, "duties: {d: {kind: peak, currents: {A: {dc: "+amps+"}}}}\n"))
		said := false
		for _, f := range found {
			said = said || f.Verdict == want && strings.Contains(f.Message, `200 °C in`)
		}
		if !said {
			t.Errorf("%s: %s", amps, printed(found))
		}
	}
}
