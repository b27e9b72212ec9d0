package channel

import (
	"math"

	"busgauss/model/portable"
)

// Timing is all that makes the channel late.
type Timing struct {
	Part       LowPass
	PartDelayS float64
	Filter     LowPass // before the converter; the zero value is none
	FilterTol  float64 // share, of its corner
	RateHz     float64 // samples per second; 0: not sampled
	Hold       bool    // the number is used as a staircase between samples
	ApertureS  float64 // window over which the converter averages; 0: a moment
	DelayS     float64 // from the middle of the window to the number
	CarrierHz  float64 // sampling keeps step with it; 0: not in step
	ShiftS     float64 // how late a sample is of the middle of a slope of its ripple
}

// Slowest returns t with the corner of the filter at the low end of its tolerance,
// where lag and delay are largest.
func (t Timing) Slowest() Timing {
	t.Filter.CornerHz *= 1 - t.FilterTol
	return t
}

// Quickest returns t with the corner of the filter at the high end of its tolerance,
// where noise and ripple pass it most.
func (t Timing) Quickest() Timing {
	t.Filter.CornerHz *= 1 + t.FilterTol
	return t
}

// Lateness is what one cause adds at one frequency.
type Lateness struct {
	Cause     string
	Amplitude float64 // pure number
	LagRad    float64
}

// Response is amplitude and lag of the chain at one frequency.
type Response struct {
	FreqHz    float64
	Amplitude float64 // against direct current, pure number
	LagRad    float64 // positive: late; more than a turn is not folded back
	Parts     []Lateness
}

// LagS returns the lag as a time, LagRad/(2π f); NaN at no frequency.
func (r Response) LagS() float64 { return r.LagRad / (2 * math.Pi * r.FreqHz) }

// At returns the response at freqHz > 0 as a product of
//
//	field      gain of bar and shield against direct current, as given: G
//	part       low-pass of the part
//	delay      e^{−jωτ} of the part
//	filter     low-pass before the converter
//	aperture   sin(π f T_a)/(π f T_a)
//	hold       sin(π f/f_s)/(π f/f_s), lag π f/f_s
//	sampling   lag ω times the time from sample to number
//
// field is 1 where bar and shield are not to be counted; its angle is taken
// between −π and π. Above half the sampling rate a sampled signal stands for
// another frequency: see Alias. Data that are not known (NaN) make the answer
// NaN.
//
// Source: G. F. Franklin, J. D. Powell and M. L. Workman, Digital Control of
// Dynamic Systems, 3rd ed., section 4.3 (zero-order hold; from memory).
func (t *Timing) At(freqHz float64, field complex128) Response {
	r := Response{FreqHz: freqHz, Amplitude: 1}
	add := func(cause string, amplitude, lagRad float64) {
		r.Parts = append(r.Parts, Lateness{Cause: cause, Amplitude: amplitude, LagRad: lagRad})
		r.Amplitude *= amplitude
		r.LagRad += float64(lagRad)
	}
	omega := 2 * math.Pi * freqHz
	add("field", portable.Abs(field), -portable.Phase(field))
	a, lag := t.Part.Lag(freqHz)
	add("part", a, lag)
	add("delay", 1, omega*t.PartDelayS)
	a, lag = t.Filter.Lag(freqHz)
	add("filter", a, lag)
	if t.RateHz != 0 {
		add("aperture", sinc(freqHz*t.ApertureS), 0)
		if t.Hold {
			add("hold", sinc(freqHz/t.RateHz), math.Pi*freqHz/t.RateHz)
		}
		add("sampling", 1, omega*t.DelayS)
	}
	return r
}

// sinc returns |sin(πx)/(πx)|.
func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Abs(portable.Sin(math.Pi*x) / (math.Pi * x))
}

// BandwidthHz returns the frequency in hertz at which the chain has fallen by
// 3 dB (to 1/√2), bar and shield left out, or half the sampling rate where that is
// lower: above it a number cannot tell frequencies apart (Nyquist; C. E. Shannon,
// Proc. IRE 37 (1949) 10, theorem 1). Nothing to limit it gives +Inf.
func (t *Timing) BandwidthHz() float64 {
	if a := t.At(1, 1).Amplitude; math.IsNaN(a) {
		return a
	}
	fallen := func(freqHz float64) bool { return t.At(freqHz, 1).Amplitude <= math.Sqrt2/2 }
	top := math.Inf(1)
	if t.RateHz > 0 {
		top = t.RateHz / 2
		if !fallen(top) {
			return top
		}
	}
	low, high := 1e-9, 1e-9
	for !fallen(high) {
		if low, high = high, 2*high; high > 1e15 {
			return math.Inf(1)
		}
	}
	high = min(high, top)
	for range 60 {
		if mid := (low + high) / 2; fallen(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
