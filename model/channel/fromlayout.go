package channel

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/span"
)

// Field is what the field model knows of one sensor.
type Field struct {
	SlopeTPerA float64   // reading per ampere of the own bar at direct current
	SlopeTol   float64   // share: certainty and placement
	EachTPerA  []float64 // own field per ampere on each element of a pair
}

// Missing is a datum that the layout does not give.
type Missing struct {
	Key       string    // path in the layout, such as readout.converter.bits
	Span      span.Span // where it could be added
	Text      string    // what is assumed, or what cannot be said
	Undecided bool      // true: nothing is assumed, and what hangs on it is NaN
}

// filler gathers what is missing while a chain is filled.
type filler struct {
	missing []Missing
}

func (f *filler) undecided(key string, at span.Span, text string) {
	f.missing = append(f.missing, Missing{Key: key, Span: at, Text: text, Undecided: true})
}

func (f *filler) assumed(key string, at span.Span, text string) {
	f.missing = append(f.missing, Missing{Key: key, Span: at, Text: text})
}

// orUndecided returns a number or NaN, and names it when it is not set.
func (f *filler) orUndecided(n layout.Num, key, text string) float64 {
	if n.Set {
		return n.V
	}
	f.undecided(key, n.Span, text)
	return math.NaN()
}

// orAssumed returns a number or an assumed one, and names it when it is not set.
func (f *filler) orAssumed(n layout.Num, v float64, key, text string) float64 {
	if n.Set {
		return n.V
	}
	f.assumed(key, n.Span, text)
	return v
}

// FromLayout returns the chain of sensor s, and everything that the layout leaves
// open, in the order of the signal. The chain is never nil; a stage that is not
// known is nil, a number that is not known NaN.
func FromLayout(l *layout.Layout, s *layout.Sensor, field Field) (*Chain, []Missing) {
	var f filler
	c := &Chain{Noise: Noise{OutputVPerRtHz: math.NaN(), OutputRMSV: math.NaN()}}
	c.Element = Element{SlopeTPerA: field.SlopeTPerA, SlopeTol: field.SlopeTol, LowT: math.NaN(), HighT: math.NaN(), EachTPerA: field.EachTPerA}
	c.Timing.Part = LowPass{CornerHz: math.NaN(), Order: 1}
	c.Timing.PartDelayS = math.NaN()
	c.Drift = Drift{SensitivityPerK: math.NaN(), SensitivityLife: math.NaN(), ZeroVPerK: math.NaN(), ZeroLifeV: math.NaN(),
		HysteresisT: math.NaN(), NonLinearity: math.NaN(), SpanK: math.NaN()}
	if p := l.PartOf(s); p != nil {
		f.part(c, p, s)
	} else {
		f.undecided("sensors."+s.ID+".part", s.Span, fmt.Sprintf("sensor %q names no part: nothing is known behind the field", s.ID))
	}
	f.readout(c, &l.Readout)
	return c, f.missing
}

func (f *filler) part(c *Chain, p *layout.Part, s *layout.Sensor) {
	at := func(key string) string { return "parts." + p.ID + "." + key }
	e := &c.Element
	e.LowT = f.orUndecided(p.LinearLowT, at("linear-range"), "the element's range is not known")
	e.HighT = num(p.LinearHighT)
	if s.Pair != nil && e.EachTPerA == nil {
		e.LowT, e.HighT = math.NaN(), math.NaN()
		f.undecided("sensors."+s.ID+".pair", s.Pair.Span, "the field on each element of the pair is not known")
	}
	o := &Output{FromVPerT: num(p.SensitivityFromVPT), ToVPerT: num(p.SensitivityToVPT)}
	c.Output = o
	o.SensitivityVPerT = f.orUndecided(p.SensitivityVPerT, at("sensitivity.set"), "no sensitivity is set")
	o.SensitivityTol = f.orAssumed(p.SensitivityTol, 0, at("sensitivity.tolerance"), "sensitivity is exact")
	o.ZeroV = f.orUndecided(p.ZeroV, at("output.zero"), "the output at no field is not known")
	o.ZeroTolV = math.Abs(f.orAssumed(p.OffsetV, 0, at("offset"), "there is no offset"))
	o.LowV = f.orUndecided(p.LowV, at("output.low"), "the lower end of the swing is not known")
	o.HighV = f.orUndecided(p.HighV, at("output.high"), "the upper end of the swing is not known")
	o.Ratiometric = p.Ratiometric
	if !p.RatiometricSet {
		f.assumed(at("output.ratiometric"), p.Span, "zero and sensitivity do not follow the supply")
	}
	if p.Ratiometric {
		o.SupplyTol = f.orAssumed(p.SupplyTol, 0, at("output.supply-tolerance"), "the supply is exact")
	}

	c.Noise.OutputRMSV, c.Noise.OutputVPerRtHz = num(p.NoiseV), num(p.NoiseVPerRtHz)
	if !p.NoiseV.Set && !p.NoiseVPerRtHz.Set {
		f.undecided(at("noise"), p.NoiseV.Span, "the noise of the part is not known")
	}
	c.Timing.Part.CornerHz = f.orUndecided(p.BandwidthHz, at("bandwidth"), "the bandwidth of the part is not known")
	c.Timing.Part.Order = int(p.Order.V)
	c.Timing.PartDelayS = f.orUndecided(p.DelayS, at("delay"), "the delay of the part is not known")

	d := &c.Drift
	d.SensitivityPerK = f.orUndecided(p.SensitivityPerK, at("sensitivity.drift"), "the drift of sensitivity is not known")
	d.SensitivityLife = f.orUndecided(p.SensitivityLife, at("sensitivity.life"), "the change of sensitivity over life is not known")
	d.ZeroVPerK = f.orUndecided(p.OffsetVPerK, at("offset.drift"), "the drift of the zero is not known")
	f.undecided(at("offset.life"), p.OffsetV.Span, "the change of the zero over life is not known") // no such key in the layout yet
	d.HysteresisT = f.orUndecided(p.HysteresisT, at("hysteresis"), "the hysteresis is not known")
	d.NonLinearity = f.orUndecided(p.NonLinearity, at("non-linearity"), "the departure from the straight line is not known")
	d.SpanK = f.span(p, at("temperature"))
}

// roomC is the temperature of calibration until the layout can say it: 25 °C,
// common practice of data sheets.
const roomC = 25

// span returns the larger step from the temperature of calibration.
func (f *filler) span(p *layout.Part, key string) float64 {
	if !p.TemperatureFromC.Set || !p.TemperatureToC.Set {
		f.undecided(key, p.TemperatureFromC.Span, "the range of temperature is not known")
		return math.NaN()
	}
	// No key for the temperature of calibration in the layout yet.
	f.assumed("calibration.temperature", p.TemperatureFromC.Span, fmt.Sprintf("the channel is calibrated at %d °C", roomC))
	return max(math.Abs(p.TemperatureFromC.V-roomC), math.Abs(p.TemperatureToC.V-roomC))
}

func (f *filler) readout(c *Chain, r *layout.Readout) {
	if !r.Given {
		f.undecided("readout", r.Span, "nothing is known behind the output of the part")
		return
	}
	if a := r.Amplifier; a.Gain.Set {
		c.Amplifier = &Amplifier{Gain: a.Gain.V, LowV: math.NaN(), HighV: math.NaN()}
		c.Amplifier.ZeroV = f.orAssumed(a.ZeroV, 0, "readout.amplifier.zero", "the amplifier gives 0 V at no input")
		// No keys in the layout yet.
		f.assumed("readout.amplifier.reference", a.Gain.Span, "the amplifier counts its input from 0 V")
		f.assumed("readout.amplifier.tolerance", a.Gain.Span, "the gain is exact")
		f.assumed("readout.amplifier.offset", a.Gain.Span, "the amplifier has no input offset")
		f.assumed("readout.amplifier.noise", a.Gain.Span, "the amplifier adds no noise")
		f.undecided("readout.amplifier.low", a.Gain.Span, "the lower end of the amplifier's swing is not known")
		f.undecided("readout.amplifier.high", a.Gain.Span, "the upper end of the amplifier's swing is not known")
	}
	if d := r.Divider; d.TopOhm.Set && d.BottomOhm.Set {
		c.Divider = &Divider{TopOhm: d.TopOhm.V, BottomOhm: d.BottomOhm.V}
		// No keys in the layout yet.
		f.assumed("readout.divider.tolerance", d.BottomOhm.Span, "the resistors of the divider are exact")
		f.assumed("readout.divider.foot", d.BottomOhm.Span, "the divider stands on 0 V")
		if c.Amplifier != nil {
			f.assumed("readout.divider.place", d.TopOhm.Span, "the divider stands behind the amplifier")
		}
	}
	if r.Filter.CornerHz.Set {
		c.Timing.Filter = LowPass{CornerHz: r.Filter.CornerHz.V, Order: int(r.Filter.Order.V)}
	}
	f.converter(c, r)
	f.sampling(c, r)
	f.number(c, r)
}

func (f *filler) converter(c *Chain, r *layout.Readout) {
	a := r.Converter
	if !a.LowV.Set && !a.HighV.Set && !a.Bits.Set {
		f.undecided("readout.converter", r.Span, "the converter is not known")
		return
	}
	k := &Converter{}
	c.Converter = k
	k.HighV = f.orUndecided(a.HighV, "readout.converter.high", "the upper end of the converter is not known")
	k.LowV = f.orAssumed(a.LowV, 0, "readout.converter.low", "the converter begins at 0 V")
	k.Bits = f.orUndecided(a.Bits, "readout.converter.bits", "the bits of the converter are not known")
	k.SignedCode = k.LowV < 0
	// No keys in the layout yet.
	f.assumed("readout.converter.tolerance", r.Span, "the reference of the converter is exact")
	f.assumed("readout.converter.noise", r.Span, "the converter adds no noise beside its step")
	if c.Output != nil && c.Output.Ratiometric {
		f.assumed("readout.converter.ratiometric", r.Span, "the reference of the converter does not follow the supply of the part")
	}
	if k.SignedCode {
		f.assumed("readout.converter.code", r.Span, "the code of the converter is signed")
		f.assumed("readout.converter.minus", r.Span, "the converter reads against 0 V")
	}
}

func (f *filler) sampling(c *Chain, r *layout.Readout) {
	t := &c.Timing
	t.RateHz = f.orUndecided(r.Sampling.RateHz, "readout.sampling.rate", "the sampling rate is not known")
	t.DelayS = f.orUndecided(r.Sampling.DelayS, "readout.sampling.delay", "the time from sample to number is not known")
	// No keys in the layout yet.
	t.Hold = true
	f.assumed("readout.sampling.hold", r.Sampling.RateHz.Span, "the number stands still between samples")
	f.assumed("readout.sampling.aperture", r.Sampling.RateHz.Span, "the converter samples a moment")
}

func (f *filler) number(c *Chain, r *layout.Readout) {
	if w := r.Firmware; w.SlopeAPerCount.Set {
		c.Firmware = &Firmware{SlopeAPerCount: w.SlopeAPerCount.V, ZeroCounts: num(w.ZeroCounts)}
		if !w.ZeroCounts.Set {
			f.assumed("readout.firmware.zero", w.ZeroCounts.Span, "firmware takes the right zero")
		}
	}
	n := r.Number
	if !n.SignedSet && !n.Width.Set && !n.PerCountA.Set {
		f.assumed("readout.number", r.Span, "the number holds every current")
		return
	}
	c.Number = &Number{Signed: n.Signed}
	c.Number.Width = f.orUndecided(n.Width, "readout.number.width", "the width of the number is not known")
	c.Number.PerCountA = f.orUndecided(n.PerCountA, "readout.number.per-count", "the amperes of one count are not known")
	if !n.SignedSet {
		c.Number.Width = math.NaN()
		f.undecided("readout.number.signed", n.Width.Span, "it is not known whether the number has a sign")
	} else if !n.Signed {
		f.assumed("readout.number.zero", n.Width.Span, "the number is 0 at no current") // no such key in the layout yet
	}
}

// num returns the number, NaN when it is not set whatever default it holds.
func num(n layout.Num) float64 {
	if !n.Set {
		return math.NaN()
	}
	return n.V
}
