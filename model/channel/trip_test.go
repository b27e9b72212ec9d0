package channel

import (
	"math"
	"testing"
)

func TestThreshold(t *testing.T) {
	c := plain(2.3e-3)
	got := c.Thresholds(300)
	if len(got) != 4 {
		t.Fatalf("%d stages", len(got))
	}
	near(t, "element, T", got[0].Value, 3e-3, 1e-12)
	near(t, "rise, V", got[1].Rise, 0.69, 1e-9) // 300 A · 2.3 mV/A
	near(t, "output, V", got[1].Value, 3.19, 1e-9)
	near(t, "counts", got[3].Value, 3.19/3.3*4096, 1e-6)
	near(t, "rise, counts", got[3].Rise, 0.69/3.3*4096, 1e-6)
}

func TestOvershoot(t *testing.T) {
	trip := &Trip{CurrentA: 300, SupplyV: 450, InductanceH: 50e-6}
	near(t, "overshoot, A", trip.OvershootA(3e-6), 27, 1e-9) // 450/50e-6 = 9 A/us
	near(t, "largest delay, s", trip.LargestDelayS(340, 4), 4e-6, 1e-15)
	m := trip.Margins(340, 27, 4, 200, 20, 1.5)
	near(t, "range, A", m.RangeA, 340-331, 1e-9)
	near(t, "false trip, A", m.FalseTripA, 300-4-(200+20+9), 1e-9)
}

func TestDelays(t *testing.T) {
	tm := &Timing{Part: LowPass{CornerHz: 100e3, Order: 1}, PartDelayS: 1e-6, Filter: LowPass{CornerHz: 20e3, Order: 2},
		RateHz: 100e3, DelayS: 2e-6}
	part, filter := 1/(2*math.Pi*100e3), math.Sqrt2/(2*math.Pi*20e3) // 1.59 us, 11.25 us
	for _, c := range []struct {
		tap   Tap
		wantS float64
	}{
		{TapOutput, part + 1e-6 + 0.5e-6},
		{TapFilter, part + 1e-6 + filter + 0.5e-6},
		{TapNumber, part + 1e-6 + filter + 10e-6 + 2e-6 + 0.5e-6},
	} {
		_, total := tm.Delays(&Trip{Tap: c.tap, ActS: 0.5e-6})
		near(t, "total, s", total, c.wantS, 1e-15)
		if !Contradiction(c.wantS*0.99, total) || Contradiction(c.wantS*1.01, total) {
			t.Errorf("tap %d: contradiction is turned round", c.tap)
		}
	}
	tm.RateHz = 0
	if _, total := tm.Delays(&Trip{Tap: TapNumber}); !math.IsNaN(total) || Contradiction(1, total) {
		t.Errorf("number without a rate: %g s", total)
	}
}

// TestRampLag integrates a ramp through a low-pass of order 1, step by step, and
// holds the settled lag to DelayS.
func TestRampLag(t *testing.T) {
	l := LowPass{CornerHz: 1e3, Order: 1}
	tau, dt, out, in := 1/(2*math.Pi*1e3), 1e-8, 0.0, 0.0
	for range 200000 {
		in += dt
		out += dt / tau * (in - out)
	}
	near(t, "lag of a ramp, s", in-out, l.DelayS(), 1e-7)
}

func TestZeroing(t *testing.T) {
	z := Zeroing{WindowA: 5, OffsetA: -2, NoiseA: 0.1, CurrentA: 0.3}
	near(t, "swallowed, A", z.SwallowedA(), 7, 1e-12)
	near(t, "least window, A", z.LeastWindowA(), 2.9, 1e-12)
	near(t, "left, A", z.LeftA(), 0.9, 1e-12)
	// The very current that is swallowed passes the window, any more does not.
	passes := func(a float64) bool { return math.Abs(a+z.OffsetA) <= z.WindowA }
	if i := z.SwallowedA(); !passes(i) || passes(i+1e-9) {
		t.Errorf("%g A is not the largest that passes", i)
	}
}

func TestBattery(t *testing.T) {
	b := Battery{ChargeAh: 100}
	c := b.Drift(0.5, 10)
	near(t, "Ah", c.Ah, 5, 1e-12) // 0.5 A · 10 h
	near(t, "share", c.Share, 0.05, 1e-12)
	near(t, "per day, Ah", b.PerDay(0.5).Ah, 12, 1e-12)
	near(t, "hours to 5 %", b.HoursUntil(0.05, 0.5), 10, 1e-12)
	near(t, "cycle at 1 %, Ah", b.Cycle(0.01).Ah, 1, 1e-12)
}
