package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
)

// amount reads a current that is said by exactly one of keys, which are out of
// dc, rms, peak and, for a harmonic, share.
func (s *spot) amount(keys ...string) layout.Amount {
	nan := math.NaN()
	out := layout.Amount{
		DCA: s.unset(nan), RMSA: s.unset(nan), PeakA: s.unset(nan), PhaseRad: s.unset(0), Span: s.where(),
	}
	if !s.mapping() {
		return out
	}
	s.exactlyOne(keys...)
	for _, k := range keys {
		switch k {
		case "dc":
			out.DCA = s.at(k).quantity(si.Current, bounds{})
		case "rms":
			out.RMSA = s.at(k).quantity(si.Current, notNegative())
		case "peak":
			out.PeakA = s.at(k).quantity(si.Current, notNegative())
		}
	}
	phase := s.at("phase")
	out.PhaseRad = phase.turn()
	if phase.present() && s.at("dc").present() {
		phase.problemAt(phase.edit, ruleForm, "%s belongs to an alternating current, not to dc", phase.label())
	}
	return out
}

// still reports alternating amounts of s where there is no frequency. owner is
// what would have it.
func (s *spot) still(owner *spot, frequencyHz layout.Num) {
	if frequencyHz.V != 0 || s.at("dc").present() {
		return
	}
	for _, k := range []string{"rms", "peak"} {
		a := s.at(k)
		if !a.present() {
			continue
		}
		why := "has none"
		if frequencyHz.Set {
			why = "has 0 Hz"
		}
		a.problemAt(a.edit, ruleForm, "%s needs a frequency and %s %s: give a frequency, or dc for a direct current",
			a.label(), owner.label(), why)
	}
}
