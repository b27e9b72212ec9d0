package channel

import (
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/uncertainty"
	"busgauss/model/waveform"
)

// After is a kind of calibration after which the accuracy of a channel is told.
// Each kind has those before it in it: one point is a zero and one known current, two
// points are the same current in both directions, a matrix is that in each bar in turn.
type After uint8

// The kinds, in the order in which they are done.
const (
	AfterNothing After = iota
	AfterZero
	AfterOnePoint
	AfterTwoPoint
	AfterMatrix            // of the coupling at direct current
	AfterMatrixAtFrequency // of the coupling at the frequency of use
	afters                 // their number
)

// Afters returns every kind in order.
func Afters() []After {
	return []After{AfterNothing, AfterZero, AfterOnePoint, AfterTwoPoint, AfterMatrix, AfterMatrixAtFrequency}
}

// String returns the words for people.
func (a After) String() string {
	switch a {
	case AfterNothing:
		return "before calibration"
	case AfterZero:
		return "after zero"
	case AfterOnePoint:
		return "after one-point"
	case AfterTwoPoint:
		return "after two-point"
	case AfterMatrix:
		return "after matrix at direct current"
	case AfterMatrixAtFrequency:
		return "after matrix at frequency"
	}
	return "after no known calibration"
}

// Left is, for each kind of calibration, the share of a part of a line that is
// left. A sign other than that before calibration turns the part round.
type Left [afters]float64

// What a kind and all behind it take away, or bring in.
var (
	always       = Left{1, 1, 1, 1, 1, 1}
	tillZero     = Left{1, 0, 0, 0, 0, 0}
	tillOnePoint = Left{1, 1, 0, 0, 0, 0}
	tillMatrix   = Left{1, 1, 1, 1, 0, 0}
)

// Group says what a line is about, for views that take some lines only.
type Group uint8

// The groups.
const (
	GroupGain      Group = iota // of the part, the field per ampere and what stands behind
	GroupZero                   // of the part and what stands behind, as delivered
	GroupDrift                  // over temperature, life, supply and history
	GroupFrequency              // gain at the frequency of use against that of the calibration
	GroupStray                  // field of other bars
	GroupLetIn                  // what a shifted sensor lets in of it
	GroupForeign                // Earth, wires, magnets, remanence
	GroupBench                  // what a calibration brings in
	GroupForm                   // departure from the straight line, none at no current
	GroupRandom                 // noise and steps, which averaging takes out
)

// AccuracyLine is one cause of error of a channel:
//
//	error in amperes at the current I = x (ZeroPerUnit LeftZero + SharePerUnit LeftGain I)
//
// x lies within the spread, or is the known value Half of a line that is Known: an
// error that is computed and that nobody takes out.
type AccuracyLine struct {
	Name  string
	Group Group
	// Unit is that of x; "1" for a share, "count" for counts.
	Unit   string
	Spread uncertainty.Spread
	Known  bool
	// ZeroPerUnit is the error in amperes per unit of x at no current, SharePerUnit
	// what each ampere of the own current adds to it.
	ZeroPerUnit, SharePerUnit float64
	LeftZero, LeftGain        Left
	// LeftQuad is the part at no current that stands a quarter period ahead of the own
	// current, of a known line in the component of the own current.
	LeftQuad Left
	// Fixed says that the part at no current keeps its sign when the current turns
	// round.
	Fixed bool
	// Alternating says that the line has no mean over time.
	Alternating bool
	// Field says that the line is a doubt of the field model, which a finer solution
	// makes smaller.
	Field bool
	// Cause is what moves the line together with others; empty: nothing.
	Cause string
	// Missing are the keys of the layout without which the line is not known.
	Missing []string
}

// perUnit returns the sensitivity coefficient in amperes per unit of x.
func (n *AccuracyLine) perUnit(currentA float64, after After, zeroSign float64) float64 {
	if !n.Fixed {
		zeroSign = 1
	}
	return times(n.LeftZero[after], zeroSign*n.ZeroPerUnit) + times(n.LeftGain[after], n.SharePerUnit*currentA)
}

// errorA returns the error of a known line, a phasor against the own current.
func (n *AccuracyLine) errorA(currentA float64, after After, zeroSign float64) complex128 {
	return complex(float64(n.perUnit(currentA, after, zeroSign)*n.Spread.Half),
		float64(times(n.LeftQuad[after], n.ZeroPerUnit)*n.Spread.Half))
}

// Accuracy is what the number of one channel may be off by, line by line, while the
// bars carry the currents of one duty.
//
// The result of the budget is the current that the controller tells while the own
// bar carries I. The other bars keep their currents of the duty at every I: in a
// three-phase set two phases are near their peak while the third passes through
// nothing.
//
// The temperature of a bar is in no line: it changes the resistance of the bar, but
// not the field of a given direct current.
//
// Left out, each small against what is counted: products of two errors, noise of the calibration,
// which is averaged away. A zero and a gain are taken on the bench: fields
// of the place of use stay, and the Earth's field of the bench comes in.
//
// Known errors add with their phases against the own current before the size of their
// sum is taken: its largest value at any moment. Which lines move together is said in
// one place: see causes.
//
// Source: JCGM 100:2008, clauses 4.3, 5.1 and 5.2; known errors that are not
// corrected add to the expanded uncertainty by magnitude (F.2.4.5, which shows the
// way as a makeshift; it is on the safe side).
type Accuracy struct {
	Sensor string
	Duty   string // empty: no current flows in other bars
	FreqHz float64
	FullA  float64 // full range
	Lines  []AccuracyLine
	// Declared is the kind of calibration that the layout declares.
	Declared After
}

// Level is a current at which the accuracy is told.
type Level struct {
	Name     string
	CurrentA float64
}

// Levels returns full range, a tenth of it and, where it is needed, the smallest
// current.
func (a *Accuracy) Levels(smallestA float64) []Level {
	out := []Level{{"full range", a.FullA}, {"10 %", a.FullA / 10}}
	if smallestA > 0 {
		out = append(out, Level{"smallest", smallestA})
	}
	return out
}

// declared returns the kind that a set-up stands for.
func (s *Setup) declared() After {
	switch s.By {
	case ByZero:
		return AfterZero
	case ByOnePoint:
		return AfterOnePoint
	case ByTwoPoint:
		return AfterTwoPoint
	case ByMatrix:
		if s.FreqHz > 0 {
			return AfterMatrixAtFrequency
		}
		return AfterMatrix
	}
	return AfterNothing
}

// AccuracyOf returns the lines of sensor s in duty d, at whose currents other circuits
// stray; nil for d leaves the others without current. The full range is that of the
// needs, else the largest current that s reads in continuous and peak duties. The
// error is a *field.Unknown where the field is not known, and where there is no
// full range.
func AccuracyOf(m *probe.Model, s *layout.Sensor, d *layout.Duty) (*Accuracy, error) {
	x, err := Of(m, s)
	if err != nil {
		return nil, err
	}
	l := m.Layout
	setup, open := SetupFromLayout(l, s)
	b := accuracyBuilder{m: m, s: s, d: d, x: x, setup: setup, setupOpen: open, slopeTPerA: x.PerA.Value}
	b.out = &Accuracy{Sensor: s.ID, Declared: setup.declared(), FullA: m.FullScaleA(s)}
	if n, ok := l.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		b.out.FullA = n.V
	}
	if !(b.out.FullA > 0) {
		return nil, &field.Unknown{Reason: "neither a duty nor needs.range says how far the channel reaches: add its current to a continuous or peak duty, or needs.range"}
	}
	if d != nil {
		b.out.Duty = d.ID
	}
	b.chain()
	for _, step := range []func() error{b.stray, b.neighbours, b.legs, b.model, b.placement, b.ambient, b.shields, b.frequency} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	if err := b.calibration(); err != nil {
		return nil, err
	}
	return b.out, nil
}

// accuracyBuilder gathers the lines.
type accuracyBuilder struct {
	m          *probe.Model
	s          *layout.Sensor
	d          *layout.Duty
	x          *Sensed
	setup      Setup
	setupOpen  []Missing
	slopeTPerA float64
	main       waveform.Component // in which the own current carries most; direct without one
	out        *Accuracy
}

func (b *accuracyBuilder) add(n AccuracyLine) { b.out.Lines = append(b.out.Lines, n) }

// zeroLine is a line of amperes at no current.
func zeroLine(name string, group Group, spread uncertainty.Spread, left Left) AccuracyLine {
	return AccuracyLine{Name: name, Group: group, Unit: "A", Spread: spread, ZeroPerUnit: 1, LeftZero: left}
}

// shareLine is a line that is a share of the current.
func shareLine(name string, group Group, spread uncertainty.Spread, left Left) AccuracyLine {
	return AccuracyLine{Name: name, Group: group, Unit: "1", Spread: spread, SharePerUnit: 1, LeftGain: left}
}

// known makes a line one whose value is known.
func known(n AccuracyLine, value float64) AccuracyLine {
	n.Known, n.Spread = true, uncertainty.Spread{Half: value}
	return n
}

// Accuracies returns the accuracy of s in every continuous and peak duty, in the order of the layout; without
// one, that of no duty. With an error it returns the duty that cannot be computed, nil where that is none.
func Accuracies(m *probe.Model, s *layout.Sensor) ([]*Accuracy, *layout.Duty, error) {
	var out []*Accuracy
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		a, err := AccuracyOf(m, s, d)
		if err != nil {
			return nil, d, err
		}
		out = append(out, a)
	}
	if len(out) > 0 {
		return out, nil, nil
	}
	a, err := AccuracyOf(m, s, nil)
	if err != nil {
		return nil, nil, err
	}
	return []*Accuracy{a}, nil, nil
}
