package channel

import "math"

// AliasHz returns the frequency in hertz, from 0 to half the rate, at which a
// sine of freqHz appears after sampling at rateHz:
//
//	f' = |f − k f_s|, k the nearest whole number to f/f_s
//
// 0 means that it appears as a constant. A rate that is not positive gives NaN.
//
// Source: A. V. Oppenheim and R. W. Schafer, Discrete-Time Signal Processing,
// 3rd ed., section 4.2.
func AliasHz(freqHz, rateHz float64) float64 {
	if !(rateHz > 0) {
		return math.NaN()
	}
	return math.Abs(freqHz - rateHz*math.Round(freqHz/rateHz))
}

// Alias is where a ripple lands in the number.
type Alias struct {
	FreqHz   float64 // after sampling; 0 is a constant
	PeakA    float64 // after part, filter and aperture
	Constant bool    // the ripple appears as direct current, or so slowly that it passes for it
}

// AliasOf returns where a ripple of peakA at freqHz lands: its frequency after
// sampling and its size in front of the sampler. The hold and the delay behind
// it act on the number and are left out. Constant is set below a ten-thousandth of the
// rate (common practice: such a beat is not averaged away by anything that
// follows). Not sampled: NaN.
func (t *Timing) AliasOf(freqHz, peakA float64, field complex128) Alias {
	before := *t
	before.Hold, before.DelayS = false, 0
	out := Alias{FreqHz: math.NaN(), PeakA: peakA * before.At(freqHz, field).Amplitude}
	if t.RateHz > 0 {
		out.FreqHz = AliasHz(freqHz, t.RateHz)
		out.Constant = out.FreqHz <= 1e-4*t.RateHz
	}
	return out
}

// MomentErrorA returns the current in amperes that a sampler in step with a
// triangular ripple of peakA (half of its peak to peak) reads beside the mean when
// its moment is shiftS late of the middle of a slope:
//
//	e = 4 I_ripple f |t|, at most I_ripple
//
// The middle of a slope is where ripple passes its mean: crest or valley of a
// symmetric carrier. What the part and the filter are late counts as shift.
// Common practice; follows from the slope of a triangle, 4 I_ripple f.
func MomentErrorA(peakA, freqHz, shiftS float64) float64 {
	// Distance to the nearest middle of a slope; they follow by half a period.
	half := 1 / (2 * freqHz)
	t := math.Abs(shiftS - half*math.Round(shiftS/half))
	return 4 * peakA * freqHz * t
}
