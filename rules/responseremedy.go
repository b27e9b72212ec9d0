package rules

import (
	"fmt"
	"math"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// quicker names the least corner of the filter at which a lag or a change of
// amplitude keeps its limit, tried as printed, or what is left without any filter.
func quicker(s *layout.Sensor, x *channel.Sensed, r *late, limit engine.Bound) way {
	t, _ := x.Chain.Timing.KnownOnly()
	field := r.field()
	allowed := limit.Value
	fits := func(hz float64) bool {
		u := t
		u.Filter.CornerHz = hz
		if u.Filter.Order == 0 {
			u.Filter.Order = 1
		}
		u = u.Slowest()
		at := u.At(r.FreqHz, field)
		if limit.Unit == "rad" {
			return math.Abs(at.LagRad)+(r.Lag.High-r.Lag.Value) <= allowed
		}
		return math.Abs(at.Amplitude-1)+(r.Change.High-r.Change.Value) <= allowed
	}
	if t.Filter.CornerHz > 0 {
		if hz := leastCorner(r.FreqHz, fits); finite(hz) {
			return way{fmt.Sprintf("a filter of %s instead of %s", si.Format(hz, "Hz"), si.Format(t.Filter.CornerHz, "Hz")), cornerAs(s, hz)}
		}
	}
	bare := t
	bare.Filter = channel.LowPass{}
	rest := bare.At(r.FreqHz, field)
	return way{text: fmt.Sprintf("no filter corner is enough, %s stay without any: a quicker part, earlier numbers, or a correction in firmware that advances by %s and divides by %.4g at %s",
		si.Format(rest.LagRad, "rad"), si.Format(r.LagRad, "rad"), r.Amplitude, si.Format(r.FreqHz, "Hz"))}
}

// cornerAs returns the edit that gives the filter of s another corner.
func cornerAs(s *layout.Sensor, hz float64) func(*layout.Layout) *layout.Layout {
	return stagesAs(s, nil, func(r *layout.Stages) { r.Filter.CornerHz.V = hz })
}

// field is the gain of bar and shields in a response.
func (l *late) field() complex128 {
	for _, p := range l.Parts {
		if p.Cause == "field" {
			sin, cos := portable.Sincos(-p.LagRad)
			return complex(float64(p.Amplitude*cos), float64(p.Amplitude*sin))
		}
	}
	return 1
}

// leastCorner returns the least corner in hertz, of three digits, that fits; NaN
// when none does.
func leastCorner(freqHz float64, fits func(hz float64) bool) float64 {
	low, high := freqHz*1e-6, freqHz*1e6
	if !fits(high) {
		return math.NaN()
	}
	for range 80 {
		if mid := math.Sqrt(low * high); fits(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return neat(high, true)
}

// widerBand names what gives the bandwidth that is needed.
func widerBand(s *layout.Sensor, x *channel.Sensed, needHz float64) way {
	t, _ := x.Chain.Timing.KnownOnly()
	fits := func(u channel.Timing) bool { return u.BandwidthHz() >= needHz }
	if t.Filter.CornerHz > 0 {
		hz := leastCorner(needHz, func(hz float64) bool {
			u := t
			u.Filter.CornerHz = hz
			return fits(u.Slowest())
		})
		if finite(hz) {
			return way{fmt.Sprintf("a filter of %s instead of %s", si.Format(hz, "Hz"), si.Format(t.Filter.CornerHz, "Hz")), cornerAs(s, hz)}
		}
	}
	u := t
	if u.RateHz > 0 {
		u.RateHz = leastCorner(needHz, func(hz float64) bool {
			v := t
			v.RateHz = hz
			return fits(v.Slowest())
		})
		if finite(u.RateHz) {
			return way{fmt.Sprintf("a sampling rate of %s instead of %s", si.Format(u.RateHz, "Hz"), si.Format(t.RateHz, "Hz")),
				stagesAs(s, nil, func(r *layout.Stages) { r.Sampling.RateHz.V = u.RateHz })}
		}
	}
	return way{text: fmt.Sprintf("no single change of filter or rate passes %s: a part of more bandwidth", si.Format(needHz, "Hz"))}
}
