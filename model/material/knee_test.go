package material

import (
	"math"
	"testing"
)

// The arctangent law has μ−1 ∝ 1/(1+x²) with x = tan(πJ/2Js): a tenth lies at x = 3, J = (2/π) atan 3 Js = 0.795 Js
// (arithmetic). The points of SaturationCurve are a quarter of an octave apart, so that slopes between them
// are off by some per cent.
func TestKneeOfArctangent(t *testing.T) {
	for _, js := range []float64{0.5, 2} {
		c, err := SaturationCurve(2000, js)
		if err != nil {
			t.Fatal(err)
		}
		got, ok := KneeT(c.Points(), 0.1)
		if want := 2 / math.Pi * math.Atan(3) * js; !ok || math.Abs(got-want) > 0.005*js {
			t.Errorf("knee %g T, want %g", got, want)
		}
	}
}

// Low-carbon steel of TEAM workshop problem 13: its steepest pieces rise 0.1 T in 11 A/m, a tenth of that is
// 0.909 mH/m; 1.2 to 1.3 T rise by 1.316 mH/m and 1.3 to 1.4 T by 0.719 mH/m, so that it lies at 1.25 T and
// ln(1.316/0.909)/ln(1.316/0.719) = 0.612 of the way to 1.35 T, less μ0 H of some 0.6 mT (by hand).
func TestKneeOfSteel(t *testing.T) {
	steel, _ := IronByName("low-carbon-steel")
	c, err := steel.Curve()
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := KneeT(c.Points(), 0.1); !ok || math.Abs(got-1.311) > 0.002 {
		t.Errorf("knee %g T, %v, want 1.311 T", got, ok)
	}
	// A curve that ends before its knee has none.
	if got, ok := KneeT([]CurvePoint{{100, 0.5}, {200, 1}, {400, 1.4}}, 0.1); ok {
		t.Errorf("knee %g T of a curve that ends on its way", got)
	}
}
