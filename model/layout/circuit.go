package layout

import (
	"fmt"

	"busgauss/model/span"
)

// CircuitIndex is a position in Layout.Circuits.
type CircuitIndex int

// CircuitKind says how the bars of a circuit share its current.
type CircuitKind uint8

// The kinds of circuit. Single is a bar by itself that no circuit of the file names.
const (
	Single CircuitKind = iota
	Series
	Parallel // joined at both ends: shares by conductance and by the solved fields
	Shared   // joined at both ends, with declared shares
)

// Member is one bar of a circuit. Factor times the current of the circuit flows in it:
// 1 or -1 in series, the share in a Shared one; NaN in a Parallel one, whose
// shares are computed.
type Member struct {
	Bar    BarIndex
	Factor float64
	Span   span.Span
}

// Circuit is what one current flows through. Every bar stands in exactly one
// circuit. Circuits stand in the order of their first bars, so that in a layout without
// declared circuits circuit i is bar i.
type Circuit struct {
	ID      string
	Span    span.Span
	Kind    CircuitKind
	Members []Member
	Spread  Num // how far the resistance of each leg of bars joined at both ends may lie from its own, to each side, a share
}

// Circuit returns the circuit called id, or the one of the bar called id.
func (l *Layout) Circuit(id string) (CircuitIndex, bool) {
	for i := range l.Circuits {
		if l.Circuits[i].ID == id {
			return CircuitIndex(i), true
		}
	}
	if b, ok := l.Bar(id); ok {
		c, _ := l.CircuitOf(b)
		return c, c != None
	}
	return None, false
}

// CircuitOf returns the circuit that bar b stands in, and b's place in it.
func (l *Layout) CircuitOf(b BarIndex) (CircuitIndex, Member) {
	for i := range l.Circuits {
		for _, m := range l.Circuits[i].Members {
			if m.Bar == b {
				return CircuitIndex(i), m
			}
		}
	}
	return None, Member{Bar: None}
}

// FirstBar returns the first bar of circuit c; None for no circuit.
func (l *Layout) FirstBar(c CircuitIndex) BarIndex {
	if c == None || len(l.Circuits[c].Members) == 0 {
		return None
	}
	return l.Circuits[c].Members[0].Bar
}

// HasCircuits reports whether the file declares a circuit.
func (l *Layout) HasCircuits() bool {
	for i := range l.Circuits {
		if l.Circuits[i].Kind != Single {
			return true
		}
	}
	return false
}

// ReadName names for people what s reads: bar "U", circuit "store", leg "U1", or the bar
// "minus" that returns the current of its circuit.
func (l *Layout) ReadName(s *Sensor) string {
	switch {
	case s.Circuit == None:
		return "nothing"
	case s.Leg != None:
		return fmt.Sprintf("leg %q", l.Bars[s.Leg].ID)
	case s.Sign < 0: // named by a bar that returns the current of its circuit
		return fmt.Sprintf("bar %q", l.Bars[s.Reads].ID)
	}
	return l.CircuitName(s.Circuit)
}

// CircuitName names a circuit for people: bar "U" for a bar by itself, circuit "store".
func (l *Layout) CircuitName(c CircuitIndex) string {
	if k := &l.Circuits[c]; k.Kind != Single {
		return fmt.Sprintf("circuit %q", k.ID)
	}
	return fmt.Sprintf("bar %q", l.Circuits[c].ID)
}

// Alone reports whether nothing but the current that s reads flows in the layout.
func (l *Layout) Alone(s *Sensor) bool { return len(l.Circuits) < 2 && s.Leg == None }

// Shares reports whether bar b has but a share of the current of its circuit.
func (l *Layout) Shares(b BarIndex) bool {
	c, _ := l.CircuitOf(b)
	return c != None && (l.Circuits[c].Kind == Parallel || l.Circuits[c].Kind == Shared)
}

// CarryingBars returns the bars of the circuits that duty d gives a current, in layout
// order.
func (l *Layout) CarryingBars(d *Duty) []BarIndex {
	named := make([]bool, len(l.Circuits))
	name := func(c CircuitIndex) {
		if c != None {
			named[c] = true
		}
	}
	for _, s := range append([]Set{d.Set}, d.With...) {
		for i := range s.Currents {
			name(s.Currents[i].Circuit)
		}
		if s.ThreePhase != nil {
			for _, c := range s.ThreePhase.Circuits {
				name(c)
			}
		}
	}
	if r := d.Ripple; r != nil {
		for _, c := range r.Circuits {
			name(c)
		}
		for i := range r.Currents {
			name(r.Currents[i].Circuit)
		}
	}
	var out []BarIndex
	for b := range l.Bars {
		if c, _ := l.CircuitOf(BarIndex(b)); c != None && named[c] {
			out = append(out, BarIndex(b))
		}
	}
	return out
}

// WithLegResistance returns a copy of l in which leg j of circuit c, whose bars are joined at both ends, has k times its
// resistance: a bar by its conductivity, a declared share by the conductance that it stands for.
func (l *Layout) WithLegResistance(c CircuitIndex, j int, k float64) *Layout {
	out := *l
	if l.Circuits[c].Kind != Shared {
		out.Bars = append([]Bar(nil), l.Bars...)
		out.Bars[l.Circuits[c].Members[j].Bar].SigmaSPerM /= k
		return &out
	}
	out.Circuits = append([]Circuit(nil), l.Circuits...)
	members := append([]Member(nil), l.Circuits[c].Members...)
	sum := 0.0
	members[j].Factor /= k
	for i := range members {
		sum += members[i].Factor
	}
	for i := range members {
		members[i].Factor /= sum
	}
	out.Circuits[c].Members = members
	return &out
}
