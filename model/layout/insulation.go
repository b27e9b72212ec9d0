package layout

import "busgauss/model/span"

// Insulation is a distance between two objects that must insulate.
type Insulation struct {
	Between         [2]string // names of bars, shields or sensors
	BetweenSpan     [2]span.Span
	Span            span.Span
	Kind            string // functional, basic, supplementary, reinforced
	KindSet         bool
	WorkingV        Num // rms or direct, as WorkingIsDC says
	WorkingIsDC     bool
	SupplyV         Num // line to neutral, rms or direct
	SupplyIsDC      bool
	Category        Num // overvoltage category 1 to 4
	ImpulseV        Num // peak; wins over supply and category
	PollutionDegree Num
	Group           string // I, II, IIIa, IIIb
	GroupSet        bool
	GroupSpan       span.Span
	AltitudeM       Num
	ClearanceM      Num // as built, when it is not the distance in the drawing
	CreepageM       Num // as built
	PrintedBoard    bool
}

// Need is what one channel, or all, must do. Channel is a sensor's name or "all".
type Need struct {
	Channel          string
	Span             span.Span
	Accuracy         Num // share of reading
	SmallestCurrentA Num
	RangeA           Num // largest current to be measured
	BandwidthHz      Num
	TripA            Num
	TripWithinS      Num
	Stray            Num // share
	AmbientA         Num
	Placement        Num // share
	RangeUse         Num // share
}

// NeedFor returns the value that get picks for the sensor called id: its own
// when it is set, else that of "all".
func (l *Layout) NeedFor(id string, get func(*Need) Num) (Num, bool) {
	var all *Need
	for i := range l.Needs {
		n := &l.Needs[i]
		switch n.Channel {
		case id:
			if v := get(n); v.Set {
				return v, true
			}
		case "all":
			all = n
		}
	}
	if all != nil {
		if v := get(all); v.Set {
			return v, true
		}
	}
	return Num{}, false
}
