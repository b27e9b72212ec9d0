package load

import (
	"busgauss/model/layout"
	"busgauss/model/si"
)

// readout reads what stands between the part's output and the number, for every
// channel and for single ones.
func (r *reader) readout(s *spot) {
	out := &r.out.Readout
	out.Span = s.edit
	s.mapping()
	r.stages(s, &out.Stages, false)
	channels := s.at("channels").members()
	for _, c := range channels {
		c.called("readout of channel %s", quote(c.key))
		c.channel("a readout", false)
		if c.mapping() {
			own := layout.ChannelReadout{Channel: c.key, Span: c.edit}
			r.stages(c, &own.Stages, true)
			out.Channels = append(out.Channels, own)
		}
		divided(c, c, s)
	}
	divided(s, append(channels, s)...)
	out.Given = s.present() && !(s.at("channels").present() && len(s.n.Members) == 1)
}

// divided reports a divider of owner that has a place beside an amplifier which
// none of scopes has.
func divided(owner *spot, scopes ...*spot) {
	place := owner.at("divider").at("place")
	if !place.present() {
		return
	}
	for _, s := range scopes {
		if s.at("amplifier").present() {
			return
		}
	}
	place.problemAt(place.edit, ruleForm, "%s is a place beside an amplifier, and there is none. Leave it out, or add an amplifier", place.label())
}

// stages reads the stages of a readout.
func (r *reader) stages(s *spot, out *layout.Stages, ofChannel bool) {
	head := func(stage *spot) layout.Stage {
		return layout.Stage{Given: stage.mapping(), OfChannel: ofChannel, Span: stage.edit}
	}
	stage := s.at("amplifier")
	out.Amplifier = amplifier(stage)
	out.Amplifier.Stage = head(stage)

	stage = s.at("divider")
	out.Divider = divider(stage)
	out.Divider.Stage = head(stage)

	stage = s.at("filter")
	out.Filter = filter(stage)
	out.Filter.Stage = head(stage)
	if out.Filter.CornerHz.Set && !stage.at("order").present() {
		r.assume(stage.edit, s.id, "filter of the %s is of order 1", s.label())
	}

	stage = s.at("converter")
	out.Converter = converter(stage)
	out.Converter.Stage = head(stage)

	stage = s.at("sampling")
	out.Sampling = sampling(stage)
	out.Sampling.Stage = head(stage)

	stage = s.at("number")
	out.Number.Signed, out.Number.SignedSet = stage.at("signed").flag()
	out.Number.Width = stage.at("width").whole(between(1, 64))
	out.Number.PerCountA = stage.at("per-count").quantity(si.Current, nonZero())
	out.Number.Zero = or(stage.at("zero").pure(bounds{}), 0)
	out.Number.Stage = head(stage)

	stage = s.at("firmware")
	out.Firmware.SlopeAPerCount = stage.at("slope").quantity(si.Current, nonZero())
	out.Firmware.ZeroCounts = stage.at("zero").pure(bounds{})
	out.Firmware.Stage = head(stage)

	stage = s.at("zeroing")
	out.Zeroing.WindowA = stage.at("window").need().quantity(si.Current, notNegative())
	out.Zeroing.CurrentA = or(stage.at("current").quantity(si.Current, notNegative()), 0)
	out.Zeroing.NoiseA = or(stage.at("noise").quantity(si.Current, notNegative()), 0)
	out.Zeroing.Stage = head(stage)
}

func amplifier(s *spot) (out layout.Amplifier) {
	out.Gain = s.at("gain").need().pure(nonZero())
	out.ZeroV = s.at("zero").quantity(si.Voltage, bounds{})
	out.ReferenceV = or(s.at("reference").quantity(si.Voltage, bounds{}), 0)
	out.LowV = s.at("low").quantity(si.Voltage, bounds{})
	out.HighV = s.at("high").quantity(si.Voltage, bounds{})
	s.rising("low", out.LowV, "high", out.HighV)
	out.GainTol = or(s.at("tolerance").share(tolerance()), 0)
	out.OffsetV = or(s.at("offset").quantity(si.Voltage, notNegative()), 0)
	out.NoiseVPerRtHz = or(s.at("noise").quantity(si.VoltageNoiseDensity, notNegative()), 0)
	return out
}

func divider(s *spot) (out layout.Divider) {
	out.TopOhm = s.at("top").need().quantity(si.Resistance, notNegative())
	out.BottomOhm = s.at("bottom").need().quantity(si.Resistance, positive())
	out.Tol = or(s.at("tolerance").share(tolerance()), 0)
	out.FootV = or(s.at("foot").quantity(si.Voltage, bounds{}), 0)
	out.Place = choice(s.at("place"), layout.AfterAmplifier, layout.BeforeAmplifier)
	return out
}

func filter(s *spot) (out layout.Filter) {
	out.CornerHz = s.at("corner").need().quantity(si.Frequency, positive())
	out.Order = or(s.at("order").whole(between(1, highestOrder)), 1)
	out.Shape = shape(s.at("shape"))
	out.Tol = or(s.at("tolerance").share(tolerance()), 0)
	return out
}

// shape reads the form of a low-pass.
func shape(s *spot) layout.Choice[layout.Shape] {
	return choice(s, layout.Butterworth, layout.EqualPoles)
}

func converter(s *spot) (out layout.Converter) {
	out.LowV = s.at("low").quantity(si.Voltage, bounds{})
	out.HighV = s.at("high").quantity(si.Voltage, bounds{})
	out.Bits = s.at("bits").whole(between(1, 32))
	s.rising("low", out.LowV, "high", out.HighV)
	own := s.at("tolerance")
	out.Tol = or(own.share(tolerance()), 0)
	out.Ratiometric = truth(s.at("ratiometric"), false)
	if out.Ratiometric.V && own.present() {
		own.problemAt(own.edit, ruleForm, "%s is that of a reference of its own. Ratiometric says that there is none: give supply-tolerance of the part's output",
			own.label())
	}
	out.MinusV = or(s.at("minus").quantity(si.Voltage, bounds{}), 0)
	out.Code = choice(s.at("code"), layout.StraightCode, layout.SignedCode)
	if !out.Code.Set && out.LowV.Set && out.LowV.V < 0 {
		out.Code.V = layout.SignedCode
	}
	out.NoiseCounts = or(s.at("noise").pure(notNegative()), 0)
	return out
}

func sampling(s *spot) (out layout.Sampling) {
	out.RateHz = s.at("rate").quantity(si.Frequency, positive())
	out.DelayS = s.at("delay").quantity(si.Time, notNegative())
	out.Hold = truth(s.at("hold"), true)
	out.ApertureS = or(s.at("aperture").quantity(si.Time, notNegative()), 0)
	if out.DelayS.Set && out.ApertureS.V > 2*out.DelayS.V*(1+1e-9) {
		s.at("delay").problemAt(s.at("delay").edit, ruleRange, "%s runs from the middle of the window, which lasts %s. It is no less than half of that, %s",
			s.at("delay").label(), si.Format(out.ApertureS.V, "s"), si.Format(out.ApertureS.V/2, "s"))
	}
	out.CarrierHz = s.at("carrier").quantity(si.Frequency, positive())
	shift := s.at("shift")
	out.ShiftS = or(shift.quantity(si.Time, bounds{}), 0)
	if shift.present() && !s.at("carrier").present() {
		shift.problemAt(shift.edit, ruleForm, "%s is counted from a carrier, and there is none. Give a carrier", shift.label())
	}
	return out
}
