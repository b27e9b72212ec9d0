package channel

import (
	"math"

	"busgauss/model/layout"
)

// readoutKey returns the path of a key of a stage for the sensor called id.
func readoutKey(s layout.Stage, id, key string) string {
	if s.OfChannel {
		return "readout.channels." + id + "." + key
	}
	return "readout." + key
}

// readout fills what stands behind the output of the part, for the sensor called id.
func (f *filler) readout(c *Chain, r *layout.Readout, id string) {
	if !r.Given {
		f.undecided("readout", r.Span, "nothing is known behind the output of the part")
		return
	}
	if r.Amplifier.Gain.Set {
		f.amplifier(c, &r.Amplifier, id)
	}
	if d := &r.Divider; d.TopOhm.Set && d.BottomOhm.Set {
		f.divider(c, d, id)
	}
	if w := &r.Filter; w.CornerHz.Set {
		at := func(key string) string { return readoutKey(w.Stage, id, "filter."+key) }
		c.Timing.Filter = LowPass{CornerHz: w.CornerHz.V, Order: int(w.Order.V)}
		c.Timing.Filter.EqualPoles = f.equalPoles(w.Shape, w.Order, at("shape"))
		c.Timing.FilterTol = f.orAssumed(w.Tol, 0, at("tolerance"), "the corner of the filter is exact")
	}
	f.converter(c, r, id)
	f.sampling(c, &r.Sampling, id)
	f.number(c, r, id)
}

func (f *filler) amplifier(c *Chain, a *layout.Amplifier, id string) {
	at := func(key string) string { return readoutKey(a.Stage, id, "amplifier."+key) }
	c.Amplifier = &Amplifier{
		Gain:       a.Gain.V,
		ZeroV:      f.orAssumed(a.ZeroV, 0, at("zero"), "the amplifier gives 0 V at its reference"),
		ReferenceV: f.orAssumed(a.ReferenceV, 0, at("reference"), "the amplifier counts its input from 0 V"),
		GainTol:    f.orAssumed(a.GainTol, 0, at("tolerance"), "the gain is exact"),
		InputTolV:  f.orAssumed(a.OffsetV, 0, at("offset"), "the amplifier has no input offset"),
		LowV:       f.orUndecided(a.LowV, at("low"), "the lower end of the amplifier's swing is not known"),
		HighV:      f.orUndecided(a.HighV, at("high"), "the upper end of the amplifier's swing is not known"),
	}
	c.Noise.AmplifierVPerRtHz = f.orAssumed(a.NoiseVPerRtHz, 0, at("noise"), "the amplifier adds no noise")
}

func (f *filler) divider(c *Chain, d *layout.Divider, id string) {
	at := func(key string) string { return readoutKey(d.Stage, id, "divider."+key) }
	c.Divider = &Divider{
		TopOhm:    d.TopOhm.V,
		BottomOhm: d.BottomOhm.V,
		Tol:       f.orAssumed(d.Tol, 0, at("tolerance"), "the resistors of the divider are exact"),
		FootV:     f.orAssumed(d.FootV, 0, at("foot"), "the divider stands on 0 V"),
	}
	c.DividerFirst = d.Place.V == layout.BeforeAmplifier
	if c.Amplifier != nil && !d.Place.Set {
		f.assumed(at("place"), d.Place.Span, "the divider stands behind the amplifier")
	}
}

func (f *filler) converter(c *Chain, r *layout.Readout, id string) {
	a := &r.Converter
	at := func(key string) string { return readoutKey(a.Stage, id, "converter."+key) }
	if !a.LowV.Set && !a.HighV.Set && !a.Bits.Set {
		f.undecided(readoutKey(a.Stage, id, "converter"), r.Span, "the converter is not known")
		return
	}
	k := &Converter{Ratiometric: a.Ratiometric.V}
	c.Converter = k
	k.HighV = f.orUndecided(a.HighV, at("high"), "the upper end of the converter is not known")
	k.LowV = f.orAssumed(a.LowV, 0, at("low"), "the converter begins at 0 V")
	k.Bits = f.orUndecided(a.Bits, at("bits"), "the bits of the converter are not known")
	if c.Output != nil && c.Output.Ratiometric {
		f.orAssumedTruth(a.Ratiometric, at("ratiometric"), "the reference of the converter does not follow the supply of the part")
	}
	if !k.Ratiometric {
		k.Tol = f.orAssumed(a.Tol, 0, at("tolerance"), "the reference of the converter is exact")
	}
	c.Noise.ConverterRMSCount = f.orAssumed(a.NoiseCounts, 0, at("noise"), "the converter adds no noise beside its step")
	k.SignedCode = a.Code.V == layout.SignedCode
	k.MinusV = orDefault(a.MinusV, 0)
	if k.LowV < 0 {
		if !a.Code.Set {
			k.SignedCode = true
			f.assumed(at("code"), a.Code.Span, "the code of the converter is signed")
		}
		f.orAssumed(a.MinusV, 0, at("minus"), "the converter reads against 0 V")
	}
}

func (f *filler) sampling(c *Chain, a *layout.Sampling, id string) {
	at := func(key string) string { return readoutKey(a.Stage, id, "sampling."+key) }
	t := &c.Timing
	t.RateHz = f.orUndecided(a.RateHz, at("rate"), "the sampling rate is not known")
	t.DelayS = f.orUndecided(a.DelayS, at("delay"), "the time from sample to number is not known")
	t.Hold = !a.Hold.Set || a.Hold.V
	if !a.RateHz.Set && !a.DelayS.Set {
		return // there is nothing yet to assume anything of
	}
	f.orAssumedTruth(a.Hold, at("hold"), "the number stands still between samples")
	t.ApertureS = f.orAssumed(a.ApertureS, 0, at("aperture"), "the converter samples a moment")
	if a.CarrierHz.Set {
		t.CarrierHz = a.CarrierHz.V
		t.ShiftS = f.orAssumed(a.ShiftS, 0, at("shift"), "the converter samples in the middle of a slope of the ripple")
	}
}

func (f *filler) number(c *Chain, r *layout.Readout, id string) {
	if w := &r.Firmware; w.SlopeAPerCount.Set {
		c.Firmware = &Firmware{SlopeAPerCount: w.SlopeAPerCount.V, ZeroCounts: num(w.ZeroCounts)}
		if !w.ZeroCounts.Set {
			f.assumed(readoutKey(w.Stage, id, "firmware.zero"), w.ZeroCounts.Span, "firmware takes the right zero")
		}
	}
	n := &r.Number
	at := func(key string) string { return readoutKey(n.Stage, id, "number."+key) }
	if !n.SignedSet && !n.Width.Set && !n.PerCountA.Set {
		f.assumed(readoutKey(n.Stage, id, "number"), r.Span, "the number holds every current")
		return
	}
	c.Number = &Number{Signed: n.Signed, ZeroCount: orDefault(n.Zero, 0)}
	c.Number.Width = f.orUndecided(n.Width, at("width"), "the width of the number is not known")
	c.Number.PerCountA = f.orUndecided(n.PerCountA, at("per-count"), "the amperes of one count are not known")
	if !n.SignedSet {
		c.Number.Width = math.NaN()
		f.undecided(at("signed"), n.Width.Span, "it is not known whether the number has a sign")
	} else if !n.Signed {
		f.orAssumed(n.Zero, 0, at("zero"), "the number is 0 at no current")
	}
}

// orDefault returns the number, or a default that needs no word.
func orDefault(n layout.Num, v float64) float64 {
	if n.Set {
		return n.V
	}
	return v
}
