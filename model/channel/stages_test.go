package channel

import (
	"math"
	"testing"
)

// near fails unless got is want to within tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.8g, want %.8g ± %.2g", what, got, want, tol)
	}
}

// plain is a channel of so many volts per ampere: 10 uT/A, 2.5 V zero, 12 bit from
// 0 to 3.3 V, nothing else that clips.
func plain(voltsPerA float64) *Chain {
	return &Chain{
		Element:   Element{SlopeTPerA: 10e-6, LowT: -1, HighT: 1},
		Output:    &Output{SensitivityVPerT: voltsPerA / 10e-6, ZeroV: 2.5, LowV: math.Inf(-1), HighV: math.Inf(1)},
		Converter: &Converter{HighV: 3.3, Bits: 12},
	}
}

func TestConverterClipsZeroOfFiveVoltPart(t *testing.T) {
	for _, c := range []struct{ voltsPerA, positiveA, negativeA float64 }{
		{66e-3, 12.1, -37.9}, // (3.3 − 2.5)/0.066 = 12.12; −2.5/0.066 = −37.88
		{40e-3, 20, -62.5},   // 0.8/0.04; −2.5/0.04
	} {
		s := plain(c.voltsPerA).Stages()
		p, n := FirstClip(s, true), FirstClip(s, false)
		near(t, "positive clip, A", p.CurrentA, c.positiveA, 0.05)
		near(t, "negative clip, A", n.CurrentA, c.negativeA, 0.05)
		if p.Stage != ConverterStage || n.Stage != ConverterStage {
			t.Errorf("%g V/A: %s and %s clip first, want the converter", c.voltsPerA, p.Stage, n.Stage)
		}
		// Exact tolerances leave the worst case where the nominal one is.
		near(t, "positive clip at worst, A", p.LeastA, p.CurrentA, 0)
	}
}

func TestDividerAndDeclaredConstant(t *testing.T) {
	// Lower resistor 22 kΩ, upper 10 kΩ: ratio 22/32 = 0.6875; 66 mV/A · 0.6875 =
	// 45.375 mV/A; 3.3 V / 45.375 mV/A = 72.73 A from end to end.
	c := plain(66e-3)
	c.Divider = &Divider{TopOhm: 10e3, BottomOhm: 22e3}
	s := c.Stages()
	p, n := FirstClip(s, true), FirstClip(s, false)
	near(t, "full scale, A", p.CurrentA-n.CurrentA, 72.727, 1e-3)
	// Zero at 1.71875 V: (3.3 − 1.71875)/0.045375 = 34.85 A.
	near(t, "positive clip, A", p.CurrentA, 34.848, 1e-3)

	// Firmware that takes 69.7 A for the 4096 counts: 69.7/72.727 − 1 = −4.16 %.
	c.Firmware = &Firmware{SlopeAPerCount: 69.7 / 4096, ZeroCounts: 2048}
	d, ok := c.CheckFirmware()
	if !ok {
		t.Fatal("no firmware")
	}
	near(t, "declared against computed", d.Relative, -0.042, 0.0005)
	// 1.71875/3.3 · 4096 = 2133.33 counts at no current, 85.33 more than declared.
	near(t, "zero, counts", d.ComputedZero, 2133.33, 0.01)
	near(t, "told at no current, A", d.ZeroErrorA, 85.333*69.7/4096, 1e-3)
	near(t, "A per count", d.ComputedAPerCount, 72.727/4096, 1e-6)
}

func TestEachStageCanBeFirst(t *testing.T) {
	// 1 T/A, 1 V/T so that amperes, tesla and volts have one number.
	base := func() *Chain {
		return &Chain{
			Element:   Element{SlopeTPerA: 1, LowT: -10, HighT: 10},
			Output:    &Output{SensitivityVPerT: 1, ZeroV: 0, LowV: -10, HighV: 10},
			Amplifier: &Amplifier{Gain: 2, LowV: -20, HighV: 20},
			Divider:   &Divider{TopOhm: 1, BottomOhm: 1},
			Converter: &Converter{LowV: -10, HighV: 10, Bits: 12, SignedCode: true},
			Number:    &Number{Signed: true, Width: 8, PerCountA: 0.1},
		}
	}
	for _, c := range []struct {
		stage     string
		change    func(*Chain)
		positiveA float64
	}{
		{ElementStage, func(c *Chain) { c.Element.HighT = 3 }, 3},
		{OutputStage, func(c *Chain) { c.Output.HighV = 4 }, 4},
		{AmplifierStage, func(c *Chain) { c.Amplifier.HighV = 10 }, 5}, // gain 2
		{ConverterStage, func(c *Chain) { c.Converter.HighV = 6 }, 6},  // 2 · 1/2
		{NumberStage, func(c *Chain) { c.Number.Width = 7 }, 6.3},      // (2^6 − 1) · 0.1
	} {
		ch := base()
		c.change(ch)
		s := ch.Stages()
		p := FirstClip(s, true)
		if p.Stage != c.stage {
			t.Errorf("%s clips first, want %s", p.Stage, c.stage)
		}
		near(t, c.stage, p.CurrentA, c.positiveA, 1e-12)
		if len(s) != 6 || len(p.Unknown) != 0 {
			t.Errorf("%d stages, unknown %v", len(s), p.Unknown)
		}
		if s[3].Name != DividerStage || !math.IsInf(s[3].PositiveA, 1) {
			t.Errorf("divider: %+v", s[3])
		}
	}
	// Two's complement: one more below zero than above.
	ch := base()
	ch.Number.Width = 7
	near(t, "negative end of the number, A", FirstClip(ch.Stages(), false).CurrentA, -6.4, 1e-12)
	ch.Number.Signed = false // 0 .. 127: no negative current at all
	near(t, "number without sign, A", FirstClip(ch.Stages(), false).CurrentA, 0, 0)
}

func TestWorstOfTolerances(t *testing.T) {
	c := plain(66e-3)
	c.Output.SensitivityTol, c.Output.ZeroTolV, c.Converter.Tol = 0.02, 0.05, 0.01
	c.Element.SlopeTol = 0.03
	// (3.3 · 0.99 − 2.55)/(0.066 · 1.02 · 1.03) and −2.45/the same.
	k := 0.066 * 1.02 * 1.03
	near(t, "positive, A", FirstClip(c.Stages(), true).LeastA, (3.3*0.99-2.55)/k, 1e-9)
	near(t, "negative, A", FirstClip(c.Stages(), false).LeastA, -2.45/k, 1e-9)
	near(t, "nominal, A", FirstClip(c.Stages(), true).CurrentA, 0.8/0.066, 1e-9)

	// Divider of 1 %: ratio 22·1.01/(22·1.01 + 10·0.99) = 0.69178 at most.
	c = plain(66e-3)
	c.Divider = &Divider{TopOhm: 10e3, BottomOhm: 22e3, Tol: 0.01}
	r := 22.22 / (22.22 + 9.9)
	near(t, "with divider, A", FirstClip(c.Stages(), true).LeastA, (3.3-2.5*r)/(0.066*r), 1e-9)
}

func TestRatiometric(t *testing.T) {
	c := plain(40e-3)
	c.Output.Ratiometric, c.Output.SupplyTol = true, 0.05
	c.Output.LowV, c.Output.HighV = 0.1, 4.9
	// Fixed reference: (3.3 − 2.5·1.05)/(0.04·1.05) = 16.07 A.
	near(t, "fixed reference, A", FirstClip(c.Stages(), true).LeastA, (3.3-2.625)/0.042, 1e-9)
	// Reference on the same supply: everything scales alike, nothing moves.
	c.Converter.Ratiometric = true
	near(t, "reference on the supply, A", FirstClip(c.Stages(), true).LeastA, 20, 1e-9)
	zero, perA := c.last(off{supply: 0.05})
	zero0, perA0 := c.Counts()
	near(t, "zero, counts", zero, zero0, 1e-9)
	near(t, "counts per ampere", perA, perA0, 1e-12)
}

func TestOrderOfDividerAndAmplifier(t *testing.T) {
	c := &Chain{
		Element:   Element{SlopeTPerA: 1, LowT: -9, HighT: 9},
		Output:    &Output{SensitivityVPerT: 1, ZeroV: 2, LowV: -9, HighV: 9},
		Amplifier: &Amplifier{Gain: 3, ReferenceV: 1, ZeroV: 0.5, LowV: -90, HighV: 90},
		Divider:   &Divider{TopOhm: 3, BottomOhm: 1, FootV: 4},
		Converter: &Converter{LowV: -50, HighV: 50, Bits: 10, MinusV: 1},
	}
	// 2 → 0.5 + 3(2−1) = 3.5 → 4 + (3.5−4)/4 = 3.875 → less 1
	s, _ := c.Line(ConverterStage)
	near(t, "amplifier first", s.Zero, 2.875, 1e-12)
	near(t, "slope", s.PerA, 0.75, 1e-12)
	// 2 → 4 + (2−4)/4 = 3.5 → 0.5 + 3 · 2.5 = 8 → 7
	c.DividerFirst = true
	s, _ = c.Line(ConverterStage)
	near(t, "divider first", s.Zero, 7, 1e-12)
}

func TestFallingOutput(t *testing.T) {
	c := plain(66e-3)
	c.Output.SensitivityVPerT *= -1
	p, n := FirstClip(c.Stages(), true), FirstClip(c.Stages(), false)
	near(t, "positive, A", p.CurrentA, 2.5/0.066, 1e-9)
	near(t, "negative, A", n.CurrentA, -0.8/0.066, 1e-9)
	if got := c.Polarity(); got != -1 {
		t.Errorf("polarity %d, want -1", got)
	}
	c.Firmware = &Firmware{SlopeAPerCount: -0.01, ZeroCounts: math.NaN()}
	if got := c.Polarity(); got != 1 {
		t.Errorf("polarity with firmware that turns the sign: %d, want 1", got)
	}
	c.Element.SlopeTPerA = 0
	if got := c.Polarity(); got != 0 {
		t.Errorf("polarity of nothing: %d, want 0", got)
	}
}

func TestUnknownEndNeverPasses(t *testing.T) {
	c := plain(66e-3)
	c.Output.HighV = math.NaN()
	s := c.Stages()
	p, n := FirstClip(s, true), FirstClip(s, false)
	if len(p.Unknown) != 1 || p.Unknown[0] != OutputStage {
		t.Errorf("unknown on the positive side: %v", p.Unknown)
	}
	if len(n.Unknown) != 0 {
		t.Errorf("unknown on the negative side: %v", n.Unknown)
	}
	c.Element.SlopeTPerA = math.NaN()
	if p := FirstClip(c.Stages(), true); !math.IsNaN(p.CurrentA) || p.Stage != "" || len(p.Unknown) != 3 {
		t.Errorf("no slope: %+v", p)
	}
}

func TestPairClipsByItsElements(t *testing.T) {
	// The reading is 12 uT/A, each element sees 20 and 8 uT/A: range by the larger.
	c := &Chain{Element: Element{SlopeTPerA: 12e-6, LowT: -4e-3, HighT: 4e-3, EachTPerA: []float64{20e-6, 8e-6}}}
	s := c.Stages()
	near(t, "positive, A", s[0].PositiveA, 200, 1e-9)
	near(t, "negative, A", s[0].NegativeA, -200, 1e-9)
}

func TestNumberBehindFirmware(t *testing.T) {
	// 10 A from end to end in 1000 counts, signed code, zero in the middle: 1 count is
	// 10 mA. Firmware tells 11 mA a count from a zero at 20 counts, and puts it as
	// 0.1 A a count over 50 into 7 bits without sign.
	c := &Chain{
		Element:   Element{SlopeTPerA: 1, LowT: -1e3, HighT: 1e3},
		Output:    &Output{SensitivityVPerT: 1, LowV: -1e3, HighV: 1e3},
		Converter: &Converter{LowV: -5.12, HighV: 5.12, Bits: 10, SignedCode: true},
		Firmware:  &Firmware{SlopeAPerCount: 0.011, ZeroCounts: 20},
		Number:    &Number{Width: 7, PerCountA: 0.1, ZeroCount: 50},
	}
	zero, perA := c.Counts()
	near(t, "counts at no current", zero, 0, 1e-9)
	near(t, "counts per ampere", perA, 100, 1e-9)
	s, ok := c.Line(NumberStage)
	if !ok {
		t.Fatal("no number")
	}
	near(t, "number at no current", s.Zero, 50-0.011*20/0.1, 1e-9) // 47.8
	near(t, "number per ampere", s.PerA, 11, 1e-9)
	near(t, "upper end, A", FirstClip(c.Stages(), true).LeastA, 5.12, 1e-9)
	near(t, "lower end, A", FirstClip(c.Stages(), false).CurrentA, -47.8/11, 1e-9)

	// A zero that firmware does not declare is taken to be right, and no error is told.
	c.Firmware.ZeroCounts = math.NaN()
	s, _ = c.Line(NumberStage)
	near(t, "number at no current", s.Zero, 50, 1e-9)
	if d, _ := c.CheckFirmware(); !math.IsNaN(d.ZeroErrorA) {
		t.Errorf("error of a zero that is not declared: %g A", d.ZeroErrorA)
	}

	// The same code without sign begins at 0.
	c.Converter.SignedCode = false
	zero, _ = c.Counts()
	near(t, "counts without sign", zero, 512, 1e-9)
}
