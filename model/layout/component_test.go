package layout

import (
	"math"
	"math/cmplx"
	"testing"
)

func num(v float64) Num { return Num{V: v, Set: true} }

// bars returns a layout of n bars, each a circuit by itself.
func bars(n int) *Layout {
	l := &Layout{Bars: make([]Bar, n)}
	for i := range n {
		l.Circuits = append(l.Circuits, Circuit{Members: []Member{{Bar: BarIndex(i), Factor: 1}}})
	}
	return l
}

// A balanced set: the second bar lags by 120 degrees, the third by another 120
// (definition); rms is the peak over √2; the fifth harmonic of the second bar
// leads by 120 (negative sequence: J. C. Das, Power System Harmonics and Passive
// Filter Designs, 2015, section 1.6; from memory).
func TestComponentsOfThreePhase(t *testing.T) {
	l := bars(3)
	d := &Duty{
		Set: Set{
			FreqHz:     num(50),
			ThreePhase: &ThreePhase{Circuits: [3]CircuitIndex{0, 1, 2}, Signs: [3]float64{1, 1, 1}, Amount: Amount{RMSA: num(100)}},
			Harmonics:  []Harmonic{{Order: num(5), Share: num(0.2)}},
		},
		Ripple: &Ripple{FreqHz: num(8000), Amount: Amount{PeakA: num(3)}},
	}
	parts := l.Components(d)
	if len(parts) != 3 || parts[0].Role != "fundamental" || parts[1].FreqHz != 250 || !parts[2].FreePhase {
		t.Fatalf("components %+v", parts)
	}
	for k, deg := range []float64{0, -120, 120} {
		same(t, parts[0].PeakA[k], cmplx.Rect(100*math.Sqrt2, deg*math.Pi/180))
		same(t, parts[1].PeakA[k], cmplx.Rect(20*math.Sqrt2, -deg*math.Pi/180))
		same(t, parts[2].PeakA[k], cmplx.Rect(3, deg*math.Pi/180))
	}
}

// Direct currents keep their signs, and ripple follows them, so that what goes
// out comes back; a duty without current is one component of zeros.
func TestComponentsOfDirectCurrent(t *testing.T) {
	l := bars(2)
	d := &Duty{
		Set: Set{Currents: []Current{
			{Circuit: 0, Sign: 1, Amount: Amount{DCA: num(30)}}, {Circuit: 1, Sign: 1, Amount: Amount{DCA: num(-30)}},
		}},
		Ripple: &Ripple{FreqHz: num(1e4), Amount: Amount{RMSA: num(1)}},
	}
	parts := l.Components(d)
	if len(parts) != 2 || parts[0].FreqHz != 0 {
		t.Fatalf("components %+v", parts)
	}
	same(t, parts[0].PeakA[1], -30)
	same(t, parts[1].PeakA[0], complex(math.Sqrt2, 0))
	same(t, parts[1].PeakA[0]+parts[1].PeakA[1], 0)
	if none := l.Components(&Duty{}); len(none) != 1 || none[0].PeakA[0] != 0 {
		t.Errorf("no current: %+v", none)
	}
}

func same(t *testing.T, got, want complex128) {
	t.Helper()
	if cmplx.Abs(got-want) > 1e-12*(1+cmplx.Abs(want)) {
		t.Errorf("got %v, want %v", got, want)
	}
}
