package rules_test

import (
	"slices"
	"testing"

	"busgauss/rules"
)

// TestEditionsStay holds every rule to the set in which it came in. A rule that rose, since it was mended, would
// turn into notes what it always found, under every standard that pins an older set.
func TestEditionsStay(t *testing.T) {
	later := [][]string{
		2: {"battery-view", "calibration", "channel-accuracy", "output-chain", "phase-sum", "resolution", "response", "trip", "zeroing"},
		3: {"coverage", "plausibility"},
		4: {"measured"},
	}
	for _, r := range rules.All() {
		want := 1
		for edition, ids := range later {
			if slices.Contains(ids, r.ID) {
				want = edition
			}
		}
		if got := max(1, r.Edition); got != want {
			t.Errorf("%s came in with edition %d, not %d", r.ID, want, got)
		}
	}
}
