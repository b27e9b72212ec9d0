package channel

import (
	"math"
	"testing"
)

// TestKnownErrorsInPhase holds what a phasor in step with an alternating own current and a constant against it make at most:
// at one of the two peaks they add, however exactly they are in step; with direct current they take from each other.
func TestKnownErrorsInPhase(t *testing.T) {
	for _, imag := range []float64{0, 1e-17, -1e-17} {
		k := knownErrors{turningA: complex(0.2, imag), constantA: -0.03, turns: true}
		if got := k.largestA(); math.Abs(got-0.23) > 1e-12 {
			t.Errorf("imag %g: %.6g A, want 0.23", imag, got)
		}
	}
	if k := (knownErrors{turningA: 0.2, constantA: -0.03}); math.Abs(k.largestA()-0.17) > 1e-12 {
		t.Errorf("direct: %.6g A, want 0.17", k.largestA())
	}
}
