package channel

import (
	"math"
	"slices"
	"testing"

	"busgauss/model/layout"
)

func set(v float64) layout.Num { return layout.Num{V: v, Set: true} }

func say[T any](v T) layout.Choice[T] { return layout.Choice[T]{V: v, Set: true} }

// ferry is a layout with one channel, all that the layout can say about it said.
func ferry() (*layout.Layout, *layout.Sensor) {
	l := &layout.Layout{
		Sensors: []layout.Sensor{{ID: "SU", Part: 0}},
		Parts: []layout.Part{{
			ID: "plover-20", LinearLowT: set(-20e-3), LinearHighT: set(20e-3),
			SensitivityVPerT: set(90), SensitivityFromVPT: set(60), SensitivityToVPT: set(120), SensitivityTol: set(0.01),
			SensitivityPerK: set(120e-6), SensitivityLife: set(0.005),
			ZeroV: set(2.5), LowV: set(0.4), HighV: set(4.6), RatiometricSet: true, OffsetV: set(-6e-3), OffsetVPerK: set(40e-6), OffsetLifeV: set(2e-3),
			NoiseV: set(1.1e-3), BandwidthHz: set(180e3), Order: layout.Num{V: 1}, DelayS: set(2.2e-6),
			HysteresisT: set(10e-6), NonLinearity: set(0.002), TemperatureFromC: set(-40), TemperatureToC: set(105),
		}},
	}
	r := &l.Readout
	r.Given = true
	r.Converter = layout.Converter{LowV: set(0), HighV: set(3.3), Bits: set(12), Tol: set(0.004), NoiseCounts: set(0.6)}
	r.Divider = layout.Divider{TopOhm: set(10e3), BottomOhm: set(22e3), Tol: set(0.001), FootV: set(0)}
	r.Filter = layout.Filter{CornerHz: set(20e3), Order: set(2), Shape: say(layout.EqualPoles), Tol: set(0.05)}
	r.Sampling = layout.Sampling{RateHz: set(20e3), DelayS: set(3e-6), Hold: say(false), ApertureS: set(1e-6), CarrierHz: set(10e3), ShiftS: set(2e-6)}
	r.Number.Signed, r.Number.SignedSet, r.Number.Width, r.Number.PerCountA = true, true, set(16), set(0.1)
	r.Firmware.SlopeAPerCount, r.Firmware.ZeroCounts = set(0.4), set(2133)
	l.Calibrations = []layout.Calibration{{Channel: "all", TemperatureC: set(30)}}
	return l, &l.Sensors[0]
}

func keys(m []Missing, undecided bool) []string {
	var out []string
	for _, x := range m {
		if x.Undecided == undecided {
			out = append(out, x.Key)
		}
	}
	return out
}

func TestFromLayoutFull(t *testing.T) {
	l, s := ferry()
	c, missing := FromLayout(l, s, Field{SlopeTPerA: 22e-6, SlopeTol: 0.02})
	if len(missing) > 0 {
		t.Errorf("undecided: %v, assumed: %v", keys(missing, true), keys(missing, false))
	}
	// 22 uT/A · 90 V/T = 1.98 mV/A, · 0.6875 = 1.36125 mV/A; 3.3/4096 V a count.
	zero, perA := c.Counts()
	near(t, "counts at no current", zero, 2.5*0.6875/3.3*4096, 1e-9)
	near(t, "counts per ampere", perA, 1.36125e-3/3.3*4096, 1e-9)
	// Element 20 mT/22 uT/A = 909 A; swing 2.1 V/1.98 mV/A = 1061 A.
	p := FirstClip(c.Stages(), true)
	if p.Stage != ElementStage {
		t.Errorf("%s clips first", p.Stage)
	}
	near(t, "clip, A", p.CurrentA, 20e-3/22e-6, 1e-9)
	near(t, "clip at worst, A", p.LeastA, 20e-3/22e-6/1.02, 1e-9)
	d, _ := c.CheckFirmware()
	near(t, "firmware", d.Relative, 0.4*perA-1, 1e-12)
	near(t, "span, K", c.Drift.SpanK, 75, 0) // 30 − (−40) = 70, 105 − 30 = 75
	near(t, "offset over life, V", c.Drift.ZeroLifeV, 2e-3, 0)
	near(t, "reference", c.Converter.Tol, 0.004, 0)
	near(t, "converter noise", c.Noise.ConverterRMSCount, 0.6, 0)
	near(t, "resistors", c.Divider.Tol, 0.001, 0)
	near(t, "corner", c.Timing.FilterTol, 0.05, 0)
	near(t, "aperture, s", c.Timing.ApertureS, 1e-6, 0)
	near(t, "carrier, Hz", c.Timing.CarrierHz, 10e3, 0)
	near(t, "shift, s", c.Timing.ShiftS, 2e-6, 0)
	if c.Timing.Hold || !c.Timing.Filter.EqualPoles || c.Timing.Part.EqualPoles || c.DividerFirst || c.Converter.SignedCode || c.Converter.Ratiometric {
		t.Errorf("words: %+v", c)
	}
	near(t, "offset, V", c.Output.ZeroTolV, 6e-3, 0)
	// Everything that does not hang on what is missing has a number.
	if r := c.Resolution(); math.IsNaN(r.NoiseA) {
		t.Errorf("resolution: %+v", r)
	}
	if r := c.Timing.At(1e3, 1); math.IsNaN(r.LagRad) {
		t.Errorf("response: %+v", r)
	}
}

func TestFromLayoutNothing(t *testing.T) {
	l := &layout.Layout{Sensors: []layout.Sensor{{ID: "SU", Part: layout.None}}}
	c, missing := FromLayout(l, &l.Sensors[0], Field{SlopeTPerA: 22e-6})
	if got, want := keys(missing, true), []string{"sensors.SU.part", "readout"}; !slices.Equal(got, want) {
		t.Errorf("undecided: %v, want %v", got, want)
	}
	if p := FirstClip(c.Stages(), true); len(p.Unknown) != 1 || !math.IsNaN(p.CurrentA) {
		t.Errorf("clip of nothing: %+v", p)
	}
	if zero, perA := c.Counts(); !math.IsNaN(zero + perA) {
		t.Errorf("counts of nothing: %g, %g", zero, perA)
	}
	if r := c.Resolution(); !math.IsNaN(r.NoiseA) {
		t.Errorf("noise of nothing: %g A", r.NoiseA)
	}
	if r := c.Timing.At(100, 1); !math.IsNaN(r.LagRad) {
		t.Errorf("lag of nothing: %g", r.LagRad)
	}
}

// TestFromLayoutEachKey takes away one datum at a time: each must be named, and
// what hangs on an undecided one must be NaN.
func TestFromLayoutEachKey(t *testing.T) {
	none := layout.Num{}
	for _, c := range []struct {
		key       string
		undecided bool
		clear     func(*layout.Layout)
		open      func(*Chain) float64 // NaN when key is undecided
	}{
		{"parts.plover-20.linear-range", true, func(l *layout.Layout) { l.Parts[0].LinearLowT, l.Parts[0].LinearHighT = none, none },
			func(c *Chain) float64 { return c.Stages()[0].PositiveA }},
		{"parts.plover-20.sensitivity.set", true, func(l *layout.Layout) { l.Parts[0].SensitivityVPerT = none },
			func(c *Chain) float64 { _, k := c.Counts(); return k }},
		{"parts.plover-20.output.zero", true, func(l *layout.Layout) { l.Parts[0].ZeroV = none },
			func(c *Chain) float64 { z, _ := c.Counts(); return z }},
		{"parts.plover-20.output.high", true, func(l *layout.Layout) { l.Parts[0].HighV = none },
			func(c *Chain) float64 { return c.Stages()[1].PositiveA }},
		{"parts.plover-20.noise", true, func(l *layout.Layout) { l.Parts[0].NoiseV = none },
			func(c *Chain) float64 { return c.Resolution().NoiseA }},
		{"parts.plover-20.bandwidth", true, func(l *layout.Layout) { l.Parts[0].BandwidthHz = none },
			func(c *Chain) float64 { return c.Timing.At(10, 1).Amplitude }},
		{"parts.plover-20.delay", true, func(l *layout.Layout) { l.Parts[0].DelayS = none },
			func(c *Chain) float64 { return c.Timing.At(10, 1).LagRad }},
		{"parts.plover-20.hysteresis", true, func(l *layout.Layout) { l.Parts[0].HysteresisT = none },
			func(c *Chain) float64 { return c.Sources()[1].ZeroA }},
		{"parts.plover-20.offset.life", true, func(l *layout.Layout) { l.Parts[0].OffsetLifeV = none },
			func(c *Chain) float64 { return c.Drift.ZeroLifeV }},
		{"calibration.all.temperature", false, func(l *layout.Layout) { l.Calibrations = nil }, nil},
		{"calibration.SU.temperature", false, func(l *layout.Layout) {
			l.Calibrations[0].Channel, l.Calibrations[0].TemperatureC = "SU", none
		}, nil},
		{"parts.plover-20.bandwidth.shape", false, func(l *layout.Layout) { l.Parts[0].Order = set(2) }, nil},
		{"readout.filter.shape", false, func(l *layout.Layout) { l.Readout.Filter.Shape.Set = false }, nil},
		{"readout.filter.tolerance", false, func(l *layout.Layout) { l.Readout.Filter.Tol = none }, nil},
		{"readout.divider.tolerance", false, func(l *layout.Layout) { l.Readout.Divider.Tol = none }, nil},
		{"readout.divider.foot", false, func(l *layout.Layout) { l.Readout.Divider.FootV = none }, nil},
		{"readout.converter.tolerance", false, func(l *layout.Layout) { l.Readout.Converter.Tol = none }, nil},
		{"readout.converter.noise", false, func(l *layout.Layout) { l.Readout.Converter.NoiseCounts = none }, nil},
		{"readout.converter.code", false, func(l *layout.Layout) { l.Readout.Converter.LowV = set(-3.3) }, nil},
		{"readout.converter.minus", false, func(l *layout.Layout) { l.Readout.Converter.LowV = set(-3.3) }, nil},
		{"readout.sampling.hold", false, func(l *layout.Layout) { l.Readout.Sampling.Hold.Set = false }, nil},
		{"readout.sampling.aperture", false, func(l *layout.Layout) { l.Readout.Sampling.ApertureS = none }, nil},
		{"readout.sampling.shift", false, func(l *layout.Layout) { l.Readout.Sampling.ShiftS = none }, nil},
		{"readout.number.zero", false, func(l *layout.Layout) { l.Readout.Number.Signed = false }, nil},
		{"parts.plover-20.sensitivity.tolerance", false, func(l *layout.Layout) { l.Parts[0].SensitivityTol = none }, nil},
		{"parts.plover-20.offset.initial", false, func(l *layout.Layout) { l.Parts[0].OffsetV = none }, nil},
		{"parts.plover-20.output.ratiometric", false, func(l *layout.Layout) { l.Parts[0].RatiometricSet = false }, nil},
		{"parts.plover-20.output.supply-tolerance", false, func(l *layout.Layout) { l.Parts[0].Ratiometric = true }, nil},
		{"readout.converter.ratiometric", false, func(l *layout.Layout) { l.Parts[0].Ratiometric = true }, nil},
		{"readout.converter", true, func(l *layout.Layout) {
			k := &l.Readout.Converter
			k.LowV, k.HighV, k.Bits = none, none, none
		}, func(c *Chain) float64 { _, k := c.Counts(); return k }},
		{"readout.converter.bits", true, func(l *layout.Layout) { l.Readout.Converter.Bits = none },
			func(c *Chain) float64 { return c.Resolution().StepA }},
		{"readout.converter.low", false, func(l *layout.Layout) { l.Readout.Converter.LowV = none }, nil},
		{"readout.sampling.rate", true, func(l *layout.Layout) { l.Readout.Sampling.RateHz = none },
			func(c *Chain) float64 { _, s := c.Timing.Delays(&Trip{Tap: TapNumber}); return s }},
		{"readout.sampling.delay", true, func(l *layout.Layout) { l.Readout.Sampling.DelayS = none },
			func(c *Chain) float64 { return c.Timing.At(10, 1).LagRad }},
		{"readout.number.signed", true, func(l *layout.Layout) { l.Readout.Number.SignedSet = false },
			func(c *Chain) float64 { s := c.Stages(); return s[len(s)-1].NegativeA }},
		{"readout.number.per-count", true, func(l *layout.Layout) { l.Readout.Number.PerCountA = none },
			func(c *Chain) float64 { s := c.Stages(); return s[len(s)-1].NegativeA }},
		{"readout.firmware.zero", false, func(l *layout.Layout) { l.Readout.Firmware.ZeroCounts = none }, nil},
	} {
		l, s := ferry()
		c.clear(l)
		chain, missing := FromLayout(l, s, Field{SlopeTPerA: 22e-6})
		if !slices.Contains(keys(missing, c.undecided), c.key) {
			t.Errorf("%s is not named (undecided %v)", c.key, c.undecided)
		}
		if c.open != nil {
			if v := c.open(chain); !math.IsNaN(v) {
				t.Errorf("%s is missing, but what hangs on it is %g", c.key, v)
			}
			whole, s := ferry()
			full, _ := FromLayout(whole, s, Field{SlopeTPerA: 22e-6})
			if v := c.open(full); math.IsNaN(v) {
				t.Errorf("%s is there, but what hangs on it is not known", c.key)
			}
		}
	}
}

func TestFromLayoutAmplifierAndPair(t *testing.T) {
	l, s := ferry()
	l.Readout.Amplifier.Gain = set(-2)
	s.Pair = &layout.Pair{}
	c, missing := FromLayout(l, s, Field{SlopeTPerA: 22e-6})
	for _, k := range []string{"reference", "tolerance", "offset", "noise", "zero"} {
		if !slices.Contains(keys(missing, false), "readout.amplifier."+k) {
			t.Errorf("%s of the amplifier is not named", k)
		}
	}
	for _, k := range []string{"readout.amplifier.low", "readout.amplifier.high", "sensors.SU.pair"} {
		if !slices.Contains(keys(missing, true), k) {
			t.Errorf("%s is not named", k)
		}
	}
	if !slices.Contains(keys(missing, false), "readout.divider.place") {
		t.Error("the place of the divider is not named")
	}
	if p := FirstClip(c.Stages(), true); !slices.Equal(p.Unknown, []string{ElementStage, AmplifierStage}) {
		t.Errorf("unknown: %v", p.Unknown)
	}
	if got := c.Polarity(); got != -1 {
		t.Errorf("polarity %d behind an amplifier that inverts", got)
	}
}

// TestFromLayoutWords reads what the words of the readout change.
func TestFromLayoutWords(t *testing.T) {
	l, s := ferry()
	r := &l.Readout
	r.Amplifier = layout.Amplifier{Gain: set(2), ZeroV: set(1.5), ReferenceV: set(2.5), LowV: set(0.1), HighV: set(3.2),
		GainTol: set(0.002), OffsetV: set(0.4e-3), NoiseVPerRtHz: set(15e-9)}
	r.Divider.Place, r.Divider.FootV = say(layout.BeforeAmplifier), set(2.5)
	r.Converter.LowV, r.Converter.MinusV, r.Converter.Code = set(-1), set(1.5), say(layout.StraightCode)
	r.Number.Signed, r.Number.Zero = false, set(32768)
	c, missing := FromLayout(l, s, Field{SlopeTPerA: 22e-6})
	if len(missing) > 0 {
		t.Errorf("open: %v, %v", keys(missing, true), keys(missing, false))
	}
	want := Amplifier{Gain: 2, GainTol: 0.002, ReferenceV: 2.5, ZeroV: 1.5, InputTolV: 0.4e-3, LowV: 0.1, HighV: 3.2}
	if *c.Amplifier != want || !c.DividerFirst || c.Divider.FootV != 2.5 || c.Noise.AmplifierVPerRtHz != 15e-9 {
		t.Errorf("amplifier %+v, divider %+v first %v, noise %g", c.Amplifier, c.Divider, c.DividerFirst, c.Noise.AmplifierVPerRtHz)
	}
	if c.Converter.SignedCode || c.Converter.MinusV != 1.5 || c.Number.ZeroCount != 32768 {
		t.Errorf("converter %+v, number %+v", c.Converter, c.Number)
	}
	// At no current: 2.5 V on a divider that stands on 2.5 V, 1.5 V behind the
	// amplifier, 0 V against the negative input: (0 + 1)/4.3 of 4096 counts.
	zero, _ := c.Counts()
	near(t, "counts at no current", zero, 4096/4.3, 1e-12)

	// A converter that follows the supply asks how far the supply goes, and has no
	// reference of its own.
	r.Converter.Ratiometric, r.Converter.Tol = say(true), layout.Num{}
	c, missing = FromLayout(l, s, Field{SlopeTPerA: 22e-6})
	if got := keys(missing, false); !c.Converter.Ratiometric || !slices.Equal(got, []string{"parts.plover-20.output.supply-tolerance"}) {
		t.Errorf("ratiometric %v, assumed %v", c.Converter.Ratiometric, got)
	}
}

// TestFromLayoutChannel names keys of a stage under the channel that has it.
func TestFromLayoutChannel(t *testing.T) {
	l, s := ferry()
	own := layout.ChannelReadout{Channel: "SU"}
	own.Converter = layout.Converter{Stage: layout.Stage{Given: true, OfChannel: true}, HighV: set(5)}
	l.Readout.Channels = []layout.ChannelReadout{own}
	c, missing := FromLayout(l, s, Field{SlopeTPerA: 22e-6})
	if got := keys(missing, true); !slices.Equal(got, []string{"readout.channels.SU.converter.bits"}) {
		t.Errorf("undecided: %v", got)
	}
	if c.Converter.HighV != 5 || c.Divider.BottomOhm != 22e3 {
		t.Errorf("converter %+v, divider %+v", c.Converter, c.Divider)
	}
}
