package layout

import "busgauss/model/span"

// DutyKind says what a set of currents stands for.
type DutyKind uint8

// The three kinds of duty.
const (
	Continuous DutyKind = iota + 1
	Peak
	Fault
)

// String returns the word of the layout file.
func (k DutyKind) String() string {
	switch k {
	case Continuous:
		return "continuous"
	case Peak:
		return "peak"
	case Fault:
		return "fault"
	}
	return "no kind"
}

// Amount is a current as the file says it: exactly one of DCA, RMSA and PeakA
// is set. PhaseRad belongs to an alternating one.
type Amount struct {
	DCA, RMSA, PeakA Num
	PhaseRad         Num
	Span             span.Span
}

// BarCurrent is the current of one bar.
type BarCurrent struct {
	Bar  BarIndex
	Span span.Span // of the bar's name
	Amount
}

// ThreePhase is a balanced set: the second bar lags the first by 120°, the
// third lags the second by 120°.
type ThreePhase struct {
	Bars   [3]BarIndex
	Amount Amount
	Span   span.Span
}

// Harmonic is a whole multiple of a duty's frequency. Share is relative to the
// fundamental of the same bar; otherwise Amount holds the current.
type Harmonic struct {
	Order  Num
	Share  Num
	Amount Amount
	Span   span.Span
}

// Ripple is a current at the carrier, alike in size in each bar that it names.
type Ripple struct {
	FreqHz Num
	Amount Amount
	Bars   []BarIndex // nil: every bar that the duty gives a current
	Span   span.Span
}

// Duty is a set of currents. FreqHz.V is 0 for direct current.
type Duty struct {
	ID         string
	Span       span.Span
	Kind       DutyKind
	KindSpan   span.Span
	FreqHz     Num
	Currents   []BarCurrent
	ThreePhase *ThreePhase
	Harmonics  []Harmonic
	Ripple     *Ripple
}
