// Package waveform is what flows in a duty, in time: components of one frequency,
// groups of components that keep their phase, the decaying direct component of a
// fault, and the extremes of any quantity that follows the currents linearly, with
// bounds that hold between the samples.
package waveform

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
)

// HighestHz is the highest frequency that the fields answer for. What a waveform holds
// above it joins the left-over.
const HighestHz = 1e6

// NoGroup is the group of direct current: it has no phase.
const NoGroup = -1

// Component is one frequency of the currents of a duty: a peak phasor for each circuit
// (len and order of Layout.Circuits), e^{+jωt}. At 0 Hz the phasors are real.
type Component struct {
	FreqHz float64
	Role   string // "direct", "fundamental", "harmonic 5", "second set", "ripple", "ripple harmonic 3"
	// Group is shared by components whose phases against each other are known.
	// Components of different groups stand at any phase. Direct current: NoGroup.
	Group int
	PeakA []complex128
	// Derived says that the layout does not declare the component: it belongs to the series
	// of a waveform given by points or of a triangle, above its fundamental.
	Derived bool
}

// Currents is what flows in a duty: the direct current if there is one, the first set,
// the sets beside it, the ripple, in this order.
type Currents struct {
	Duty       *layout.Duty
	Components []Component
	Groups     int // their number; groups are 0 to Groups-1, in order of appearance

	// Offsets is the decaying direct component of a fault at its first peak: for each
	// alternating component of the sets (κ-1) times its phasor. It flows as direct
	// current whose size and sign depend on the instant of the fault, which is common
	// to all circuits: Re(Σ phasor·e^{jkψ}) at the worst angle ψ. FreqHz and Group say
	// which component it belongs to. Empty when the currents are symmetrical.
	Offsets    []Component
	PeakFactor float64 // κ; 1 when symmetrical

	// LeftOverA bounds, for each circuit, the instantaneous current that the components
	// leave out of a waveform given by points, of a triangular ripple, or above HighestHz.
	LeftOverA []float64

	drawn []drawn
}

// Of returns the currents of duty d. A current is
//
//	i(t) = dc + Σ peak_n·cos(n·2πf·t + phase_n)
//
// and a harmonic's phase is its own. A duty without any current has one component at
// 0 Hz, all zero.
func Of(l *layout.Layout, d *layout.Duty) *Currents {
	b := newBuilder(len(l.Circuits))
	b.set(&d.Set, 0)
	for i := range d.With {
		b.set(&d.With[i], i+1)
	}
	steady := len(b.components)
	if d.Ripple != nil {
		b.ripple(d)
	}
	c := &Currents{Duty: d, Groups: b.groups, PeakFactor: 1, LeftOverA: b.leftOverA, drawn: b.drawn}
	if a := d.Asymmetry; a != nil {
		c.PeakFactor = peakFactor(a)
		for i := range b.components[:steady] {
			c.Offsets = append(c.Offsets, b.components[i].scaled(c.PeakFactor-1))
		}
	}
	if b.hasDirect || len(b.components) == 0 && d.Ripple == nil {
		c.Components = append(c.Components, b.direct)
	}
	c.Components = append(c.Components, b.components...)
	return c
}

// SteadyA returns the current of each circuit at the time 0 of a component, A: that of
// direct current.
func (c *Component) SteadyA() []float64 {
	out := make([]float64, len(c.PeakA))
	for i, a := range c.PeakA {
		out[i] = real(a)
	}
	return out
}

func (c *Component) scaled(by float64) Component {
	out := *c
	out.PeakA = make([]complex128, len(c.PeakA))
	for i, a := range c.PeakA {
		out.PeakA[i] = portable.Times(a, complex(by, 0))
	}
	return out
}

// BaseHz returns the frequency of which every component of a group is a whole multiple,
// 0 for a group without components.
func (c *Currents) BaseHz(group int) float64 {
	base, _, _ := commonBase(c.frequencies(group))
	return base
}

// HighestOrder returns the largest multiple of BaseHz in a group.
func (c *Currents) HighestOrder(group int) int {
	_, orders, _ := commonBase(c.frequencies(group))
	highest := 0
	for _, k := range orders {
		highest = max(highest, k)
	}
	return highest
}

func (c *Currents) frequencies(group int) []float64 {
	var out []float64
	for i := range c.Components {
		if p := &c.Components[i]; p.Group == group && p.FreqHz > 0 {
			out = append(out, p.FreqHz)
		}
	}
	return out
}

// At returns the current of each circuit, A, at a time of each group: direct current and
// the groups that have a time. Groups without one are left out, and so is the decaying
// direct component.
func (c *Currents) At(timesS ...float64) []float64 {
	out := make([]float64, len(c.LeftOverA))
	for i := range c.Components {
		p := &c.Components[i]
		turn, flows := turnAt(p.FreqHz, p.Group, timesS)
		if !flows {
			continue
		}
		for k, a := range p.PeakA {
			out[k] += real(portable.Times(a, turn))
		}
	}
	return out
}

// turnAt returns e^{jωt} at the time of a group, and whether the group has one.
func turnAt(freqHz float64, group int, timesS []float64) (complex128, bool) {
	if group == NoGroup {
		return 1, true
	}
	if group >= len(timesS) {
		return 0, false
	}
	return portable.Rect(1, 2*math.Pi*freqHz*timesS[group]), true
}

// Current returns the current of one circuit as a signal, A.
func (c *Currents) Current(circuit layout.CircuitIndex) *Signal {
	s := &Signal{LeftOver: c.LeftOverA[circuit]}
	if d := &c.drawn[circuit]; d.outlines == 1 && !d.mixed && len(c.Offsets) == 0 {
		s.Exact = &[2]float64{d.lowA, d.highA}
	}
	for i := range c.Components {
		p := &c.Components[i]
		s.Lines = append(s.Lines, Line{FreqHz: p.FreqHz, Group: p.Group, V: p.PeakA[circuit]})
	}
	for i := range c.Offsets {
		p := &c.Offsets[i]
		s.Offset = append(s.Offset, Line{FreqHz: p.FreqHz, Group: p.Group, V: p.PeakA[circuit]})
	}
	return s
}
