package layout

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/span"
)

// Axis is the sensitive direction of a sensor. U is its unit vector in the
// frame of the layout. AngleRad is set when the file gave an angle.
type Axis struct {
	U        geom.Point3
	AngleRad Num
	Span     span.Span
}

// Pair makes a sensor out of two elements: the reading is the element at
// +spacing/2 minus the element at -spacing/2 along the angle.
type Pair struct {
	SpacingM Num
	AlongRad Num
	OutRad   float64 // angle out of the plane, of a pair that is turned there; 0 as drawn
	Span     span.Span
}

// Placement is how far something may stand from where it is drawn, one-sided: x, y and
// z, its turn about z (of a bar or shield; for a sensor TiltRad), and of a sensor its
// yaw, the turn of the axis out of the plane. What the file leaves out is not set and 0.
type Placement struct {
	XM, YM, ZM      Num
	TiltRad, YawRad Num
	Span            span.Span
}

// ArrayElement is one element of an array: its place relative to the sensor's, its axis
// and the weight with which it enters the reading.
type ArrayElement struct {
	At     Place
	Axis   Axis
	Weight Num
	Span   span.Span
}

// Sensor is one sensing element, a pair read as a difference, or an array of elements
// with weights. It reads the current of a circuit, times Sign: -1 where the file names a
// bar that returns the current of its series circuit. Leg is the bar that it reads
// alone where the file names one leg of a parallel circuit, else None.
type Sensor struct {
	ID        string
	Span      span.Span
	Circuit   CircuitIndex
	Sign      float64
	Leg       BarIndex
	Reads     BarIndex // the bar it stands at: the named one, or the nearest of the circuit
	ReadsSpan span.Span
	Array     []ArrayElement
	At        Place
	Axis      Axis
	Part      PartIndex
	PartSpan  span.Span
	Pair      *Pair
	Placement *Placement
}

// Hears reports whether what flows in circuit c beside the current that s reads is stray to it: all of another
// circuit, and of its own the other legs where it reads one leg alone.
func (s *Sensor) Hears(c CircuitIndex) bool { return c != s.Circuit || s.Leg != None }

// Element is one sensing element: where it stands, the unit vector along which it
// feels the field, and the weight with which that enters the reading.
type Element struct {
	At     geom.Point3
	U      geom.Point3
	Weight float64
}

// Elements returns the element, the two elements of a pair, the positive one first, or
// those of an array in the order of the file.
func (s *Sensor) Elements() []Element {
	p := s.At.Point3()
	switch {
	case s.Pair != nil:
		h := s.Pair.along().Scale(s.Pair.SpacingM.V / 2)
		return []Element{{At: p.Add(h), U: s.Axis.U, Weight: 1}, {At: p.Sub(h), U: s.Axis.U, Weight: -1}}
	case len(s.Array) > 0:
		out := make([]Element, len(s.Array))
		for i := range s.Array {
			e := &s.Array[i]
			out[i] = Element{At: p.Add(e.At.Point3()), U: e.Axis.U, Weight: e.Weight.V}
		}
		return out
	}
	return []Element{{At: p, U: s.Axis.U, Weight: 1}}
}

// Count is the number of Elements.
func (s *Sensor) Count() int {
	switch {
	case s.Pair != nil:
		return 2
	case len(s.Array) > 0:
		return len(s.Array)
	}
	return 1
}

// Moved returns s shifted by d and its axis turned by tiltRad about z. A pair and an
// array turn as one body.
func (s Sensor) Moved(d geom.Point, tiltRad float64) Sensor {
	return s.Displaced(Shift{DX: d.X, DY: d.Y, TiltRad: tiltRad})
}

// Turned returns s with its reading turned round: the axis by half a turn, of an array every weight.
func (s Sensor) Turned() Sensor {
	if len(s.Array) > 0 {
		s.Array = append([]ArrayElement(nil), s.Array...)
		for i := range s.Array {
			s.Array[i].Weight.V = -s.Array[i].Weight.V
		}
		return s
	}
	s.Axis.U = s.Axis.U.Scale(-1)
	s.Axis.AngleRad.V = math.Mod(s.Axis.AngleRad.V+math.Pi, 2*math.Pi)
	return s
}

// WithReading returns a copy of l in which sensor i reads circuit c, in its sense.
func (l *Layout) WithReading(i SensorIndex, c CircuitIndex) *Layout {
	s := l.Sensors[i]
	s.Circuit, s.Sign, s.Leg, s.Reads = c, 1, None, None
	least := math.Inf(1)
	for _, m := range l.Circuits[c].Members {
		if d := l.Bars[m.Bar].DistanceM(s.At.Point()); d < least {
			least, s.Reads = d, m.Bar
		}
	}
	return l.WithSensor(i, s)
}
