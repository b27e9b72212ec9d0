package channel

import (
	"math"

	"busgauss/model/portable"
)

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
	return math.Abs(freqHz - float64(rateHz*math.Round(freqHz/rateHz)))
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

// RippleWave is a ripple as a sampler meets it: its orders in one current, lowest first.
type RippleWave struct {
	PeakA    float64 // of the whole wave
	Triangle bool    // else a sine
	Orders   []RippleOrder
}

// RippleOrder is one sine of a ripple, or what its orders leave out: then at the next frequency.
type RippleOrder struct {
	FreqHz, PeakA float64
}

// WaveOf returns the wave of a ripple whose sines are given. Of a triangle with its lowest order a₁ the whole peak is
//
//	P = a₁ π²/8
//
// and what P has beyond the sum of all orders given, which all peak together, counts at the next odd order.
//
// Source: I. S. Gradshteyn, I. M. Ryzhik, Table of Integrals, 1.444.6 (from memory).
func WaveOf(orders []RippleOrder, triangle bool) RippleWave {
	out := RippleWave{Triangle: triangle, Orders: orders}
	if len(orders) == 0 {
		return out
	}
	sum := 0.0
	for _, o := range orders {
		sum += o.PeakA
	}
	out.PeakA = sum
	if triangle {
		out.PeakA = orders[0].PeakA * math.Pi * math.Pi / 8
		if left := out.PeakA - sum; left > 0 {
			next := orders[len(orders)-1].FreqHz + 2*orders[0].FreqHz
			out.Orders = append(append([]RippleOrder(nil), orders...), RippleOrder{next, left})
		}
	}
	return out
}

// AliasOfWave returns where a ripple lands after sampling: its orders above half the rate, each as AliasOf, which
// may all peak at one instant. The frequency is that of the largest. Bar and shields are taken to do to all orders
// what they do to the lowest.
func (t *Timing) AliasOfWave(w RippleWave, field complex128) Alias {
	out := Alias{FreqHz: math.NaN()}
	top := 0.0
	for _, o := range w.Orders {
		if o.FreqHz < t.RateHz/2 {
			continue
		}
		a := t.AliasOf(o.FreqHz, o.PeakA, field)
		if out.PeakA += a.PeakA; a.PeakA > top {
			top, out.FreqHz, out.Constant = a.PeakA, a.FreqHz, a.Constant
		}
	}
	return out
}

// MomentErrorA returns the current in amperes that a sampler in step with a ripple reads beside the mean when its
// moment is shiftS late of the middle of a slope:
//
//	triangle  e = 4 P f |t|, at most P
//	sine      e = P |sin 2πft|
//
// with P the peak of the wave (half of its peak to peak). The middle of a slope is where ripple passes its mean:
// crest or valley of a symmetric carrier. What the part and the filter are late counts as shift.
// Common practice; follows from the slope of a triangle, 4 P f.
func (w *RippleWave) MomentErrorA(shiftS float64) float64 {
	freqHz := w.Orders[0].FreqHz
	// Distance to the nearest middle of a slope; they follow by half a period.
	half := 1 / (2 * freqHz)
	t := math.Abs(shiftS - float64(half*math.Round(shiftS/half)))
	if !w.Triangle {
		return w.PeakA * math.Abs(portable.Sin(2*math.Pi*freqHz*t))
	}
	return 4 * w.PeakA * freqHz * t
}
