package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/rules"
	"busgauss/rules/engine"
)

// faultLayout is a pair of bars with an alternating fault whose asymmetry is as given,
// a channel of iron round one and an output chain.
func faultLayout(asymmetry string) string {
	return fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 16 mm, thickness: 3 mm}, at: [0 mm, 6 mm], metal: copper}
  B: {section: {width: 16 mm, thickness: 3 mm}, at: [300 mm, 6 mm], metal: copper}
shields:
  K: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 2 mm}}, at: [0 mm, 1.5 mm], material: sheet, depth: long}
materials:
  sheet: {relative-permeability: 3000, saturation: 1.6 T, coercivity: 20 A/m, conductivity: 2 MS/m, sheet: 0.1 mm}
sensors:
  S: {reads: A, at: [0 mm, 11 mm], axis: 180 deg, part: knot-100}
  F: {reads: B, at: [300 mm, 11 mm], axis: 180 deg, part: knot-100}
parts:
  knot-100: {linear-range: 100 mT, sensitivity: 16 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  run: {kind: continuous, frequency: 50 Hz, currents: {A: {rms: 100 A}, B: {rms: 100 A, phase: 180 deg}}}
  short: {kind: fault, %s}
`, asymmetry)
}

var faultRules = []engine.Rule{rules.LinearRange, rules.ShieldSaturation, rules.OutputChain}

// shares returns the number of each rule and object, and what each said.
func shares(t *testing.T, yaml string) (map[string]float64, map[string]string) {
	t.Helper()
	value, said := map[string]float64{}, map[string]string{}
	for _, f := range engine.Check(mustLoad(t, yaml), faultRules, engine.Options{}) {
		if f.Measure == nil {
			t.Fatalf("%s %s has no number: %s", f.Rule, f.Object, f.Message)
		}
		value[f.Rule+" "+f.Object], said[f.Rule+" "+f.Object] = f.Measure.Value, f.Message
	}
	if len(value) != 5 {
		t.Fatalf("%d verdicts, want linear-range and output-chain of two sensors and a shield: %v", len(value), value)
	}
	return value, said
}

// R/X = 0.1 makes κ = 1.02 + 0.98·e^(−0.3) = 1.7460 (IEC 60909-0, equation 55 from memory): every rule that
// looks at the largest current of a fault says the same for R/X and for the number. A bar far from iron
// answers in proportion: κ times the symmetrical fault.
func TestFaultFirstPeak(t *testing.T) {
	kappa := 1.02 + 0.98*math.Exp(-0.3)
	short := "frequency: 50 Hz, currents: {A: {rms: 600 A}, B: {rms: 600 A, phase: 180 deg}}"
	by, _ := shares(t, faultLayout(short+", asymmetry: {r-over-x: 0.1}"))
	number, _ := shares(t, faultLayout(fmt.Sprintf("%s, asymmetry: {peak-factor: %.12f}", short, kappa)))
	even, _ := shares(t, faultLayout(short+", asymmetry: {peak-factor: 1}"))
	for what, v := range by {
		if math.Abs(v/number[what]-1) > 1e-9 {
			t.Errorf("%s: %g by R/X, %g by its factor", what, v, number[what])
		}
		if !(v > 1.2*even[what]) {
			t.Errorf("%s: %g at the first peak, %g symmetrical", what, v, even[what])
		}
	}
	for _, what := range []string{"output-chain S", "output-chain F"} {
		if r := by[what] / even[what] / kappa; !(r > 0.998 && r < 1+1e-9) { // the Earth takes its part of the range once
			t.Errorf("%s: %g times the symmetrical one, want %g", what, by[what]/even[what], kappa)
		}
	}
	// The far bar crowds with the alternating part alone: its first peak reads at least κ times as much less
	// the crowding, some per cent at 50 Hz.
	if r := by["linear-range F"] / even["linear-range F"] / kappa; !(r > 0.99 && r < 1.02) {
		t.Errorf("linear-range F: %g of κ", r)
	}
	f := check(t, rules.ShieldRemanence, faultLayout(short+", asymmetry: {r-over-x: 0.1}"))
	if len(f) != 1 || !strings.Contains(f[0].Message, "after 1.48 kA of fault") { // 1.746·√2·600 A
		t.Errorf("remanence: %+v", f)
	}
}

// A fault given by its rms alone counts as symmetrical, and each rule says what a first peak of 1.8
// times would take: as much as it finds where the layout gives that factor.
func TestFaultWithoutAsymmetry(t *testing.T) {
	short := "frequency: 50 Hz, currents: {A: {rms: 500 A}, B: {rms: 500 A, phase: 180 deg}}"
	half, said := shares(t, faultLayout(short))
	full, _ := shares(t, faultLayout(short+", asymmetry: {peak-factor: 1.8}"))
	for what, text := range said {
		if !(half[what] < full[what]/1.2) {
			t.Errorf("%s: %g, and %g with the factor: what might be is not what is judged", what, half[what],
				full[what])
		}
		_, tail,
			ok := strings.Cut(text,
			"Fault \"short\" counts as symmetrical: a fully asymmetric first peak (factor 1.8) would take ")
		var percent float64
		if _, err := fmt.Sscanf(tail, "%g %%", &percent); !ok || err != nil {
			t.Errorf("%s: %q", what, text)
		}
		if math.Abs(percent/100/full[what]-1) > 0.02 { // the wall of the worst duty is computed more finely
			t.Errorf("%s: %g %% said, %g %% where the layout gives the factor", what, percent, 100*full[what])
		}
	}
	for _, given := range []string{short + ", asymmetry: {r-over-x: 0.4}",
		"currents: {A: {dc: 500 A}, B: {dc: -500 A}}"} {
		_, said := shares(t, faultLayout(given))
		for what, text := range said {
			if strings.Contains(text, "symmetric") {
				t.Errorf("%s: %q", what, text)
			}
		}
	}
}
