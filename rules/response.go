package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Response reports a channel that tells its current too late or too small at a
// frequency of its duties, or shows a ripple as another current.
//
//	Quantity  lag, rad, and change of the amplitude against direct current, pure number, at the worst fundamental of a
//	          continuous or peak duty; lag at the frequency of a need; bandwidth, Hz; current that sampling makes of a
//	          ripple over the largest continuous or peak current, pure number
//	Formula   product of bar and shields (field with eddy currents), low-pass and delay of the part, filter, aperture,
//	          hold and time from sample to number; a ripple at f appears at |f − k f_s|, the orders of a triangle with
//	          it; sampled in step with the carrier, whole halves of its period apart, a triangle reads 4 I f |t| beside
//	          the mean, a sine I |sin 2πft|, t late of the middle of a slope; what several ripples and harmonics of a
//	          duty appear as adds; a fundamental at half the sampling rate or above fails, and so does a need for a lag
//	          there
//	Valid     steady sines, and of what points draw at half the rate and above a bound by their corners; the filter's
//	          corner at the worse end of its tolerance; undecided where a datum is not known that could turn the
//	          verdict
//	Source    half the rate: C. E. Shannon, Proc. IRE 37 (1949) 10; common practice: ten degrees, which hide 1.5 % of an
//	          active current and show 17 % of a reactive one (cosine and sine); five per cent of the amplitude; one per
//	          cent of ripple read as current
//	Not seen  what firmware does to the number: averaging, correction of a known lag, observers
var Response = engine.Rule{
	ID:      "response",
	Title:   "a channel is too slow, or shows ripple as current",
	Level:   finding.Warning,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "lag", Unit: "rad", Default: 10 * math.Pi / 180,
		Reason: "common practice: ten degrees at the fundamental; a need for lag stands beside it",
	}, {
		Key: "amplitude", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: five per cent of the amplitude at the fundamental",
	}, {
		Key: "alias", Unit: "1", Default: 0.01, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: one per cent of the largest current",
	}},
	Needs: []engine.Need{
		{Key: "bandwidth", Of: func(n *layout.Need) layout.Num { return n.BandwidthHz }},
		{Key: "lag", Of: func(n *layout.Need) layout.Num { return n.LagRad }},
	},
	Check: checkResponse,
}

func checkResponse(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		if !equipped(run, s, true) {
			return
		}
		x, ok := chainOf(run, s)
		if !ok {
			return
		}
		asked := lagNeed(run, s, x)
		asked = bandwidthNeed(run, s, x) || asked
		told := fundamentals(run, s, x)
		rippled := aliases(run, s, x)
		if !asked && !told && !rippled {
			run.NotApplicable(s.ID, s.Span,
				"reads no alternating current in any duty, and no need asks for a response")
		}
	})
}

// timingTails are the data without which it is not known how late a channel is.
var timingTails = []string{"part", "bandwidth", "delay", "sampling.rate", "sampling.delay"}

// late is the response of a channel at one frequency.
type late struct{ channel.WholeResponse }

// responseAt returns the response at freqHz; m is the model of the duty.
func responseAt(m *probe.Model, s *layout.Sensor, t channel.Timing, freqHz float64) (late, error) {
	r, err := channel.WholeResponseAt(m, s, t, freqHz)
	return late{r}, err
}

// parts says in a sentence where the lag comes from, smallest parts left out.
func (l *late) parts() string {
	var words []string
	for _, p := range l.Parts {
		if math.Abs(p.LagRad) >= 0.01*math.Abs(l.LagRad) && math.Abs(p.LagRad) > 1e-6 {
			words = append(words, fmt.Sprintf("%s %s", p.Cause, si.Format(p.LagRad, "rad")))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return "Of the lag: " + strings.Join(words, ", ")
}

func lagNeed(run *engine.Run, s *layout.Sensor, x *channel.Sensed) bool {
	angle, ok := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.LagRad })
	at, ok2 := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.LagAtHz })
	if !ok || !ok2 {
		return false
	}
	if rateHz := x.Chain.Timing.RateHz; rateHz > 0 && !(2*at.V < rateHz) {
		sampledTooSlowly(run, s, x, at.V, "lag, sampling", at.Span, `the frequency of need "lag"`)
		return true
	}
	r, err := responseAt(run.Model, s, x.Chain.Timing.Slowest(), at.V)
	if err != nil {
		undecided(run, s, "lag", err)
		return true
	}
	limit := engine.Bound{Value: angle.V, Unit: "rad", Origin: `need "lag" of the layout`, Span: angle.Span}
	judgeLate(run, s, x, &r, at.V, engine.Case{Cause: "lag", Found: r.Lag.Magnitude(), Limit: limit})
	return true
}

// judgeLate judges a lag or a change of amplitude at hz. What is not known can only add
// to either, so what is known may fail but never pass alone.
func judgeLate(run *engine.Run, s *layout.Sensor, x *channel.Sensed, r *late, hz float64, c engine.Case) {
	cause, found, limit := c.Cause, c.Found, c.Limit
	if !r.Complete && engine.Decide(found, limit.Value, false) != finding.Fail {
		withoutData(run, s, cause, "the response", x.Open(timingTails...))
		return
	}
	way, other := side(r.LagRad, "late", "early"), r.amplitude()+" in amplitude"
	if limit.Unit != "rad" {
		way, other = side(r.Amplitude-1, "high", "low"), si.Format(r.LagRad, "rad")+" late"
	}
	why := []string{"It is also " + other, r.parts()}
	if !r.Complete {
		why = append(why, "The unknown rest is left out")
	}
	c.Object, c.Span, c.Says, c.Rest = s.ID, timingPlace(run, s), "is", fmt.Sprintf("%s at %s", way, si.Format(hz, "Hz"))
	c.Why = append(why, c.Why...)
	c.Ways = func() remedy.Ways { return waysOut(run, "", quicker(s, x, r, limit)) }
	run.Judge(c)
}

// timingPlace is the filter where there is one, else the sampling, else the sensor.
func timingPlace(run *engine.Run, s *layout.Sensor) span.Span {
	r := run.Layout.ReadoutOf(s)
	switch {
	case r.Filter.Given:
		return r.Filter.Span
	case r.Sampling.Given:
		return r.Sampling.Span
	}
	return s.Span
}

func bandwidthNeed(run *engine.Run, s *layout.Sensor, x *channel.Sensed) bool {
	need, ok := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.BandwidthHz })
	if !ok {
		return false
	}
	t, complete := x.Chain.Timing.Slowest().KnownOnly()
	hz := t.BandwidthHz()
	limit := engine.Bound{Value: need.V, Unit: "Hz", AtLeast: true, Origin: `need "bandwidth" of the layout`, Span: need.Span}
	if math.IsInf(hz, 1) || !complete && hz >= need.V {
		// Delays do not narrow the band.
		if missing := x.Open("part", "bandwidth", "sampling.rate"); len(missing) > 0 {
			withoutData(run, s, "bandwidth", "the bandwidth", missing)
			return true
		}
	}
	what := "It has fallen by 3 dB there"
	if t.RateHz > 0 && hz >= t.RateHz/2 {
		what = "That is half the sampling rate"
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: "bandwidth", Span: timingPlace(run, s), Found: bounded.Exact(hz), Limit: limit,
		Says: "its channel passes up to", Why: []string{what + ", bar and shield apart"},
		Ways: func() remedy.Ways { return waysOut(run, "", widerBand(s, x, need.V)) },
	})
	return true
}

// fundamentals judges the worst fundamental of a continuous or peak duty.
func fundamentals(run *engine.Run, s *layout.Sensor, x *channel.Sensed) bool {
	var worst *late
	var worstUse probe.Use
	top, worstKey, notes := -1.0, "", []string(nil)
	told := ""
	any := false
	tooFast := probe.Use{}
	for _, u := range run.Model.UsesOf(s) {
		any = true
		main := run.Model.MainOf(s, &u)
		if main && u.Duty.Kind != layout.Fault && x.Chain.Timing.RateHz > 0 &&
			!(2*u.Part.FreqHz < x.Chain.Timing.RateHz) {
			if u.Part.FreqHz > tooFast.Part.FreqHz {
				tooFast = u
			}
			continue
		}
		r, err := responseAt(run.Model.For(u.Duty), s, x.Chain.Timing.Slowest(), u.Part.FreqHz)
		if err != nil {
			if told != err.Error() {
				undecided(run, s, u.Duty.ID, err)
			}
			told = err.Error()
			continue
		}
		if !main || u.Duty.Kind == layout.Fault {
			notes = append(notes, fmt.Sprintf("%s of duty %q at %s %s", u.Part.Role, u.Duty.ID, si.Format(u.Part.FreqHz, "Hz"), r.short()))
			continue
		}
		for _, key := range []string{"lag", "amplitude"} {
			use := r.part(key).High / run.Limit(key, s.ID).Value
			if worst == nil && use > top || worst != nil && bounded.Leads(use, u.Duty.ID, top, worstUse.Duty.ID) || math.IsNaN(use) && top >= 0 {
				r := r
				worst, worstUse, worstKey, top = &r, u, key, use
			}
		}
	}
	if tooFast.Duty != nil {
		sampledTooSlowly(run, s, x, tooFast.Part.FreqHz, tooFast.Duty.ID+", sampling", tooFast.Duty.Span,
			fmt.Sprintf("the fundamental of duty %q", tooFast.Duty.ID))
	}
	if worst == nil {
		if tooFast.Duty == nil && any && told == "" {
			run.Pass(s.ID, s.Span, "reads no fundamental to judge. Not judged: %s", strings.Join(notes, ", "))
		}
		return any
	}
	peakA := portable.Abs(run.Model.OwnIn(s, &worstUse.Part))
	why := []string{fmt.Sprintf("It is off by up to %s of %s at an instant", si.Format(peakA*worst.off(), "A"), si.Format(peakA, "A"))}
	if len(notes) > 0 {
		why = append(why, "Not judged: "+strings.Join(notes, ", "))
	}
	judgeLate(run, s, x, worst, worstUse.Part.FreqHz, engine.Case{Cause: worstUse.Duty.ID, In: worstUse.Duty.ID,
		Found: worst.part(worstKey), Limit: run.Limit(worstKey, s.ID), Why: why})
	return true
}

// sampledTooSlowly fails a channel whose samples show a current at hz, which what asks for, as one of another frequency.
//
// Source: C. E. Shannon, Proc. IRE 37 (1949) 10, theorem 1: samples tell apart what lies below half their rate.
func sampledTooSlowly(run *engine.Run, s *layout.Sensor, x *channel.Sensed, hz float64, cause string, asked span.Span,
	what string) {
	rateHz := x.Chain.Timing.RateHz
	asHz := fmt.Sprintf("as a current of %s", si.Format(channel.AliasHz(hz, rateHz), "Hz"))
	if channel.AliasHz(hz, rateHz) <= 1e-4*rateHz {
		asHz = "as direct current"
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: cause, Span: timingPlace(run, s), Found: bounded.Exact(rateHz),
		// Half the rate itself is lost as well.
		Limit: engine.Bound{Value: 2 * hz * (1 + 1e-9), Unit: "Hz", AtLeast: true,
			Origin: "twice " + what + " (Shannon)", Span: asked},
		Says: "is sampled at",
		Why: []string{fmt.Sprintf("%s is %s", engine.Sentence(what), si.Format(hz, "Hz")),
			"That is not below half the rate, and shows " + asHz},
		Remedy: func() string {
			return fmt.Sprintf("a sampling rate well above %s, ten samples a period where lag counts",
				si.Format(2*hz, "Hz"))
		},
	})
}

// part is the quantity that a limit is for.
func (l *late) part(key string) bounded.Estimate {
	if key == "lag" {
		return l.Lag.Magnitude()
	}
	return l.Change.Magnitude()
}

// off is the largest difference at any instant between a sine and what is told of
// it, over its amplitude: |1 − A e^{−jφ}|.
func (l *late) off() float64 {
	return portable.Abs(1 - portable.Rect(l.Amplitude, -l.LagRad))
}

// amplitude says by how much the amplitude changes; half of 0.01 % is nobody's concern.
func (l *late) amplitude() string {
	if change := l.Amplitude - 1; math.Abs(change) > 5e-5 || math.IsNaN(change) {
		return signedPercent(change)
	}
	return "unchanged"
}

func (l *late) short() string {
	text := fmt.Sprintf("%s late and %s in amplitude", si.Format(l.LagRad, "rad"), l.amplitude())
	if !l.Complete {
		text += " at least"
	}
	return text
}
