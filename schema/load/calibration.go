package load

import (
	"busgauss/model/layout"
	"busgauss/model/si"
)

// calibration reads how channels are calibrated.
func (r *reader) calibration(section *spot) {
	for _, s := range section.members() {
		s.called("calibration of %s", quote(s.key))
		s.channel("a calibration", true)
		if s.mapping() {
			r.out.Calibrations = append(r.out.Calibrations, calibrated(s))
		}
	}
	for i := range r.out.Sensors {
		s := &r.out.Sensors[i]
		c, ok := r.out.CalibrationOf(s.ID)
		if ok && c.Kind.V.WithCurrent() && !r.out.ReadoutOf(s).Converter.Given {
			r.assume(c.Span, s.ID, "sensor %s is read without an error where it is calibrated: no converter is declared", quote(s.ID))
		}
	}
}

func calibrated(s *spot) layout.Calibration {
	c := layout.Calibration{Channel: s.key, Span: s.edit}
	c.Kind = choice(s.at("kind"), layout.CalibrationNone, layout.CalibrationZero, layout.CalibrationOnePoint,
		layout.CalibrationTwoPoint, layout.CalibrationMatrix)
	c.Conductor = choice(s.at("conductor"), layout.ConductorBar, layout.ConductorRibbon, layout.ConductorBundle)
	c.Turns = or(s.at("turns").whole(between(1, 1000)), 1)
	pitch := s.at("pitch")
	c.PitchM = pitch.quantity(si.Length, size())
	if pitch.present() && s.at("conductor").present() && c.Conductor.V != layout.ConductorRibbon {
		pitch.problemAt(pitch.edit, ruleForm, "%s is that of a ribbon, and the conductor is %s", pitch.label(), c.Conductor.V)
	} else if pitch.present() && !s.at("conductor").present() {
		pitch.problemAt(pitch.edit, ruleForm, "%s is that of a ribbon. Give conductor: ribbon", pitch.label())
	}
	c.CurrentA = s.at("current").quantity(si.Current, positive())
	c.FreqHz = or(s.at("frequency").quantity(si.Frequency, alternating()), 0)
	c.TemperatureC = s.at("temperature").quantity(si.Temperature, useTemperature())
	c.Tol = s.at("tolerance").share(tolerance())
	if c.Kind.Set && !c.Kind.V.WithCurrent() {
		for _, key := range []string{"conductor", "turns", "pitch", "current", "frequency", "tolerance"} {
			if k := s.at(key); k.present() {
				k.problemAt(k.edit, ruleForm, "%s belongs to a calibration with a current, and the kind is %s", k.label(), c.Kind.V)
			}
		}
	}
	return c
}
