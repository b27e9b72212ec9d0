package channel

import "math"

// Tap is where the trip looks at the signal.
type Tap uint8

// The taps, in order of the signal.
const (
	TapOutput Tap = iota + 1 // a comparator at the output of the part
	TapFilter                // a comparator behind amplifier, divider and filter
	TapNumber                // a comparison of numbers behind the converter
)

// Trip is an overcurrent trip of the channel.
type Trip struct {
	CurrentA    float64
	Tap         Tap
	ActS        float64 // from crossing to the current's end of rise: comparator, logic, driver, switch
	SupplyV     float64 // drives the fault current
	InductanceH float64 // of its loop
}

// Threshold is a trip current in the terms of one stage.
type Threshold struct {
	Stage string
	Unit  string
	Rise  float64 // over the value at no current
	Value float64 // as it stands there
}

// Thresholds returns what a current is in every known stage, counts of the
// converter among them: q0 + k I, and the rise k I.
func (c *Chain) Thresholds(currentA float64) []Threshold {
	var out []Threshold
	for _, s := range c.lines(off{}) {
		out = append(out, Threshold{s.Name, s.Unit, s.PerA * currentA, s.At(currentA)})
		if s.Name == ConverterStage {
			zero, perA := c.Converter.counts(s)
			out = append(out, Threshold{s.Name, "counts", perA * currentA, zero + float64(perA*currentA)})
		}
	}
	return out
}

// Delay is one cause of a trip being late.
type Delay struct {
	Cause string
	S     float64
}

// Delays returns, in the order of the signal, what stands between the current of
// a settled ramp and the end of its rise, and the sum, in seconds. A number is
// late by up to one whole sampling period on top of its conversion time: the
// threshold may be crossed just after a sample. Data that are not known make the
// sum NaN.
//
// Valid for a ramp that lasts longer than the delays; see LowPass.DelayS.
func (t *Timing) Delays(trip *Trip) (parts []Delay, totalS float64) {
	add := func(cause string, s float64) {
		parts = append(parts, Delay{cause, s})
		totalS += s
	}
	add("part", t.Part.DelayS())
	add("delay", t.PartDelayS)
	if trip.Tap >= TapFilter {
		add("filter", t.Filter.DelayS())
	}
	if trip.Tap == TapNumber {
		period := math.NaN() // without a rate nobody knows how old the number is
		if t.RateHz > 0 {
			period = 1 / t.RateHz
		}
		add("sampling", period)
		add("conversion", t.DelayS)
	}
	add("switching", trip.ActS)
	return parts, totalS
}

// OvershootA returns by how many amperes the current outruns the trip:
//
//	ΔI = V/L · total delay
//
// The voltage is taken as constant, the loop as free of resistance and iron; both
// make the true overshoot smaller, saturating iron makes it larger.
// Common practice; follows from v = L di/dt.
func (trip *Trip) OvershootA(totalS float64) float64 {
	return trip.SupplyV / trip.InductanceH * totalS
}

// Contradiction reports whether a demanded time is shorter than the chain can
// give, and so can never be met. A time that is not known contradicts nothing:
// the caller must look at the total for NaN.
func Contradiction(withinS, totalS float64) bool { return withinS < totalS }

// TripMargins are what a trip current leaves on either side, in amperes;
// negative: the demand is not met.
type TripMargins struct {
	// RangeA is the end of the range less trip, overshoot and error: below it
	// the channel clips before it has seen the fault through.
	RangeA float64
	// FalseTripA is the trip less error, peak of the current, ripple and noise:
	// below it normal use trips.
	FalseTripA float64
}

// NoiseCrest is how many times its rms a trip must stand above noise: six, which
// normal noise crosses to one side once in 10⁹ independent readings (tail of the
// normal distribution, erfc(6/√2)/2). Common practice.
const NoiseCrest = 6

// Margins returns what is left:
//
//	range       I_end − (I_trip + overshoot + error)
//	false trip  I_trip − error − (I_peak + I_ripple + NoiseCrest · noise rms)
func (trip *Trip) Margins(rangeEndA, overshootA, errorA, peakA, rippleA, noiseRMSA float64) TripMargins {
	return TripMargins{
		RangeA:     rangeEndA - (trip.CurrentA + overshootA + errorA),
		FalseTripA: trip.CurrentA - errorA - (peakA + rippleA + float64(NoiseCrest*noiseRMSA)),
	}
}

// LargestDelayS returns the total delay in seconds at which the overshoot just
// fits below the end of the range, (I_end − I_trip − error) L/V; negative when
// not even an instant trip fits.
func (trip *Trip) LargestDelayS(rangeEndA, errorA float64) float64 {
	return (float64(rangeEndA) - trip.CurrentA - float64(errorA)) * trip.InductanceH / trip.SupplyV
}
