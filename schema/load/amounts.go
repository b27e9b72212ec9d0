package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
)

// noAmount returns a current that the file does not give.
func (s *spot) noAmount() layout.Amount {
	nan := math.NaN()
	return layout.Amount{
		DCA: s.unset(nan), RMSA: s.unset(nan), PeakA: s.unset(nan), PhaseRad: s.unset(0), Span: s.where(),
	}
}

// amount reads a current that is said by exactly one of keys, which are out of
// dc, rms, peak and, for a harmonic, share.
func (s *spot) amount(keys ...string) layout.Amount {
	out := s.noAmount()
	if !s.mapping() {
		return out
	}
	s.exactlyOne(keys...)
	for _, k := range keys {
		switch k {
		case "dc":
			out.DCA = s.at(k).quantity(si.Current, bounds{})
		case "rms":
			out.RMSA = s.at(k).quantity(si.Current, amplitudes())
		case "peak":
			out.PeakA = s.at(k).quantity(si.Current, amplitudes())
		}
	}
	out.PhaseRad = s.phase()
	return out
}

// phase reads the phase of an alternating current.
func (s *spot) phase() layout.Num {
	phase := s.at("phase")
	if phase.present() && s.at("dc").present() && !s.at("rms").present() && !s.at("peak").present() {
		phase.problemAt(phase.edit, ruleForm, "%s belongs to an alternating current, not to dc", phase.label())
	}
	return phase.turn()
}

// still reports alternating amounts of s where there is no frequency. owner is
// what would have it.
func (s *spot) still(owner *spot, frequencyHz layout.Num) {
	if frequencyHz.V != 0 {
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
		a.problemAt(a.edit, ruleForm, "%s needs a frequency and %s %s. Give a frequency, or dc for a direct current",
			a.label(), owner.label(), why)
	}
}

// amplitudes takes what an alternating current may be.
func amplitudes() bounds { return bounds{kind: fromLo, why: "phase: 180 deg turns a current round"} }
