package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Trip reports an overcurrent trip that the channel cannot give in the time that
// is demanded, that clips before the fault is through, or that normal use sets off.
//
//	Quantity  total delay from crossing the threshold to the end of the current's rise, s; trip + overshoot + error
//	          against the end of the range with tolerances at their worst, A; largest current of a continuous or peak
//	          duty with ripple, stray, noise and error against the trip, A
//	Formula   part, delay, filter, one sampling period, time from sample to number, switching; overshoot = V/L × delay;
//	          noise counts six times its rms
//	Valid     a fault that rises as a ramp longer than the delays, from constant voltage through an inductance without
//	          resistance or iron; undecided where a datum is not known that could turn the verdict. Normal use counts what
//	          bar and shield add to the own current at its frequencies, each in the phase that is declared; of what they
//	          and the channel take away only that of ripple; of other bars what tolerances let in too
//	Source    v = L di/dt; six times the rms: common practice (once in 10⁹ readings of normal noise). The error is the sum
//	          of all errors of the channel and of foreign fields at their worst; where a calibration with current acts
//	          on the threshold, that of numbers, less what it takes out, and never less than a need for accuracy, which
//	          stands in for what is not known (channel-accuracy holds the channel to it)
//	Not seen  blanking and filters in firmware, iron that saturates and makes the rise steeper. A trip that protects life
//	          or property needs its own proof after the standard that applies, by people licensed for it
var Trip = engine.Rule{
	ID:      "trip",
	Title:   "an overcurrent trip is too late, out of range or too near to normal use",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "range", Unit: "1", Default: 1, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the range"},
		Reason: "the end of the range, which part and readout declare",
	}, {
		Key: "normal", Unit: "1", Default: 1, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the trip"},
		Reason: "the trip itself, which the layout declares",
	}},
	Needs: []engine.Need{{Key: "trip", Of: func(n *layout.Need) layout.Num { return n.TripA }}},
	Check: checkTrip,
}

func checkTrip(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		trip, missing := channel.TripFromLayout(run.Layout, s)
		if trip == nil {
			run.NotApplicable(s.ID, s.Span, "no trip is asked of it")
			return
		}
		if !equipped(run, s, false) {
			return
		}
		x, ok := chainOf(run, s)
		if !ok {
			return
		}
		current, _ := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.TripA })
		t := &tripCase{run: run, s: s, x: x.Tapped(trip.Tap), trip: trip, at: current.Span,
			open: undecidedOnly(missing)}
		t.delays()
		t.errors()
		t.judgeTime()
		t.judgeRange()
		t.judgeNormal()
	})
}

// tripCase is one trip under judgement.
type tripCase struct {
	run    *engine.Run
	s      *layout.Sensor
	x      *channel.Sensed // up to the tap of the trip
	trip   *channel.Trip
	at     span.Span         // of the trip's current
	open   []channel.Missing // data of the trip itself that are not known
	parts  []channel.Delay
	totalS float64 // of what is known
	whole  bool    // the total is
	// errorA is what is known of the channel's error at the trip; sound says that all is,
	// and unstated what is not for want of a tolerance.
	errorA   bounded.Estimate
	sound    bool
	unstated []channel.Missing
}

// dataFor are the data that hang on the tap: tails of what a trip at it needs.
func (t *tripCase) dataFor(tails ...string) []channel.Missing {
	var out []channel.Missing
	for _, m := range t.x.Open(tails...) {
		analogue := strings.Contains(m.Key, ".amplifier.")
		digital := strings.Contains(m.Key, ".converter") || strings.Contains(m.Key, ".number") || strings.Contains(m.Key, ".sampling.") || m.Key == "readout"
		if digital && t.trip.Tap < channel.TapNumber || analogue && t.trip.Tap < channel.TapFilter {
			continue
		}
		out = append(out, m)
	}
	return out
}

func (t *tripCase) delays() {
	timing := t.x.Chain.Timing.Slowest()
	parts, _ := timing.Delays(t.trip)
	t.whole = true
	for _, d := range parts {
		switch {
		case math.IsNaN(d.S):
			t.whole = false
		case d.S != 0:
			t.parts = append(t.parts, d)
			t.totalS += d.S
		}
	}
}

// delayWords says the delay of a trip, and in a second sentence what it is made of.
func (t *tripCase) delayWords() (total, parts string) {
	var words []string
	for _, d := range t.parts {
		if d.S < 1e-3*t.totalS {
			continue
		}
		words = append(words, d.Cause+" "+si.Format(d.S, "s"))
	}
	text := si.Format(t.totalS, "s")
	if !t.whole {
		text += " at least"
	}
	if len(words) < 2 {
		return text, ""
	}
	return text, "Of the delay: " + strings.Join(words, ", ")
}

// errors is the error of the channel at the trip current, in amperes: what shifts or scales its reading at that
// threshold, a declared conversion that is not the chain's among it. A need for accuracy vouches for what is not known of it where the calibration acts on the threshold,
// that of a number after a calibration with current, and counts where it allows more than is computed.
func (t *tripCase) errors() {
	setup, _ := channel.SetupFromLayout(t.run.Layout, t.s)
	by := setup.By
	if t.trip.Tap < channel.TapNumber {
		by = channel.ByNothing // what firmware learns does not move a comparator
	}
	t.sound = true
	worst := func(c *channel.Chain) float64 {
		sum := 0.0
		for _, source := range c.Sources() {
			if source.Name == "noise" || source.Removed != channel.ByNothing && source.Removed <= by {
				continue
			}
			if a := source.WorstA(t.trip.CurrentA); math.IsNaN(a) {
				t.sound = false
			} else {
				sum += a
			}
		}
		if t.trip.Tap >= channel.TapNumber {
			slopeA, zeroA := c.DeclaredOffA(t.trip.CurrentA, by)
			if a := slopeA + zeroA; math.IsNaN(a) {
				t.sound = false
			} else {
				sum += a
			}
		}
		return sum
	}
	t.errorA = t.x.Bounded(worst)
	if _, foreignA, err := t.run.Model.Ambient(t.s); err == nil {
		t.errorA = t.errorA.Plus(foreignA)
	} else {
		t.sound = false
		t.unstated = append(t.unstated, channel.Missing{Key: "surroundings", Span: t.run.Layout.Span,
			Text: "foreign fields: " + err.Error()})
	}
	if unstated := t.x.Unstated(by); len(unstated) > 0 {
		t.unstated, t.sound = append(t.unstated, unstated...), false
	}
	if n, ok := t.run.Layout.NeedFor(t.s.ID, func(n *layout.Need) layout.Num { return n.Accuracy }); ok &&
		by >= channel.ByOnePoint {
		t.errorA = bounded.Most(t.errorA, bounded.Exact(n.V*t.trip.CurrentA))
		t.sound = true
	}
}

// errorData are the data that the error of the channel still wants.
func (t *tripCase) errorData() []channel.Missing {
	return append(t.dataFor(errorTails...), t.unstated...)
}

// errorWords is the error, and that it is the least where not all of it is known.
func (t *tripCase) errorWords() string {
	text := orNone(t.errorA.Value, "A")
	if !t.sound {
		text += " at least"
	}
	return text
}

var errorTails = []string{"part", "linear-range", "sensitivity.", "offset.", "hysteresis", "non-linearity", "temperature", "amplifier.", "converter", "converter.high", "converter.bits"}

func (t *tripCase) judgeTime() {
	within, ok := t.run.Layout.NeedFor(t.s.ID, func(n *layout.Need) layout.Num { return n.TripWithinS })
	if !ok {
		return
	}
	if !t.whole && !channel.Contradiction(within.V, t.totalS) {
		withoutData(t.run, t.s, "within", "the trip time", append(t.dataFor(timingTails...), t.openOf("switching")...))
		return
	}
	total, parts := t.delayWords()
	why := []string{parts}
	if !t.whole {
		why = append(why, "It takes "+total)
	}
	if channel.Contradiction(within.V, t.totalS) {
		why = append(why, "A contradiction: no trip current resolves it")
	}
	t.run.Judge(engine.Case{
		Object: t.s.ID, Cause: "within", Span: within.Span, Found: bounded.Exact(t.totalS),
		Limit: engine.Bound{Value: within.V, Unit: "s", Origin: `need "trip.within" of the layout`, Span: within.Span},
		Says:  "its chain takes", Rest: "to end the current's rise", Why: why,
		Remedy: func() string { return t.quickerWays(within.V) },
	})
}

// openOf returns the trip's own data that are not known, by the ends of their keys.
func (t *tripCase) openOf(ends ...string) []channel.Missing {
	var out []channel.Missing
	for _, m := range t.open {
		for _, e := range ends {
			if strings.HasSuffix(m.Key, "."+e) {
				out = append(out, m)
			}
		}
	}
	return out
}

// rangeEnd returns the nearer end of the range in the directions in which the bar
// carries current, with tolerances at their worst, in amperes without sign, and the stage that clips there.
func (t *tripCase) rangeEnd() (end bounded.Estimate, stage string, unknown bool) {
	reach, err := channel.ReachOf(t.run.Model, t.s, layout.Continuous, layout.Peak, layout.Fault)
	stages := t.x.Chain.Stages()
	for _, positive := range []bool{true, false} {
		if positive && reach.HighA == 0 && reach.LowA < 0 || !positive && reach.LowA == 0 && reach.HighA > 0 {
			continue
		}
		clip := channel.FirstClip(stages, positive)
		unknown = unknown || len(clip.Unknown) > 0
		sign := 1.0
		if !positive {
			sign = -1
		}
		e := t.x.Bounded(func(c *channel.Chain) float64 {
			return sign * channel.FirstClip(c.Stages(), positive).LeastA
		})
		if stage == "" || e.Value < end.Value {
			end, stage = e, clip.LeastStage
		}
	}
	return end, stage, unknown || err != nil || t.trip.Tap == channel.TapNumber && t.x.Chain.Converter == nil
}

func (t *tripCase) judgeRange() {
	end, stage, unknown := t.rangeEnd()
	overshootA := t.trip.OvershootA(t.totalS)
	ramp := finite(overshootA)
	complete := ramp && t.whole && t.sound && !unknown
	if !ramp {
		overshootA = 0
	}
	limit := t.run.Limit("range", t.s.ID)
	top := t.errorA.Plus(bounded.Exact(t.trip.CurrentA + overshootA))
	share := top.Over(end)
	if !complete && engine.Decide(share, limit.Value, false) != finding.Fail {
		missing := t.openOf("switching", "supply", "inductance")
		if !t.whole {
			missing = append(missing, t.dataFor(timingTails...)...)
		}
		if unknown || math.IsNaN(share.Low) {
			missing = append(missing, t.dataFor(clippingTails...)...)
		}
		if !t.sound {
			missing = append(missing, t.errorData()...)
		}
		withoutData(t.run, t.s, "range", "the range of the trip", missing)
		return
	}
	why := []string{"The trip stands at " + t.thresholdWords()}
	if ramp {
		total, parts := t.delayWords()
		why = append(why, fmt.Sprintf("The current rises by %s per microsecond", si.Format(t.trip.SupplyV/t.trip.InductanceH*1e-6, "A")),
			fmt.Sprintf("It runs on for %s, by %s", total, si.Format(overshootA, "A")), parts)
	}
	why = append(why, fmt.Sprintf("The error of the channel is %s", t.errorWords()), fmt.Sprintf("It must reach %s", si.Format(top.Value, "A")),
		fmt.Sprintf("Its %s ends at %s with tolerances at their worst", stage, si.Format(end.Value, "A")))
	t.run.Judge(engine.Case{
		Object: t.s.ID, Cause: "range", Span: t.at, Found: share, Limit: limit, WholeA: end.Value,
		Says: fmt.Sprintf("its trip at %s takes", si.Format(t.trip.CurrentA, "A")), Rest: fmt.Sprintf("of the range of its %s", stage), Why: why,
		Remedy: func() string { return t.rangeWays(end, overshootA, limit.Value) },
	})
}

// thresholdWords says what the trip is at its tap: "3.19 V at the output, 690 mV above
// its zero".
func (t *tripCase) thresholdWords() string {
	volts, counts := "", ""
	for _, h := range t.x.Chain.Thresholds(t.trip.CurrentA) {
		side := "above"
		if h.Rise < 0 {
			side = "below"
		}
		switch {
		case math.IsNaN(h.Value) || h.Stage == channel.ElementStage:
		case h.Unit != "counts": // the last of them is what the trip sees
			volts = fmt.Sprintf("%s at the %s, %s %s its zero", si.Format(h.Value, h.Unit), h.Stage, si.Format(math.Abs(h.Rise), h.Unit), side)
		case h.Stage == channel.ConverterStage:
			counts += fmt.Sprintf(", %s counts", si.FormatDigits(h.Value, "", 4))
		default:
			counts += fmt.Sprintf(", number %s", si.FormatDigits(h.Value, "", 4))
		}
	}
	if volts == "" {
		return "a threshold of which the volts are not known"
	}
	return volts + counts
}
