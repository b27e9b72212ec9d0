package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/rules"
	"busgauss/schema/load"
)

// Ampère's law round the loop with H = −Hc in the iron, Hc times the mean path, and what iron keeps in one direction,
// which adds a part at a right angle and inside a channel less than half of that.
func TestRemanenceByHand(t *testing.T) {
	iron := "relative-permeability: 3000, coercivity: 20 A/m"
	duty := "kind: peak, currents: {A: {dc: 100 A}}"
	for form, pathM := range map[string]float64{
		"channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}": 25.5e-3 + 2*19.25e-3,
		"ring: {inner: 40 mm, wall: 2 mm, slit: 3 mm}":          math.Pi*42e-3 - 3e-3,
	} {
		yaml := strings.Replace(uShield(iron, duty), "channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}", form, 1)
		f := one(t, check(t, rules.ShieldRemanence, yaml), "K")
		if got := f.Measure.Value / (20 * pathM / 100); f.Verdict != finding.Fail || !(got > 1 && got < 1.1) {
			t.Errorf("%s: %v, %.4g of the path's part: %s", form, f.Verdict, got, f.Message)
		}
	}
}

// A strip of 20 mm of very permeable sheet, the sensor y = 1 mm over its middle. In a uniform field H along an
// infinitely permeable strip of half width a, the field over its middle is H·y/√(a² + y²) (conformal map z/√(z² − a²);
// W. R. Smythe, Static and Dynamic Electricity, chapter 4), so that with Hc in it the strip leaves μ0·Hc·(1 − y/√(a² +
// y²)), whatever the bar below gives per ampere, of which the strip shields most. Hc times the width says 4 A.
func TestRemanenceOfAnOpenPlate(t *testing.T) {
	const yaml = `layout: 1
bars:
  A: {section: {width: 16 mm, thickness: 3 mm}, at: [0 mm, -6 mm], metal: copper}
shields:
  K: {form: {plate: {width: 20 mm, thickness: 0.2 mm}}, at: [0 mm, 0 mm], material: iron, depth: long}
materials:
  iron: {relative-permeability: 100000, coercivity: 200 A/m}
sensors:
  S: {reads: A, at: [0 mm, 1.1 mm], axis: 180 deg}
duties:
  run: {kind: peak, currents: {A: {dc: 500 A}}}
`
	l, problems := load.Load("layout.yaml", []byte(yaml))
	if l == nil {
		t.Fatal(problems)
	}
	m := probe.NewModel(l).Precise()
	amps, err := m.RemanenceA(&l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	perA, err := m.OwnPerAmpere(&l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	const y, half = 1e-3, 10e-3
	kept := 4e-7 * math.Pi * 200 * (1 - y/math.Hypot(half, y)) / perA.Low
	if want := math.Hypot(kept, 200*0.02); !(math.Abs(amps/want-1) < 0.03) || !(amps > 40) {
		t.Errorf("%.4g A, want %.4g", amps, want)
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
