package waveform

import (
	"math"

	"busgauss/model/portable"
)

// sameCurrent is the share of a current by which two differ at most that are one.
const sameCurrent = 1e-9

// Balanced reports whether three phasors are a balanced set: equal in size, the second a third of a period behind the first,
// the third behind the second.
func Balanced(set [3]complex128) bool {
	for p, a := range set {
		want := portable.Times(set[0], portable.Rect(1, -float64(p)*2*math.Pi/3))
		if !(portable.Abs(a-want) <= sameCurrent*portable.Abs(want)) {
			return false
		}
	}
	return set[0] != 0
}
