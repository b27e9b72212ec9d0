package rules_test

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// A ring of elements round its bar stands over no other, although the vectors of its elements
// add up to next to nothing; and a cycle of two seconds that is drawn by points is no slip of
// a frequency. The same bar read by a ring round its neighbour is one.
func TestPlausibilityRingAndCycle(t *testing.T) {
	const yaml = `layout: 1
bars:
  B: {section: {diameter: 20 mm}, at: [0 mm, 0 mm], metal: copper}
  N: {section: {diameter: 20 mm}, at: [100 mm, 0 mm], metal: copper}
sensors:
  ring:
    reads: B
    at: [0 mm, 0 mm]
    axis: 90 deg
    elements:
      - {at: [20 mm, 0 mm], axis: 90 deg}
      - {at: [0 mm, 20 mm], axis: 180 deg}
      - {at: [-20 mm, 0 mm], axis: 270 deg}
      - {at: [0 mm, -20 mm], axis: 0 deg}
duties:
  run: {kind: continuous, period: 2 s, currents: {B: {points: [[0 s, 0 A], [1 s, 400 A]]}}}
`
	if f := one(t, check(t, rules.Plausibility, yaml), ""); f.Verdict != finding.Pass {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	f := one(t, check(t, rules.Plausibility, strings.Replace(yaml, "reads: B", "reads: N", 1)), "ring")
	if f.Verdict != finding.Fail || f.Cause != rules.SwapCause ||
		!strings.Contains(f.Message, `stands over bar "B" and reads bar "N"`) {
		t.Errorf("%v %q: %s", f.Verdict, f.Cause, f.Message)
	}
}

// Where the finding on the place is permitted, what other rules say stands.
func TestFoldedStandsWherePermitted(t *testing.T) {
	all := []finding.Finding{
		{Rule: "plausibility", Verdict: finding.Fail, Level: finding.Error, Object: "S", Cause: rules.SwapCause},
		{Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "S"},
		{Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "T"},
	}
	got := rules.Folded(all)
	if got[0].Verdict != finding.Fail || got[1].Verdict != finding.NotApplicable || got[2].Verdict != finding.Fail ||
		all[1].Verdict != finding.Fail {
		t.Errorf("%v", got)
	}
	all[0].Verdict = finding.Permitted
	if got := rules.Folded(all); got[1].Verdict != finding.Fail {
		t.Errorf("permitted: %v", got)
	}
}
