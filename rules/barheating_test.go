package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// 60 mm² of copper: density and I²/(σA) by definition, σ = 57.42 MS/m at 20 °C
// (fixtures/reference/conductors.yaml, copper_ETP_bar).
func TestBarHeating(t *testing.T) {
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
		f := one(t, check(t, rules.BarHeating, smallBar(2.5, "duties: {d: "+c.duty+"}\n")), "A")
		measured(t, f, c.verdict, c.wantRMSA/60e-6, 1e-9)
	}
	f := one(t, check(t, rules.BarHeating, smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 240 A}}}}\n")), "A")
	if want := "16.7 W per metre"; !strings.Contains(f.Message, want) { // 240²/(57.42e6·60e-6) = 16.72
		t.Errorf("message lacks %q: %s", want, f.Message)
	}
}

// The loss is not known where the metal declares no conductivity; that is said.
func TestBarHeatingLossInWords(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\nmaterials: {tin: {source: none}}\n"), "metal: copper", "metal: tin", 1)
	f := one(t, check(t, rules.BarHeating, yaml), "A")
	if !strings.Contains(f.Message, "loss unknown") || f.Measure.Limit != 2.5e6 {
		t.Errorf("limit %g, message: %s", f.Measure.Limit, f.Message)
	}
}

func TestBarHeatingIsForContinuousDuties(t *testing.T) {
	f := one(t, check(t, rules.BarHeating, smallBar(2.5, "duties: {d: {kind: fault, currents: {A: {dc: 9 kA}}}}\n")), "A")
	if f.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}
