package channel

import (
	"math"
	"testing"
)

// source returns the source called name.
func source(t *testing.T, c *Chain, name string) Source {
	t.Helper()
	for _, s := range c.Sources() {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no source %q", name)
	return Source{}
}

func TestSourcesInAmperes(t *testing.T) {
	c := plain(20e-3) // 2000 V/T, 10 uT/A, 0.8057 mV or 40.28 mA a count
	c.Element.SlopeTol = 0.01
	c.Element.LowT, c.Element.HighT = -10e-3, 10e-3
	c.Output.SensitivityTol, c.Output.ZeroTolV = 0.015, 6e-3
	c.Divider = &Divider{TopOhm: 1e3, BottomOhm: 3e3, Tol: 0.01}
	c.Converter.Tol = 0.005
	c.Timing.Part = LowPass{CornerHz: 100e3, Order: 1}
	c.Noise.OutputVPerRtHz = 2e-6
	c.Drift = Drift{SensitivityPerK: 120e-6, ZeroVPerK: 40e-6, HysteresisT: 20e-6, NonLinearity: 0.001, SpanK: 60, SensitivityLife: math.NaN()}
	r := 3. / 4
	up := 3.03 / (3.03 + 0.99)
	for _, w := range []struct {
		name         string
		zeroA, share float64
		removed      Calibration
	}{
		{"field per ampere", 0, 0.01, ByOnePoint},
		{"hysteresis", 2, 0, ByNothing},                             // 20 uT / 10 uT/A
		{"non-linearity", 2, 0, ByNothing},                          // 0.1 % of 20 mT = 20 uT
		{"sensitivity", 0, 0.015, ByOnePoint},                       //
		{"sensitivity over temperature", 0, 7.2e-3, ByNothing},      // 120 ppm/K · 60 K
		{"offset", 0.3, 0, ByZero},                                  // 6 mV / 20 mV/A
		{"offset over temperature", 0.12, 0, ByNothing},             // 40 uV/K · 60 K / 20 mV/A
		{"divider", 2.5 * (up/r - 1) / 20e-3, up/r - 1, ByOnePoint}, // the zero moves with the ratio
		{"converter reference", 2.5 * (1/1.005 - 1) / 20e-3, 1/1.005 - 1, ByOnePoint},
		{"converter step", 3.3 / 4096 / r / 20e-3 / 2, 0, ByNothing},
		{"noise", 39.633e-3, 0, ByNothing}, // as in TestNoise
	} {
		s := source(t, c, w.name)
		near(t, w.name+" at no current, A", s.ZeroA, w.zeroA, 1e-6)
		near(t, w.name+" share", s.Share, w.share, 1e-9)
		if s.Removed != w.removed {
			t.Errorf("%s is removed by %d, want %d", w.name, s.Removed, w.removed)
		}
	}
	if s := source(t, c, "sensitivity over life"); !math.IsNaN(s.Share) || !math.IsNaN(s.WorstA(100)) {
		t.Errorf("unknown life: %+v", s)
	}
	s := source(t, c, "divider")
	near(t, "divider at 100 A", s.WorstA(-100), (2.5/20e-3+100)*(up/r-1), 1e-9)
	near(t, "divider at -100 A", s.ErrorA(-100), (2.5/20e-3-100)*(up/r-1), 1e-9)
}

func TestSupplyCancels(t *testing.T) {
	c := plain(20e-3)
	c.Output.Ratiometric, c.Output.SupplyTol = true, 0.05
	s := source(t, c, "supply")
	near(t, "fixed reference, A", s.ZeroA, 0.05*2.5/20e-3, 1e-9)
	near(t, "fixed reference, share", s.Share, 0.05, 1e-12)
	c.Converter.Ratiometric = true
	s = source(t, c, "supply")
	near(t, "common supply, A", s.ZeroA, 0, 1e-9)
	near(t, "common supply, share", s.Share, 0, 1e-12)
	// A part of fixed zero before a reference that follows the supply: the counts move.
	c.Output.Ratiometric = false
	near(t, "fixed part, share", source(t, c, "supply").Share, 1/1.05-1, 1e-12)
}
