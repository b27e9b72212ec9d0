package layout

import "busgauss/model/span"

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
	TripBy           Choice[Tap]
	TripSwitchingS   Num // from the crossing to the end of the current's rise
	TripSupplyV      Num // drives the fault current
	TripInductanceH  Num // of the fault's loop
	LagRad           Num // lag allowed at LagAtHz
	LagAtHz          Num
	BatteryChargeAs  Num // full charge, in ampere seconds
	BatteryPerDay    Num // share of the full charge
	Stray            Num // share
	AmbientA         Num
	Placement        Num // share
	RangeUse         Num // share
}

// Tap is where the threshold of a trip compares.
type Tap string

// The taps, in order of the signal.
const (
	TapOutput Tap = "output" // a comparator at the output of the part
	TapFilter Tap = "filter" // a comparator behind amplifier, divider and filter
	TapNumber Tap = "number" // a comparison of numbers behind the converter
)

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

// TripByFor returns where the trip of the sensor called id compares: its own word
// when it is set, else that of "all", else one that is not set and names a place
// where it could be added.
func (l *Layout) TripByFor(id string) Choice[Tap] {
	var own, all *Need
	for i := range l.Needs {
		switch n := &l.Needs[i]; n.Channel {
		case id:
			own = n
		case "all":
			all = n
		}
	}
	switch {
	case own != nil && (own.TripBy.Set || all == nil || own.TripA.Set && !all.TripBy.Set):
		return own.TripBy
	case all != nil:
		return all.TripBy
	}
	return Choice[Tap]{}
}

// PhaseSum is three channels whose sum is nothing unless current leaks away.
type PhaseSum struct {
	Span span.Span
	// Channels are the three sensors; None where a name is broken, and for the last
	// one of two measured phases when it is named by its bar.
	Channels   [3]SensorIndex
	DerivedBar BarIndex // of the last one, when it is named by its bar; else None
	// Measured is 3, or 2 when the last is taken as minus the sum of the others.
	Measured   Choice[int]
	ThresholdA Num // on the sum
	Ripple     Num // share of the amplitude
}
