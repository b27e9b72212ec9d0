// Package layout is the arrangement as rules see it: values in SI units,
// references resolved to indices, and the place in the file of each value.
package layout

import (
	"busgauss/model/finding"
	"busgauss/model/span"
)

// Num is a number of the layout in the SI unit that its field name says. Set is
// false when the file did not give it; V then holds the default, or NaN when
// there is none. Span is the value's text, or the place where it could be added.
type Num struct {
	V    float64
	Set  bool
	Span span.Span
}

// Choice is a word or a truth value of the layout. Set is false when the file did
// not give it; V then holds the default. Span is the word's text, or the place
// where it could be added.
type Choice[T any] struct {
	V    T
	Set  bool
	Span span.Span
}

// BarIndex, ShieldIndex, MaterialIndex, PartIndex and SensorIndex are positions
// in the slices of a Layout. None means "no such object".
type (
	BarIndex      int
	ShieldIndex   int
	MaterialIndex int
	PartIndex     int
	SensorIndex   int
)

// None is the index of no object.
const None = -1

// Layout is one checked layout file, version 1. Objects stand in file order.
// A Layout is never changed once it is loaded: With... methods return copies.
type Layout struct {
	Path         string
	Title        string
	TitleSpan    span.Span
	Span         span.Span // of the word "layout" at the top
	Bars         []Bar
	Circuits     []Circuit
	Shields      []Shield
	Materials    []Material
	Sensors      []Sensor
	Parts        []Part
	Readout      Readout
	Duties       []Duty
	Surroundings Surroundings
	Insulation   []Insulation
	Needs        []Need
	PhaseSums    []PhaseSum
	Calibrations []Calibration
	Bonded       []Bond
	Measurements []Measurement
	Assumed      []finding.Assumption
}

// Bond declares bars and shields that are joined at both ends, so that only
// their common current is given.
type Bond struct {
	Bars    []BarIndex
	Shields []ShieldIndex
	Span    span.Span
}

// Bar returns the bar called id.
func (l *Layout) Bar(id string) (BarIndex, bool) {
	for i := range l.Bars {
		if l.Bars[i].ID == id {
			return BarIndex(i), true
		}
	}
	return None, false
}

// Sensor returns the sensor called id.
func (l *Layout) Sensor(id string) (SensorIndex, bool) {
	for i := range l.Sensors {
		if l.Sensors[i].ID == id {
			return SensorIndex(i), true
		}
	}
	return None, false
}

// AreBonded reports whether two bars or shields are declared to be joined at both ends.
func (l *Layout) AreBonded(a, b string) bool {
	for i := range l.Bonded {
		hasA, hasB := false, false
		for _, k := range l.Bonded[i].Bars {
			hasA, hasB = hasA || l.Bars[k].ID == a, hasB || l.Bars[k].ID == b
		}
		for _, k := range l.Bonded[i].Shields {
			hasA, hasB = hasA || l.Shields[k].ID == a, hasB || l.Shields[k].ID == b
		}
		if hasA && hasB {
			return true
		}
	}
	return false
}

// PartOf returns the part of sensor s, nil when it names none.
func (l *Layout) PartOf(s *Sensor) *Part {
	if s.Part == None {
		return nil
	}
	return &l.Parts[s.Part]
}

// WithSensor returns a copy of l in which sensor i is s. Everything else is shared.
func (l *Layout) WithSensor(i SensorIndex, s Sensor) *Layout {
	c := *l
	c.Sensors = append([]Sensor(nil), l.Sensors...)
	c.Sensors[i] = s
	return &c
}

// WithBars returns a copy of l with other bars; len(bars) must not change.
func (l *Layout) WithBars(bars []Bar) *Layout {
	if len(bars) != len(l.Bars) {
		panic("layout: number of bars changed")
	}
	c := *l
	c.Bars = bars
	return &c
}
