package channel

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/span"
)

// Field is what the field model knows of one sensor.
type Field struct {
	SlopeTPerA float64   // reading per ampere of what it reads, at direct current
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

// orAssumedTruth returns a truth value, and names it when it is its default.
func (f *filler) orAssumedTruth(b layout.Choice[bool], key, text string) bool {
	if !b.Set {
		f.assumed(key, b.Span, text)
	}
	return b.V
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
	r := l.ReadoutOf(s)
	if p := l.PartOf(s); p != nil {
		f.part(c, p, s, r.Converter.Ratiometric.V)
		c.Drift.SpanK = f.step(l, p, s)
	} else {
		f.undecided("sensors."+s.ID+".part", s.Span, fmt.Sprintf("sensor %q names no part: nothing is known behind the field", s.ID))
	}
	f.readout(c, &r, s.ID)
	return c, f.missing
}

// part fills what the part is. The supply counts when its output or the converter
// behind it follows it.
func (f *filler) part(c *Chain, p *layout.Part, s *layout.Sensor, converterFollows bool) {
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
	o.ZeroTolV = math.Abs(f.orAssumed(p.OffsetV, 0, at("offset.initial"), "there is no offset"))
	o.LowV = f.orUndecided(p.LowV, at("output.low"), "the lower end of the swing is not known")
	o.HighV = f.orUndecided(p.HighV, at("output.high"), "the upper end of the swing is not known")
	o.Ratiometric = p.Ratiometric
	if !p.RatiometricSet {
		f.assumed(at("output.ratiometric"), p.Span, "zero and sensitivity do not follow the supply")
	}
	if p.Ratiometric || converterFollows {
		o.SupplyTol = f.orAssumed(p.SupplyTol, 0, at("output.supply-tolerance"), "the supply is exact")
	}

	c.Noise.OutputRMSV, c.Noise.OutputVPerRtHz = num(p.NoiseV), num(p.NoiseVPerRtHz)
	if !p.NoiseV.Set && !p.NoiseVPerRtHz.Set {
		f.undecided(at("noise"), p.NoiseV.Span, "the noise of the part is not known")
	}
	c.Timing.Part.CornerHz = f.orUndecided(p.BandwidthHz, at("bandwidth"), "the bandwidth of the part is not known")
	c.Timing.Part.Order = int(p.Order.V)
	c.Timing.Part.EqualPoles = f.equalPoles(p.Shape, p.Order, at("bandwidth.shape"))
	c.Timing.PartDelayS = f.orUndecided(p.DelayS, at("delay"), "the delay of the part is not known")

	d := &c.Drift
	d.SensitivityPerK = f.orUndecided(p.SensitivityPerK, at("sensitivity.drift"), "the drift of sensitivity is not known")
	d.SensitivityLife = f.orUndecided(p.SensitivityLife, at("sensitivity.life"), "the change of sensitivity over life is not known")
	d.ZeroVPerK = f.orUndecided(p.OffsetVPerK, at("offset.drift"), "the drift of the zero is not known")
	d.ZeroLifeV = f.orUndecided(p.OffsetLifeV, at("offset.life"), "the change of the zero over life is not known")
	d.HysteresisT = f.orUndecided(p.HysteresisT, at("hysteresis"), "the hysteresis is not known")
	d.NonLinearity = f.orUndecided(p.NonLinearity, at("non-linearity"), "the departure from the straight line is not known")
}

// equalPoles reads the form of a low-pass, which counts above order one.
func (f *filler) equalPoles(shape layout.Choice[layout.Shape], order layout.Num, key string) bool {
	if !shape.Set && order.V > 1 {
		f.assumed(key, shape.Span, "the low-pass is a Butterworth one")
	}
	return shape.V == layout.EqualPoles
}

// step returns the larger step in kelvin from the temperature of calibration to the
// ends of use.
func (f *filler) step(l *layout.Layout, p *layout.Part, s *layout.Sensor) float64 {
	if !p.TemperatureFromC.Set || !p.TemperatureToC.Set {
		f.undecided("parts."+p.ID+".temperature", p.TemperatureFromC.Span, "the range of temperature is not known")
		return math.NaN()
	}
	at := f.calibrationC(l, s)
	return max(math.Abs(p.TemperatureFromC.V-at), math.Abs(p.TemperatureToC.V-at))
}

// num returns the number, NaN when it is not set whatever default it holds.
func num(n layout.Num) float64 {
	if !n.Set {
		return math.NaN()
	}
	return n.V
}
