package rules_test

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// The fields at the elements of a ring sum to nothing as vectors: it stands round the bar that it reads all the same.
// Round another bar it does not. A cycle of load by its period may be as slow as it likes.
func TestPlausibilityOfARing(t *testing.T) {
	ring := roundArray([4]float64{20, 0, 90, 0.25}, [4]float64{0, 20, 180, 0.25}, [4]float64{-20, 0, 270, 0.25},
		[4]float64{0, -20, 0, 0.25})
	ring = strings.Replace(ring, "bars: {",
		"bars: {B: {section: {diameter: 10 mm}, at: [60 mm, 0 mm], metal: copper}, ", 1) +
		"duties: {d: {kind: peak, period: 30 s, currents: {A: {points: [[0 s, 0 A], [10 s, 90 A]]}}}}\n"
	for _, f := range check(t, rules.Plausibility, ring) {
		if f.Verdict == finding.Fail {
			t.Errorf("false alarm: %s", f.Message)
		}
	}
	swapped := false
	for _, f := range check(t, rules.Plausibility, strings.Replace(ring, "reads: A", "reads: B", 1)) {
		swapped = swapped || f.Verdict == finding.Fail && f.Cause == rules.SwapCause
	}
	if !swapped {
		t.Error("a ring round A reads B, and nothing is said")
	}
}
