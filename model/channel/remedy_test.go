package channel

import (
	"math"
	"testing"
)

func TestSensitivityToProgram(t *testing.T) {
	c := plain(66e-3)
	c.Output.FromVPerT, c.Output.ToVPerT = 2000, 8000
	// 0.8 V over 20 A: 40 mV/A, 4000 V/T at 10 uT/A; the negative side has 2.5 V for 20 A.
	s := c.LargestSensitivityVPerT(20, 20)
	near(t, "sensitivity, V/T", s, 4000, 1e-9)
	if !c.Output.Settable(s) || c.Output.Settable(1999) || c.Output.Settable(-s) {
		t.Error("settable is wrong")
	}
	c.Output.SensitivityVPerT = s
	near(t, "clips there, A", FirstClip(c.Stages(), true).LeastA, 20, 1e-9)

	// With tolerances the least limit lands on the need.
	c.Output.SensitivityTol, c.Output.ZeroTolV = 0.02, 0.05
	c.Output.SensitivityVPerT = c.LargestSensitivityVPerT(20, 20)
	near(t, "sensitivity, V/T", c.Output.SensitivityVPerT, 0.75/20/1.02/10e-6, 1e-6)
	near(t, "clips there at worst, A", FirstClip(c.Stages(), true).LeastA, 20, 1e-9)

	c.Output.HighV = math.NaN()
	if s := c.LargestSensitivityVPerT(20, 20); !math.IsNaN(s) {
		t.Errorf("unknown swing: %g", s)
	}
	c.Output.HighV, c.Output.ZeroV = 9, 4 // zero beyond the converter
	if s := c.LargestSensitivityVPerT(20, 20); !math.IsNaN(s) {
		t.Errorf("zero out of range: %g", s)
	}
}

func TestDividerToFit(t *testing.T) {
	c := plain(66e-3)
	// 30 A: 2.5 + 1.98 = 4.48 V into 3.3 V, 0.7366; −30 A: 0.52 V is above 0.
	r := c.LargestDividerRatio(30, 30)
	near(t, "ratio", r, 3.3/4.48, 1e-12)
	c.Divider = &Divider{TopOhm: 1 - r, BottomOhm: r}
	near(t, "clips there, A", FirstClip(c.Stages(), true).CurrentA, 30, 1e-9)
	near(t, "the present one does not count", c.LargestDividerRatio(30, 30), r, 1e-12)
	// 40 A the other way goes below 0 V: no divider to ground helps.
	if r := c.LargestDividerRatio(30, 40); !math.IsNaN(r) {
		t.Errorf("below ground: %g", r)
	}
	// A converter that begins at 1 V: 0.7366 · 0.52 V lies below it.
	c.Converter.LowV = 1
	if r := c.LargestDividerRatio(30, 30); !math.IsNaN(r) {
		t.Errorf("below the converter: %g", r)
	}
	// Both ends of a differential converter of ±1 V for ±2.64 V about 0: 0.379.
	c = plain(66e-3)
	c.Output.ZeroV, c.Converter.LowV, c.Converter.HighV = 0, -1, 1
	near(t, "differential", c.LargestDividerRatio(20, 40), 1/2.64, 1e-12)
}

func TestFilterCorner(t *testing.T) {
	tm := &Timing{Part: LowPass{CornerHz: 80e3, Order: 1}, PartDelayS: 2e-6}
	// 5° at 1 kHz less 0.7161° less 0.72°: 3.5639°; 1 kHz/tan 3.5639° = 16.06 kHz.
	hz := tm.LeastCornerHz(1e3, 5*deg, 1)
	near(t, "corner, Hz", hz, 1e3/math.Tan(3.56389*deg), 1)
	tm.Filter = LowPass{CornerHz: hz, Order: 1}
	near(t, "lag there, deg", tm.At(1e3, 1).LagRad/deg, 5, 1e-6)
	tm.Filter.Order = 2
	tm.Filter.CornerHz = tm.LeastCornerHz(1e3, 5*deg, 1)
	near(t, "order 2, deg", tm.At(1e3, 1).LagRad/deg, 5, 1e-6)
	if hz := tm.LeastCornerHz(1e3, 1*deg, 1); !math.IsNaN(hz) {
		t.Errorf("too late without a filter: %g", hz)
	}
}
