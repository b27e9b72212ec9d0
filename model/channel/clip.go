package channel

import "math"

// Clip is the first end of range that a growing current meets.
type Clip struct {
	Stage    string  // that clips first; empty when no stage has a known end
	CurrentA float64 // signed, with nominal data
	LeastA   float64 // signed, of whichever stage clips first with tolerances at their worst
	// LeastStage is the stage of LeastA; it may be another one.
	LeastStage string
	// Unknown names the stages whose end on this side is not known; when it is
	// not empty the chain may clip earlier than CurrentA.
	Unknown []string
}

// FirstClip returns the stage that clips first for positive or for negative
// current. Among equals the earlier stage counts. With no known end at all the
// currents are NaN.
func FirstClip(stages []Stage, positive bool) Clip {
	out := Clip{CurrentA: math.NaN(), LeastA: math.NaN()}
	for i := range stages {
		s := &stages[i]
		a, least := s.PositiveA, s.LeastPositiveA
		before := func(x, y float64) bool { return x < y }
		if !positive {
			a, least = s.NegativeA, s.LeastNegativeA
			before = func(x, y float64) bool { return x > y }
		}
		if math.IsNaN(a) || math.IsNaN(least) {
			out.Unknown = append(out.Unknown, s.Name)
			continue
		}
		if math.IsInf(a, 0) {
			continue
		}
		if math.IsNaN(out.CurrentA) || before(a, out.CurrentA) {
			out.Stage, out.CurrentA = s.Name, a
		}
		if math.IsNaN(out.LeastA) || before(least, out.LeastA) {
			out.LeastStage, out.LeastA = s.Name, least
		}
	}
	return out
}
