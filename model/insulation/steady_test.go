package insulation

import (
	"math"
	"testing"
)

func TestSteadyTable(t *testing.T) {
	lines := reference(t, "clearance.yaml")
	rows := block(t, lines, "steady_case_A_inhomogeneous:")
	if len(rows) != len(steadyRows) {
		t.Fatalf("%d rows, reference %d", len(steadyRows), len(rows))
	}
	for i, c := range rows {
		want := steadyRow{peakV: number(t, c[0], 3), distanceM: number(t, c[1], -3), confidence: Confidence(c[2][0])}
		if steadyRows[i] != want {
			t.Errorf("row %d: %v, reference %v", i, steadyRows[i], want)
		}
	}
	wantMark(t, "reinforced", steadyReinforced, mark(t, lines[len(lines)-3:], "reinforced:"))
}

func TestSteadyClearance(t *testing.T) {
	for _, c := range []struct {
		name      string
		peakV     float64
		kind      Kind
		altitudeM float64
		wantMM    float64
		mark      Confidence
	}{
		{"row", 5000, Basic, 0, 5.7, 'D'},
		{"interpolated", 4500, Functional, 2000, 4.75, 'D'}, // half-way from 3.8 to 5.7
		{"reinforced", 2500, Reinforced, 0, 3.8, 'D'},       // 160 %: the row of 4 kV
		{"altitude", 6000, Basic, 3000, 7.9 * 1.14, 'D'},
		{"below the first row", 100, Basic, 0, 0.01, 'D'},
	} {
		n, err := SteadyClearance(c.peakV, c.kind, c.altitudeM)
		if err != nil || !(math.Abs(n.DistanceM*1e3-c.wantMM) < 1e-9) || n.Confidence != c.mark {
			t.Errorf("%s: %g mm %v, %v, want %g mm", c.name, n.DistanceM*1e3, n.Confidence, err, c.wantMM)
		}
	}
	for _, v := range []float64{0, -5, math.NaN(), 50001, math.Inf(1)} {
		if n, err := SteadyClearance(v, Basic, 0); err == nil {
			t.Errorf("%g V: %v without an error", v, n)
		}
	}
	if _, err := SteadyClearance(32000, Reinforced, 0); err == nil {
		t.Error("160 % of 32 kV is beyond the table")
	}
}

// Voltages that last never need less air than an impulse of the same peak in degree 1 from
// 1 kV on: a gap that stands an hour stands 50 µs.
func TestSteadyNeedsMoreThanAnImpulse(t *testing.T) {
	for v := 1000.0; v <= 50000; v += 250 {
		steady, err := SteadyClearance(v, Basic, 0)
		if err != nil {
			t.Fatal(err)
		}
		impulse, err := Clearance(v, 1, Basic, 0)
		if err != nil {
			t.Fatal(err)
		}
		if steady.DistanceM < impulse.DistanceM {
			t.Errorf("%g V: %g m, impulse %g m", v, steady.DistanceM, impulse.DistanceM)
		}
	}
}
