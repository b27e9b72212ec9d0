package channel

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// Bar of 20 mm × 3 mm, element 5 mm over its face, hence 6.5 mm over its centre,
// reading along the width. The height is an assumption: it is where a bundle on the
// bar's centre line reads 54 % too much.
var (
	overBar = geom.Point{Y: 6.5e-3}
	along   = geom.Point{X: -1} // the field over a current out of the page runs to -x
)

func TestBundleInPlaceOfBar(t *testing.T) {
	// Forty amperes through 6.5 mm: 0.2 uT m/A · 40/6.5 mm = 1.2308 mT, over the bar's
	// 0.7974 mT.
	e := Bundle(10).ReadingError(overBar, along, 20e-3, 3e-3)
	near(t, "bundle", e, 0.54, 0.005)
	near(t, "bar, T", closedform.RectangleB(overBar, 20e-3, 3e-3, 40).Dot(along), 0.7974e-3, 1e-7)
	// Mean over the thickness of atan(w/2y)·2/w written out as a sum.
	var mean float64
	const n = 1000
	for i := range n {
		y := 5e-3 + 3e-3*(float64(i)+0.5)/n
		mean += 2 / 20e-3 * math.Atan(10e-3/y) / n
	}
	near(t, "bundle by hand", 1/6.5e-3/mean-1, e, 1e-6)
}

func TestRibbonInPlaceOfBar(t *testing.T) {
	reading := func(pitchM float64) float64 {
		return Ribbon(10, pitchM, 0).ReadingError(overBar, along, 20e-3, 3e-3)
	}
	// The pitch that gives −13.5 %, by halving; the assumption is that the ribbon
	// lies on the bar's centre line.
	low, high := 2e-3, 3e-3
	for range 50 {
		if mid := (low + high) / 2; reading(mid) > -0.135 {
			low = mid
		} else {
			high = mid
		}
	}
	near(t, "pitch for -13.5 %, mm", low*1e3, 2.553, 0.001)
	near(t, "at a tenth of an inch", reading(2.54e-3), -0.132, 0.0005)
	near(t, "as wide as the bar", reading(2e-3), -0.0013, 0.0005)
	// By hand: Σ h/(h² + x_i²)/10 at 2.553 mm against the strip of the same width.
	strip := closedform.StripB(overBar, 25.53e-3, 1).Dot(along) / closedform.RectangleB(overBar, 20e-3, 3e-3, 1).Dot(along)
	near(t, "sheet of the same width", reading(2.553e-3), strip-1, 0.002)
	// One turn in the middle is the bundle.
	near(t, "one turn", Ribbon(1, 1, 0).ReadingError(overBar, along, 20e-3, 3e-3), Bundle(3).ReadingError(overBar, along, 20e-3, 3e-3), 1e-15)
	if e := (Turns{}).ReadingError(overBar, along, 20e-3, 3e-3); !math.IsNaN(e) {
		t.Errorf("no turns: %g", e)
	}
}
