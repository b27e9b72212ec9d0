package waveform

import (
	"math"
	"math/cmplx"
	"testing"
)

// b lags a by a third of a period and c lags b, at any phase of a; the other order, unequal sizes and nothing are no set.
func TestBalanced(t *testing.T) {
	at := func(size, deg float64) complex128 { return cmplx.Rect(size, deg*math.Pi/180) }
	for _, c := range []struct {
		set  [3]complex128
		want bool
	}{
		{[3]complex128{at(600, 40), at(600, -80), at(600, 160)}, true},
		{[3]complex128{at(600, 40), at(600, 160), at(600, -80)}, false},
		{[3]complex128{at(600, 0), at(600, -120), at(601, 120)}, false},
		{[3]complex128{at(600, 0), at(600, -120), at(600, 121)}, false},
		{[3]complex128{}, false},
	} {
		if got := Balanced(c.set); got != c.want {
			t.Errorf("%v: %v", c.set, got)
		}
	}
}
