package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// shortBar is a bar of 20 by 3 mm with ends as given and a sensor 4 mm above it.
func shortBar(ends, tail string) string {
	return fmt.Sprintf(`layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper%s}
sensors:
  SU: {reads: U, at: [0 mm, 5.5 mm], axis: 180 deg, part: dunlin}
%s`, ends, tail)
}

// 60 mm long, the field in space is 2.08275379 mT per 100 A at the sensor
// (fixtures/reference/space-cases.yaml, straight-bar) and 2.140742 in the plane
// (computed-references.yaml), 2.78 % too high; a bend of a round bar toward the sensor at L/d = 2 from
// its middle adds 30.9 %, which the plane lacks (common practice; closed form in model/probe/ends_test.go).
func TestPlaneValidity(t *testing.T) {
	const part = "parts: {dunlin: {linear-range: 20 mT}}\n"
	f := one(t, check(t, rules.PlaneValidity, shortBar(", length: 60 mm", part)), "SU")
	measured(t, f, finding.Fail, 2.140742/2.08275379-1, 0.005)
	if !strings.Contains(f.Remedy, "straight over") {
		t.Errorf("remedy: %s", f.Remedy)
	}
	bent := shortBar(", run: [[0 mm, 0 mm, -5 m], [0 mm, 0 mm, 11 mm], [0 mm, 5 m, 11 mm]]", part)
	f = one(t, check(t, rules.PlaneValidity, strings.Replace(bent, "width: 20 mm, thickness: 3 mm", "diameter: 2 mm", 1)), "SU")
	measured(t, f, finding.Fail, 1-1/1.309, 0.005)
	f = one(t, check(t, rules.PlaneValidity, shortBar("", part)), "SU")
	if f.Verdict != finding.Pass || !strings.Contains(f.Message, "taken as long") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// The length that the remedy prints passes, and one a tenth shorter does not.
func TestPlaneValidityRemedy(t *testing.T) {
	const part = "parts: {dunlin: {linear-range: 20 mT}}\n"
	f := one(t, check(t, rules.PlaneValidity, shortBar(", length: 60 mm", part)), "SU")
	_, text, _ := strings.Cut(f.Remedy, "straight over ")
	var mm float64
	if _, err := fmt.Sscanf(text, "%g mm", &mm); err != nil {
		t.Fatalf("remedy %q: %v", f.Remedy, err)
	}
	for _, c := range []struct {
		mm   float64
		want finding.Verdict
	}{{mm, finding.Pass}, {0.9 * mm, finding.Fail}} {
		if f := one(t, check(t, rules.PlaneValidity, shortBar(fmt.Sprintf(", length: %g mm", c.mm), part)), "SU"); f.Verdict != c.want {
			t.Errorf("%g mm: %v: %s", c.mm, f.Verdict, f.Message)
		}
	}
}

// Bars with ends are taken in space: 900 A in a long bar make 19.27 mT of a range that
// ends 1.5 % below, which fails; 60 mm long they make 18.74 mT, which passes.
func TestShortBarsAreTakenInSpace(t *testing.T) {
	const tail = `parts: {dunlin: {linear-range: 18.98 mT}}
duties: {run: {kind: continuous, currents: {U: {dc: 900 A}}}}
`
	for ends, want := range map[string]finding.Verdict{"": finding.Fail, ", length: 400 mm": finding.Fail, ", length: 60 mm": finding.Pass} {
		if f := one(t, check(t, rules.LinearRange, shortBar(ends, tail)), "SU"); f.Verdict != want {
			t.Errorf("%q: %v, want %v: %s", ends, f.Verdict, want, f.Message)
		}
	}
}
