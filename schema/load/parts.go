package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// parts reads the section of parts.
func (r *reader) parts(section *spot) {
	for _, s := range section.objects("part") {
		r.out.Parts = append(r.out.Parts, r.part(s))
	}
}

func (r *reader) part(s *spot) layout.Part {
	p := layout.Part{ID: s.key, Span: s.edit}
	if !s.mapping() {
		return p
	}
	p.LinearLowT, p.LinearHighT = linearRange(s.at("linear-range"))
	sensitivity(s.at("sensitivity"), &p)
	output(s.at("output"), &p)
	offset(s.at("offset"), &p)
	p.NoiseV, p.NoiseVPerRtHz = noise(s.at("noise"))
	bandwidth(s.at("bandwidth"), &p)
	if p.BandwidthHz.Set && !p.Order.Set {
		r.assume(s.at("bandwidth").edit, p.ID, "bandwidth of part %s is that of a low-pass of order 1", quote(p.ID))
	}
	p.DelayS = s.at("delay").quantity(si.Time, notNegative())
	p.HysteresisT = s.at("hysteresis").quantity(si.FluxDensity, notNegative())
	p.NonLinearity = s.at("non-linearity").share(tolerance())
	p.TemperatureFromC, p.TemperatureToC = useRange(s.at("temperature"))
	body(s.at("body"), &p)
	s.at("source").text()
	return p
}

// scalarOr reports whether s is a mapping, and false with ok when it is a
// single value instead; any other kind is a problem.
func (s *spot) scalarOr(want string) (mapping, ok bool) {
	if s.n == nil {
		return false, true
	}
	switch s.n.Kind {
	case node.Map:
		return true, true
	case node.Text, node.Number:
		return false, true
	}
	s.wrongKind(want)
	return false, false
}

// none stands for a key that a form of a value does not have.
func (s *spot) none() layout.Num { return s.unset(math.NaN()) }

func linearRange(s *spot) (low, high layout.Num) {
	mapping, ok := s.scalarOr("a flux density or a mapping with low and high")
	switch {
	case !ok:
		return s.none(), s.none()
	case !mapping:
		high = s.quantity(si.FluxDensity, positive())
		low = high
		low.V = -high.V
		return low, high
	}
	low = s.at("low").need().quantity(si.FluxDensity, bounds{})
	high = s.at("high").need().quantity(si.FluxDensity, bounds{})
	s.rising("low", low, "high", high)
	return low, high
}

// rising reports a pair of numbers whose first is not below its second, and
// whether all is well.
func (s *spot) rising(lowKey string, low layout.Num, highKey string, high layout.Num) bool {
	if low.Set && high.Set && !(low.V < high.V) {
		s.at(highKey).problem(ruleRange, "%s is %s: it must be more than %s, %s",
			s.at(highKey).label(), clip(s.at(highKey).n.Text), lowKey, clip(s.at(lowKey).n.Text))
		return false
	}
	return true
}

func sensitivity(s *spot, p *layout.Part) {
	p.SensitivityFromVPT, p.SensitivityToVPT = s.none(), s.none()
	p.SensitivityTol, p.SensitivityPerK, p.SensitivityLife = s.none(), s.none(), s.none()
	p.SensitivityVPerT = s.none()
	mapping, ok := s.scalarOr("volts per tesla or a mapping")
	switch {
	case !ok:
		return
	case !mapping:
		p.SensitivityVPerT = s.quantity(si.Sensitivity, nonZero())
		return
	}
	p.SensitivityVPerT = s.at("set").quantity(si.Sensitivity, nonZero())
	p.SensitivityFromVPT = s.at("from").quantity(si.Sensitivity, nonZero())
	p.SensitivityToVPT = s.at("to").quantity(si.Sensitivity, nonZero())
	p.SensitivityTol = s.at("tolerance").share(tolerance())
	p.SensitivityPerK = s.at("drift").quantity(si.PerKelvin, bounds{})
	p.SensitivityLife = s.at("life").share(tolerance())
	settable(s, p)
}

// settable holds what is set to what can be set. Ranges of falling outputs are
// negative and count by size.
func settable(s *spot, p *layout.Part) {
	from, to, set := p.SensitivityFromVPT, p.SensitivityToVPT, p.SensitivityVPerT
	if from.Set && to.Set && !(math.Abs(from.V) <= math.Abs(to.V) && from.V*to.V > 0) {
		s.at("to").problem(ruleRange, "%s is %s: it must have the sign of from, %s, and not be smaller",
			s.at("to").label(), clip(s.at("to").n.Text), clip(s.at("from").n.Text))
		return
	}
	low := from.Set && set.Set && !(math.Abs(set.V) >= math.Abs(from.V) && set.V*from.V > 0)
	high := to.Set && set.Set && !(math.Abs(set.V) <= math.Abs(to.V) && set.V*to.V > 0)
	if low || high {
		key := "from"
		if high {
			key = "to"
		}
		s.at("set").problem(ruleRange, "%s is %s: it must lie between from and to; %s is %s",
			s.at("set").label(), clip(s.at("set").n.Text), key, clip(s.at(key).n.Text))
	}
}

func output(s *spot, p *layout.Part) {
	s.mapping()
	p.ZeroV = s.at("zero").quantity(si.Voltage, bounds{})
	p.LowV = s.at("low").quantity(si.Voltage, bounds{})
	p.HighV = s.at("high").quantity(si.Voltage, bounds{})
	p.Ratiometric, p.RatiometricSet = s.at("ratiometric").flag()
	p.SupplyV = s.at("supply").quantity(si.Voltage, positive())
	p.SupplyTol = s.at("supply-tolerance").share(tolerance())
	zero := s.at("zero")
	if s.rising("low", p.LowV, "high", p.HighV) && p.ZeroV.Set && (p.LowV.Set && p.ZeroV.V < p.LowV.V || p.HighV.Set && p.ZeroV.V > p.HighV.V) {
		zero.problem(ruleRange, "%s is %s: it must lie between low and high", zero.label(), clip(zero.n.Text))
	}
}

func offset(s *spot, p *layout.Part) {
	p.OffsetV, p.OffsetVPerK, p.OffsetLifeV = s.none(), s.none(), s.none()
	mapping, ok := s.scalarOr("a voltage or a mapping with initial, drift and life")
	switch {
	case !ok:
		return
	case !mapping:
		p.OffsetV = s.quantity(si.Voltage, bounds{})
		return
	}
	p.OffsetV = s.at("initial").quantity(si.Voltage, bounds{})
	p.OffsetVPerK = s.at("drift").quantity(si.VoltagePerKelvin, bounds{})
	p.OffsetLifeV = s.at("life").quantity(si.Voltage, notNegative())
}

func noise(s *spot) (rms, density layout.Num) {
	mapping, ok := s.scalarOr("a voltage or a mapping with rms and density")
	switch {
	case !ok:
		return s.none(), s.none()
	case !mapping:
		return s.quantity(si.Voltage, notNegative()), s.none()
	}
	return s.at("rms").quantity(si.Voltage, notNegative()), s.at("density").quantity(si.VoltageNoiseDensity, notNegative())
}

// highestOrder is the highest order of a low-pass that is read; real ones end
// well below it (common practice).
const highestOrder = 12

// bandwidth reads a corner frequency, or a mapping of corner, order and shape. The
// order is 1 unless the file says otherwise.
func bandwidth(s *spot, p *layout.Part) {
	p.BandwidthHz, p.Order = s.none(), s.unset(1)
	p.Shape = layout.Choice[layout.Shape]{V: layout.Butterworth, Span: s.where()}
	mapping, ok := s.scalarOr("a frequency or a mapping with corner, order and shape")
	switch {
	case !ok:
		return
	case !mapping:
		p.BandwidthHz = s.quantity(si.Frequency, positive())
		return
	}
	p.BandwidthHz = s.at("corner").need().quantity(si.Frequency, positive())
	p.Order = or(s.at("order").whole(between(1, highestOrder)), 1)
	p.Shape = shape(s.at("shape"))
}

// useTemperature takes temperatures of a part.
func useTemperature() bounds {
	return bounds{kind: moreThanLo, lo: absoluteZeroC, unit: "°C", why: "absolute zero"}
}

func useRange(s *spot) (from, to layout.Num) {
	s.mapping()
	from = s.at("from").need().quantity(si.Temperature, useTemperature())
	to = s.at("to").need().quantity(si.Temperature, useTemperature())
	s.rising("from", from, "to", to)
	return from, to
}

func body(s *spot, p *layout.Part) {
	s.mapping()
	p.BodyWidthM = s.at("width").quantity(si.Length, size())
	p.BodyHeightM = s.at("height").quantity(si.Length, size())
	p.BodyElementHeightM = s.at("element-height").quantity(si.Length, deviation())
	if e, h := p.BodyElementHeightM, p.BodyHeightM; e.Set && h.Set && e.V > h.V {
		above := s.at("element-height")
		above.problem(ruleRange, "%s is %s: it must not be more than the height, %s",
			above.label(), clip(above.n.Text), clip(s.at("height").n.Text))
	}
}
