package load

import (
	"busgauss/model/layout"
	"busgauss/model/si"
)

// readout reads what stands between the part's output and the number.
func (r *reader) readout(s *spot) {
	out := &r.out.Readout
	out.Given = s.present()
	out.Span = s.edit
	s.mapping()
	converter(s.at("converter"), out)

	divider := s.at("divider")
	divider.mapping()
	out.Divider.TopOhm = divider.at("top").need().quantity(si.Resistance, notNegative())
	out.Divider.BottomOhm = divider.at("bottom").need().quantity(si.Resistance, positive())

	amplifier := s.at("amplifier")
	amplifier.mapping()
	out.Amplifier.Gain = amplifier.at("gain").need().pure(nonZero())
	out.Amplifier.ZeroV = amplifier.at("zero").quantity(si.Voltage, bounds{})

	filter := s.at("filter")
	filter.mapping()
	out.Filter.CornerHz = filter.at("corner").need().quantity(si.Frequency, positive())
	out.Filter.Order = or(filter.at("order").whole(between(1, highestOrder)), 1)
	if out.Filter.CornerHz.Set && !filter.at("order").present() {
		r.assume(filter.edit, "", "filter of the readout is of order 1")
	}

	sampling := s.at("sampling")
	sampling.mapping()
	out.Sampling.RateHz = sampling.at("rate").quantity(si.Frequency, positive())
	out.Sampling.DelayS = sampling.at("delay").quantity(si.Time, notNegative())

	number := s.at("number")
	number.mapping()
	out.Number.Signed, out.Number.SignedSet = number.at("signed").flag()
	out.Number.Width = number.at("width").whole(between(1, 64))
	out.Number.PerCountA = number.at("per-count").quantity(si.Current, nonZero())

	firmware := s.at("firmware")
	firmware.mapping()
	out.Firmware.SlopeAPerCount = firmware.at("slope").quantity(si.Current, nonZero())
	out.Firmware.ZeroCounts = firmware.at("zero").pure(bounds{})
}

func converter(s *spot, out *layout.Readout) {
	s.mapping()
	c := &out.Converter
	c.LowV = s.at("low").quantity(si.Voltage, bounds{})
	c.HighV = s.at("high").quantity(si.Voltage, bounds{})
	c.Bits = s.at("bits").whole(between(1, 32))
	s.rising("low", c.LowV, "high", c.HighV)
}
