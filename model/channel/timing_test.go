package channel

import (
	"math"
	"testing"
)

const deg = math.Pi / 180

func TestFirstOrderLag(t *testing.T) {
	for _, c := range []struct{ cornerHz, freqHz, lagDeg, tol float64 }{
		{15.9, 400, 87.7, 0.05},  // atan(400/15.9) = 87.72°
		{5e3, 1e3, 11.3, 0.05},   // atan 0.2 = 11.31°
		{80e3, 1e3, 0.72, 0.005}, // atan 0.0125 = 0.716°
	} {
		a, lag := LowPass{CornerHz: c.cornerHz, Order: 1}.Lag(c.freqHz)
		near(t, "lag, deg", lag/deg, c.lagDeg, c.tol)
		near(t, "amplitude", a, math.Cos(lag), 1e-12) // |1/(1+jx)| = cos atan x
	}
}

// TestLowPassByPoles holds amplitude and lag to the product over the poles
// written out: s² + √2 s + 1 and (s + 1)(s² + s + 1), Butterworth's polynomials of
// order 2 and 3 (standard tables), and (1 + s)^N for equal poles.
func TestLowPassByPoles(t *testing.T) {
	for _, x := range []float64{0.1, 0.9, 1, 1.7, 12} {
		s := complex(0, x)
		y := complex(0, x*math.Sqrt(math.Sqrt2-1)) // corner of two equal poles: √(√2 − 1) of each
		for _, c := range []struct {
			name string
			l    LowPass
			d    complex128
		}{
			{"order 2", LowPass{CornerHz: 1, Order: 2}, s*s + complex(math.Sqrt2, 0)*s + 1},
			{"order 3", LowPass{CornerHz: 1, Order: 3}, (s + 1) * (s*s + s + 1)},
			{"two equal poles", LowPass{CornerHz: 1, Order: 2, EqualPoles: true}, (1 + y) * (1 + y)},
		} {
			a, lag := c.l.Lag(x)
			near(t, c.name+" amplitude", a, 1/math.Hypot(real(c.d), imag(c.d)), 1e-12)
			want := math.Atan2(imag(c.d), real(c.d))
			if want < 0 {
				want += 2 * math.Pi // order 3 goes beyond half a turn
			}
			near(t, c.name+" lag", lag, want, 1e-12)
			_, slope := c.l.Lag(1e-6)
			near(t, c.name+" delay", c.l.DelayS(), slope/(2*math.Pi*1e-6), 1e-9)
		}
	}
	a, _ := LowPass{CornerHz: 40, Order: 5, EqualPoles: true}.Lag(40)
	near(t, "amplitude at the corner", a, math.Sqrt2/2, 1e-12)
}

func TestNoiseBandwidth(t *testing.T) {
	first := func(hz float64) LowPass { return LowPass{CornerHz: hz, Order: 1} }
	near(t, "order 1", NoiseBandwidthHz(first(1e3)), math.Pi/2*1e3, 1e-3)
	// f_c (π/4)/sin(π/4) = 1.1107 f_c; (π/6)/sin(π/6) = π/3 f_c (Motchenbacher's table).
	near(t, "order 2", NoiseBandwidthHz(LowPass{CornerHz: 1e3, Order: 2}), 1110.72, 1e-2)
	near(t, "order 3", NoiseBandwidthHz(LowPass{CornerHz: 1e3, Order: 3}), math.Pi/3*1e3, 1e-3)
	// Two equal poles: (π/4) f_p, f_p = f_c/√(√2−1): 1.2203 f_c.
	near(t, "two equal poles", NoiseBandwidthHz(LowPass{CornerHz: 1e3, Order: 2, EqualPoles: true}), 1220.3, 0.1)
	for _, f2 := range []float64{1e2, 1e3, 1e6} {
		near(t, "two of order 1", NoiseBandwidthHz(first(1e3), first(f2))/(math.Pi/2*1e3*f2/(1e3+f2)), 1, 1e-6)
	}
	if b := NoiseBandwidthHz(first(1), first(math.NaN())); !math.IsNaN(b) {
		t.Errorf("unknown corner: %g", b)
	}
	if b := NoiseBandwidthHz(LowPass{}); !math.IsInf(b, 1) {
		t.Errorf("no filter: %g", b)
	}
}

func TestResponseAddsUp(t *testing.T) {
	tm := Timing{Part: LowPass{CornerHz: 80e3, Order: 1}, PartDelayS: 2e-6, Filter: LowPass{CornerHz: 5e3, Order: 1},
		RateHz: 20e3, Hold: true, DelayS: 10e-6}
	r := tm.At(1e3, complex(math.Cos(3*deg), -math.Sin(3*deg)))
	// 3 + 0.716 + 360·1 kHz·2 us (0.72) + 11.310 + 180/20 (9) + 3.6 = 28.346°
	near(t, "lag, deg", r.LagRad/deg, 3+0.7161+0.72+11.3099+9+3.6, 1e-3)
	near(t, "lag, s", r.LagS(), 28.346/360/1e3, 1e-8)
	// sin(π/20)/(π/20) = 0.99589
	near(t, "amplitude", r.Amplitude, math.Cos(0.7161*deg)*math.Cos(11.3099*deg)*0.995893, 1e-5)
	sum := 0.0
	for _, p := range r.Parts {
		sum += p.LagRad
	}
	near(t, "sum of parts", sum, r.LagRad, 1e-15)

	tm.PartDelayS = math.NaN()
	if r := tm.At(1e3, 1); !math.IsNaN(r.LagRad) || math.IsNaN(r.Amplitude) {
		t.Errorf("unknown delay: %+v", r)
	}
}

func TestBandwidthOfChain(t *testing.T) {
	tm := Timing{Part: LowPass{CornerHz: 1e3, Order: 1}, Filter: LowPass{CornerHz: 1e3, Order: 1}}
	// Two equal poles fall by 3 dB at √(√2 − 1) = 0.6436 of each.
	near(t, "bandwidth, Hz", tm.BandwidthHz(), 643.594, 1e-2)
	tm.RateHz = 1000
	near(t, "half the rate, Hz", tm.BandwidthHz(), 500, 1e-9)
	// A window of 1 ms alone: sin x/x = 1/√2 at x = 1.39156, 0.4429/T (common practice).
	near(t, "window, Hz", (&Timing{RateHz: 1e6, ApertureS: 1e-3}).BandwidthHz(), 442.9, 0.1)
	near(t, "rate alone, Hz", (&Timing{RateHz: 8e3}).BandwidthHz(), 4e3, 0)
	if b := (&Timing{}).BandwidthHz(); !math.IsInf(b, 1) {
		t.Errorf("nothing limits: %g", b)
	}
}

func TestAlias(t *testing.T) {
	for _, c := range []struct{ freqHz, rateHz, wantHz float64 }{
		{16e3, 10e3, 4e3}, // 2 · 10 − 16
		{24e3, 10e3, 4e3}, // 24 − 2 · 10
		{10e3, 10e3, 0},   // in step
		{3e3, 10e3, 3e3},  // below half the rate: as it is
		{5e3, 10e3, 5e3},  // at half of it
		{40.1e3, 20e3, 100},
	} {
		near(t, "alias, Hz", AliasHz(c.freqHz, c.rateHz), c.wantHz, 1e-9)
	}
	tm := Timing{Filter: LowPass{CornerHz: 4e3, Order: 1}, RateHz: 20e3, Hold: true, DelayS: 1e-3}
	a := tm.AliasOf(20e3, 10, 1)
	// 10 A/√(1 + 5²) = 1.961 A, as a constant
	near(t, "size, A", a.PeakA, 10/math.Sqrt(26), 1e-9)
	if !a.Constant || a.FreqHz != 0 {
		t.Errorf("in step: %+v", a)
	}
	if a := tm.AliasOf(19e3, 10, 1); a.Constant || a.FreqHz != 1e3 {
		t.Errorf("beside it: %+v", a)
	}
}

func TestMomentError(t *testing.T) {
	// 8 A of triangular ripple at 10 kHz, 5 us late: 4 · 8 · 10⁴ · 5·10⁻⁶ = 1.6 A; at a quarter
	// period the whole 8 A; half a period on it passes the mean again.
	w := WaveOf([]RippleOrder{{10e3, 8 * 8 / (math.Pi * math.Pi)}}, true)
	near(t, "peak, A", w.PeakA, 8, 1e-12)
	near(t, "5 us, A", w.MomentErrorA(5e-6), 1.6, 1e-12)
	near(t, "quarter, A", w.MomentErrorA(25e-6), 8, 1e-12)
	near(t, "half, A", w.MomentErrorA(50e-6), 0, 1e-12)
	near(t, "early, A", w.MomentErrorA(-5e-6), 1.6, 1e-12)
	// A sine of as much is steeper where it passes the mean, by π/2: 8 sin(0.1 π) = 2.472 A.
	w = WaveOf([]RippleOrder{{10e3, 8}}, false)
	near(t, "sine, A", w.MomentErrorA(5e-6), 2.4721, 1e-4)
	near(t, "sine at a quarter, A", w.MomentErrorA(25e-6), 8, 1e-12)
}

// A triangle of 9 A whose first order lies below half the rate and all others above it: those are
// 9·(1 − 8/π²) = 1.705 A together, the third of them at |15 − 16| = 1 kHz.
func TestAliasOfTriangle(t *testing.T) {
	share := 9 * 8 / (math.Pi * math.Pi)
	w := WaveOf([]RippleOrder{{5e3, share}, {15e3, share / 9}, {25e3, share / 25}}, true)
	tm := Timing{RateHz: 16e3}
	a := tm.AliasOfWave(w, 1)
	near(t, "others, A", a.PeakA, 9-share, 1e-12)
	near(t, "at, Hz", a.FreqHz, 1e3, 1e-9)
	tm.RateHz = 8e3
	a = tm.AliasOfWave(w, 1)
	near(t, "all, A", a.PeakA, 9, 1e-12)
	near(t, "at, Hz", a.FreqHz, 3e3, 1e-9)
}
