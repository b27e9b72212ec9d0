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
	TemporaryV      Num // peak of a temporary overvoltage
	RecurringV      Num // recurring peak across the gap, where it is above that of the working voltage
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
