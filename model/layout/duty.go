package layout

import (
	"math"

	"busgauss/model/span"
)

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

// Amount is a current as the file says it: DCA, one of RMSA and PeakA, or both. PhaseRad
// belongs to the alternating part.
type Amount struct {
	DCA, RMSA, PeakA Num
	PhaseRad         Num
	Span             span.Span
}

// Current is what flows in one circuit: a direct part, an alternating part, both,
// or one period of a waveform given by points. Sign is -1 where the file named a bar
// that returns the current of its series circuit; every part is then the negative of
// what the file says, harmonics too.
type Current struct {
	Circuit CircuitIndex
	Sign    float64
	Span    span.Span // of the name
	Amount
	Harmonics     []Harmonic // its own; nil: those of the set count
	HarmonicsSpan span.Span
	Points        []Point
	PointsSpan    span.Span
}

// Alternates reports whether c has an alternating part given by its amplitude.
func (c *Current) Alternates() bool { return c.RMSA.Set || c.PeakA.Set }

// Point is one corner of a waveform that is linear between its points.
type Point struct {
	TimeS, CurrentA Num
	Span            span.Span
}

// ThreePhase is a balanced set: the second circuit lags the first by 120°, the
// third lags the second by 120°. A direct part, as Amount.DCA, adds to each.
type ThreePhase struct {
	Circuits [3]CircuitIndex
	Signs    [3]float64 // as Current.Sign
	Amount   Amount
	Span     span.Span
}

// Harmonic is a whole multiple of the frequency of a set. Share is relative to the
// fundamental of the same current; otherwise Amount holds the current. Its phase is
// its own: a current is Σ peak_n·cos(n·2πf·t + phase_n).
type Harmonic struct {
	Order  Num
	Share  Num
	Amount Amount
	Span   span.Span
}

// RippleShape is the form of a ripple over its period.
type RippleShape string

// The forms of a ripple.
const (
	Sine     RippleShape = "sine"
	Triangle RippleShape = "triangle"
)

// Ripple is a current at the carrier. Without currents of its own it is alike in
// size in each circuit that it names.
type Ripple struct {
	FreqHz   Num
	Amount   Amount
	Shape    Choice[RippleShape]
	Circuits []CircuitIndex // nil: every circuit that the duty gives a current
	Currents []Current      // its own; they win over Amount
	Span     span.Span
}

// Set is currents over one base frequency. FreqHz.V is 0 for direct current. It is
// set from a period too; PeriodS then holds what the file said.
type Set struct {
	FreqHz     Num
	PeriodS    Num
	Currents   []Current
	ThreePhase *ThreePhase
	Harmonics  []Harmonic
	Span       span.Span
}

// Asymmetry is the decaying direct component of a fault: a peak factor κ, or R/X of
// the circuit. One of the two is set.
type Asymmetry struct {
	PeakFactor, ROverX Num
	Span               span.Span
}

// Duty is sets of currents that flow together: its first set, what flows at
// unrelated phase (With), ripple, and for a fault its decaying direct component.
type Duty struct {
	ID       string
	Span     span.Span
	Kind     DutyKind
	KindSpan span.Span
	Set
	With      []Set
	Ripple    *Ripple
	Asymmetry *Asymmetry
}

// PeakValueA returns the peak value of an amount that is either direct or alternating; a
// direct current is its own peak, with its sign.
func (a *Amount) PeakValueA() float64 {
	if a.DCA.Set {
		return a.DCA.V
	}
	return a.AlternatingPeakA()
}

// AlternatingPeakA returns the peak of the alternating part of an amount, 0 without one.
func (a *Amount) AlternatingPeakA() float64 {
	switch {
	case a.RMSA.Set:
		return a.RMSA.V * math.Sqrt2
	case a.PeakA.Set:
		return a.PeakA.V
	}
	return 0
}
