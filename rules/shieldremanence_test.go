package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Ampère's law round the loop with H = −Hc in the iron: Hc times the mean path.
func TestRemanenceByHand(t *testing.T) {
	iron := "relative-permeability: 3000, coercivity: 20 A/m"
	duty := "kind: peak, currents: {A: {dc: 100 A}}"
	for form, pathM := range map[string]float64{
		"channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}": 25.5e-3 + 2*19.25e-3,
		"plate: {width: 20 mm, thickness: 1 mm}":                20e-3,
		"ring: {inner: 40 mm, wall: 2 mm, slit: 3 mm}":          math.Pi*42e-3 - 3e-3,
	} {
		yaml := strings.Replace(uShield(iron, duty), "channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}", form, 1)
		measured(t, one(t, check(t, rules.ShieldRemanence, yaml), "K"), map[bool]finding.Verdict{true: finding.Fail, false: finding.Pass}[20*pathM > 0.5],
			20*pathM/100, 1e-9)
	}
}

// What is not known names its key; a closed ring has no path with a gap.
func TestRemanenceUnknown(t *testing.T) {
	duty := "kind: peak, currents: {A: {dc: 100 A}}"
	iron := "relative-permeability: 3000, coercivity: 20 A/m"
	for _, c := range []struct{ yaml, text string }{
		{uShield("relative-permeability: 3000", duty), "declares no coercivity"},
		{strings.Replace(uShield(iron, duty), "channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}", "ring: {inner: 40 mm, wall: 2 mm}", 1), "closes on itself"},
	} {
		if f := one(t, check(t, rules.ShieldRemanence, c.yaml), "K"); f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.text) {
			t.Errorf("%v: %s", f.Verdict, f.Message)
		}
	}
	for _, c := range []struct{ yaml, text string }{
		{uShield("conductivity: 33 MS/m", duty), "is not magnetic"},
		{uShield(iron, "kind: fault, currents: {A: {dc: 100 A}}"), "has no full scale"},
	} {
		if f := one(t, check(t, rules.ShieldRemanence, c.yaml), "K"); f.Verdict != finding.NotApplicable || !strings.Contains(f.Message, c.text) {
			t.Errorf("%v: %s", f.Verdict, f.Message)
		}
	}
}

// The coercivity that the remedy names passes as printed.
func TestRemanenceRemedyPasses(t *testing.T) {
	yaml := uShield("relative-permeability: 3000, coercivity: 47 A/m", "kind: peak, currents: {A: {dc: 333 A}}")
	f := one(t, check(t, rules.ShieldRemanence, yaml), "K")
	value, ok := strings.CutPrefix(f.Remedy, "a material with a coercivity of ")
	value, _, found := strings.Cut(value, " at most")
	if f.Verdict != finding.Fail || !ok || !found {
		t.Fatalf("%v, remedy %q", f.Verdict, f.Remedy)
	}
	if again := one(t, check(t, rules.ShieldRemanence, strings.Replace(yaml, "47 A/m", value, 1)), "K"); again.Verdict != finding.Pass {
		t.Errorf("%s gives %v: %s", f.Remedy, again.Verdict, again.Message)
	}
}
