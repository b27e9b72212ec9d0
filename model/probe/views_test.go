package probe

import (
	"math"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/waveform"
)

// A change of 1 of 10 in the main component stays a tenth, whatever a harmonic, a ripple or a further set add to the own
// reading; a part that changes more raises it, and one by points has no component by itself.
func TestViews(t *testing.T) {
	parts := []waveform.Component{{Role: "fundamental", FreqHz: 50}, {Role: "harmonic 5", FreqHz: 250}, {Role: "ripple", FreqHz: 8e3},
		{Role: "second set", FreqHz: 170}}
	phasors := func(values ...float64) (out []bounded.Phasor) {
		for _, v := range values {
			out = append(out, bounded.Phasor{V: complex(v, 0)})
		}
		return out
	}
	for _, c := range []struct {
		own, change []float64
		pointed     bool
		want        float64
	}{
		{[]float64{10, 0, 0, 0}, []float64{1, 0, 0, 0}, false, 0.1},
		{[]float64{10, 5, 5, 9}, []float64{1, 0, 0, 0}, false, 0.1},
		{[]float64{10, 5, 5, 9}, []float64{1, 0, 0, 0}, true, 1.0 / 24},
		{[]float64{10, 5, 0, 0}, []float64{1, 2, 0, 0}, false, 3.0 / 15},
		{[]float64{10, 0, 2, 0}, []float64{1, 0, 3, 0}, false, 4.0 / 12},
		{[]float64{0, 0, 2, 0}, []float64{0, 0, 1, 0}, false, 0.5},
		{[]float64{10, 0, 0, 0}, []float64{1e-12, 0, 0, 0}, false, 0},
	} {
		moved := phasors(c.own...)
		for i := range moved {
			moved[i].V += complex(c.change[i], 0)
		}
		got := viewsOf(parts, phasors(c.own...), c.pointed).difference(moved, phasors(c.own...))
		if !(math.Abs(got.Value-c.want) < 1e-12) {
			t.Errorf("own %v, change %v: %g, want %g", c.own, c.change, got.Value, c.want)
		}
	}
	if v := viewsOf(parts, phasors(0, 0, 0, 0), false); len(v) != 0 {
		t.Errorf("%d views of nothing", len(v))
	}
}
