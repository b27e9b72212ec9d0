package closedform

import (
	"math"
	"testing"
)

// Ten ampere in a track of 325.5 square mil by hand: 325.5^0.725 = 66.4, over 0.048 x 66.4 = 3.187 it is
// 3.138^2.273 = 13.5 K. Twice the current is 2^2.273 = 4.83 times as warm.
func TestTrackRise(t *testing.T) {
	area := 0.21e-6
	if k := TrackRiseK(10, area); !(math.Abs(k-13.5) < 0.1) {
		t.Errorf("got %g K", k)
	}
	if r := TrackRiseK(20, area) / TrackRiseK(10, area); !(math.Abs(r-4.83) < 0.01) {
		t.Errorf("twice the current: %g", r)
	}
	for _, c := range [][2]float64{{36, area}, {10, 0.5e-6}, {-1, area}, {10, 0}, {math.NaN(), area}} {
		if k := TrackRiseK(c[0], c[1]); !math.IsNaN(k) {
			t.Errorf("%v: %g, want none", c, k)
		}
	}
}
