package rules

import (
	"cmp"
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// quickerWays names each single change that brings the delay to withinS.
func (t *tripCase) quickerWays(withinS float64) string {
	fits := func(timing channel.Timing, tap channel.Tap) bool {
		trip := *t.trip
		trip.Tap = tap
		if math.IsNaN(trip.ActS) {
			trip.ActS = 0
		}
		timing, _ = timing.KnownOnly()
		timing = timing.Slowest()
		_, total := timing.Delays(&trip)
		return total <= withinS
	}
	now := t.x.Chain.Timing
	filter, rate, tap := "", "", ""
	if t.trip.Tap >= channel.TapFilter && now.Filter.CornerHz > 0 {
		hz := leastCorner(now.Filter.CornerHz, func(hz float64) bool {
			u := now
			u.Filter.CornerHz = hz
			return fits(u, t.trip.Tap)
		})
		if finite(hz) {
			filter = fmt.Sprintf("a filter of %s instead of %s", si.Format(hz, "Hz"), si.Format(now.Filter.CornerHz, "Hz"))
		}
	}
	if t.trip.Tap == channel.TapNumber {
		if now.RateHz > 0 {
			hz := leastCorner(now.RateHz, func(hz float64) bool {
				u := now
				u.RateHz = hz
				return fits(u, t.trip.Tap)
			})
			if finite(hz) {
				rate = fmt.Sprintf("a sampling rate of %s instead of %s", si.Format(hz, "Hz"), si.Format(now.RateHz, "Hz"))
			}
		}
		bare := now
		bare.Filter = channel.LowPass{}
		switch {
		case fits(now, channel.TapFilter):
			tap = "a comparator behind the filter (by: filter)"
		case fits(bare, channel.TapOutput):
			tap = "a comparator at the output of the part (by: output)"
		}
	}
	if t.trip.Tap != channel.TapOutput && orWay(filter, rate, tap) == "" {
		trip := *t.trip
		trip.Tap = channel.TapOutput
		known, _ := now.KnownOnly()
		known = known.Slowest()
		if _, total := known.Delays(&trip); finite(total) {
			tap = fmt.Sprintf("a quicker part or a quicker switch, for a comparator at the output of this part (by: output) still takes %s", si.Format(total, "s"))
		}
	}
	ask := fmt.Sprintf("a time of %s", si.Format(neat(t.totalS, true), "s"))
	if !t.whole {
		ask += " or more"
	}
	return orWay(filter, rate, tap, ask)
}

// leastTripA is the least trip that normal use does not reach; 0 where no normal use is
// known.
func (t *tripCase) leastTripA() float64 {
	use, open, err := t.normal()
	if cmp.Or(err, open) != nil || use.duty == "" {
		return 0
	}
	noiseA := float64(channel.NoiseCrest * t.noiseA())
	if !finite(noiseA) {
		noiseA = 0
	}
	return (use.sumA + noiseA) / (t.run.Limit("normal", t.s.ID).Value - t.errorA.High/t.trip.CurrentA)
}

// rangeWays names each single change that lets the channel see the fault through.
func (t *tripCase) rangeWays(end bounded.Estimate, overshootA, limit float64) string {
	lower, quicker := "", ""
	// The error at a lower trip is no larger.
	if a := neat(float64(end.Low*limit)-overshootA-t.errorA.High, false); a > 0 && a >= t.leastTripA() {
		lower = fmt.Sprintf("a trip of %s", si.Format(a, "A"))
	}
	if s := t.trip.LargestDelayS(end.Low*limit, t.errorA.High); s > 0 && finite(s) {
		quicker = fmt.Sprintf("a delay of %s in all instead of %s", si.Format(neat(s, false), "s"), si.Format(t.totalS, "s"))
	}
	topA := t.trip.CurrentA + overshootA + t.errorA.High
	positiveA, negativeA := topA, topA
	if reach, err := channel.ReachOf(t.run.Model, t.s, layout.Continuous, layout.Peak, layout.Fault); err == nil {
		if reach.HighA == 0 && reach.LowA < 0 {
			positiveA = 0
		}
		if reach.LowA == 0 && reach.HighA > 0 {
			negativeA = 0
		}
	}
	filled := t.x.FillAt(positiveA, negativeA)
	need := &filled
	if out := orWay(append(texts(sensitivityWay(t.s, t.x, need, limit), dividerWay(t.s, t.x, need, limit), gainWay(t.s, t.x, need, limit),
		way{text: partWay(t.x, need, limit)}, numberWay(t.s, t.x, need, limit)), lower, quicker)...); out != "" {
		return out
	}
	return fmt.Sprintf("no single change of sensitivity, divider, gain, part, number, trip or delay passes: the overshoot of %s comes first, by a trip nearer to the part or more inductance", si.Format(overshootA, "A"))
}
