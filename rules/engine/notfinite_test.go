package engine

import (
	"math"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/finding"
)

// What is not finite is never a failure with a number, and no sentence prints it; a margin that is infinite passes.
func TestNotFinite(t *testing.T) {
	inf := math.Inf(1)
	for _, e := range []bounded.Estimate{{Value: math.NaN(), Low: 0, High: 1}, {Value: inf, Low: inf, High: inf}, {Value: inf, Low: 0, High: inf}, {Value: 2, Low: 2, High: math.NaN()}} {
		if v := Decide(e, 1, false); v != finding.Undecided {
			t.Errorf("%v against 1 is %v", e, v)
		}
		c := Case{Object: "S", Says: "reads", Found: e, Limit: Bound{Value: 1, Unit: "T"}}
		if text := c.first(finding.Undecided); notFinite.MatchString(text) {
			t.Errorf("%v is told as %q", e, text)
		}
	}
	if v := Decide(bounded.Estimate{Value: inf, Low: inf, High: inf}, 1, true); v != finding.Pass {
		t.Errorf("an infinite margin is %v", v)
	}
	for text, left := range map[string]bool{"Bar V puts NaN times as much on the axis": false, "It takes +Inf A": false, "It reads not a number high": false,
		`Bar "NaN" stands beside it`: true, "Information is there": true, "It is 3 mT": true} {
		if got := sentences("First", text) != "First"; got != left {
			t.Errorf("%q is kept: %v", text, got)
		}
	}
}
