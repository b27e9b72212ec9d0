package field

import (
	"slices"

	"busgauss/model/waveform"
)

// What a field costs against the closed forms of one layout: rounded from times of the example layouts, one processor.
const (
	costOfSection = 4  // one frequency in the plane section by finite elements
	costOfState   = 10 // one duty in saturating iron by Newton's method
	costInSpace   = 4  // factor of iron and walls of finite depth
)

// Cost estimates before anything is solved what it takes to judge the layout, as a multiple of a layout of bare bars:
//
//	1 + (1 + s) · (4·f + 10·d) · k
//
// with s the number of shields, f of distinct frequencies that take finite elements, d of duties where iron saturates, and
// k = 4 where shields are taken in space, else 1. It serves to order and to share out work, so that only its proportion
// matters, and it is a whole number, so that sums of it are the same in any order. No verdict hangs on it.
func (m *Model) Cost() int {
	l := m.Layout
	var frequencies []float64
	states := 0
	for i := range l.Duties {
		for _, c := range waveform.Of(l, &l.Duties[i]).Components {
			frequencies = append(frequencies, c.FreqHz)
		}
		if Saturable(l) {
			states++
		}
	}
	slices.Sort(frequencies)
	sections := 0
	for _, hz := range slices.Compact(frequencies) {
		if m.takesSection(hz) {
			sections++
		}
	}
	factor := 1
	if len(l.Shields) > 0 && m.inSpace() {
		factor = costInSpace
	}
	return 1 + (1+len(l.Shields))*(costOfSection*sections+costOfState*states)*factor
}

// takesSection reports whether the closed forms of bare bars do not answer at freqHz, so that the plane section is solved.
func (m *Model) takesSection(freqHz float64) bool {
	l := m.Layout
	if len(l.Shields) > 0 || len(l.Bonded) > 0 {
		return true
	}
	for i := range l.Bars {
		if !(l.Bars[i].MuRel <= 1+nonMagnetic) {
			return true
		}
	}
	_, thin := uniformDensityBound(l, freqHz)
	return freqHz > 0 && (!thin || hasParallel(l))
}
