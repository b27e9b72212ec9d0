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
	"busgauss/rules/engine"
)

// Calibration reports a channel whose calibration makes its gain wrong, or that is
// used too far from the temperature at which it was calibrated.
//
//	Quantity  error of the gain that the calibration sets, pure number: a coil that stood in for the bar, the gain at the
//	          frequency of use against that of the calibration, the reference, and the readings of zero and current by
//	          step and hysteresis over the current; what the calibration's current takes of the range of the channel; drift
//	          of the gain from the temperature of calibration to the ends of use, pure number
//	Formula   coil: 1/(1 + e) − 1, e = (mean of the turns' fields)/(field of what is read) − 1, turns centred where the
//	          bar was, the other bars of its circuit in the second field alone, iron of the layout in both;
//	          frequency: amplitude of bar, shield, part, filter and window; readings: half a step and the hysteresis over
//	          the current; known errors by magnitude, the others k = 2
//	Valid     plane section; undecided where current, reference, pitch or a tolerance is not given. An alternating current
//	          is taken for its rms value: it must find √2 times as much of the range, in both directions
//	Source    fields of filaments and of bars in closed form, plane field solver behind iron; limits common practice
//	Not seen  ends and way back of a coil; a sensor that is moved after its calibration
var Calibration = engine.Rule{
	ID:      "calibration",
	Title:   "a calibration sets a wrong gain, or is left too far behind",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "gain", Unit: "1", Default: 0.01, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: one per cent, as a calibration is done to be better than the part",
	}, {
		Key: "temperature", Unit: "1", Default: 0.02, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: two per cent of gain over the range of temperature",
	}},
	Check: checkCalibration,
}

func checkCalibration(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		declared, ok := run.Layout.CalibrationOf(s.ID)
		setup, missing := channel.SetupFromLayout(run.Layout, s)
		if !ok || setup.By < channel.ByOnePoint {
			run.NotApplicable(s.ID, s.Span, "no calibration with a current is declared for it")
			return
		}
		at := declared.Kind.Span
		if setup.Conductor == layout.ConductorBar && setup.Turns > 1 {
			run.Fail(s.ID, declared.Turns.Span, []string{run.Layout.Bars[s.Reads].ID},
				"calibrate with the whole current once through the bar, or declare the coil (conductor: ribbon or bundle)",
				"%.0f turns cannot flow in bar %q, which is one turn. Its calibration says conductor: bar", setup.Turns, run.Layout.Bars[s.Reads].ID)
			return
		}
		a, duty, err := worstBy(run.Model, s, func(a *channel.Accuracy) float64 { return setGain(a).AtLeastA })
		if err != nil {
			undecided(run, s, duty, err)
			return
		}
		if open := undecidedOnly(missing); len(open) > 0 {
			withoutData(run, s, "", "the calibration", open)
			return
		}
		if x, ok := chainOf(run, s); ok && x.Chain.Timing.RateHz > 0 && setup.FreqHz > 0 && !(2*setup.FreqHz < x.Chain.Timing.RateHz) {
			sampledTooSlowly(run, s, x, setup.FreqHz, "sampling", at, "the frequency of the calibration")
			return
		}
		coil, err := setup.CoilError(run.Model, s)
		if err != nil {
			run.Undecided(s.ID, at, "", "its calibration cannot be judged. %s", reason(err))
			return
		}
		judgeReached(run, s, &setup, &declared, coil.Value)
		judgeSetGain(run, s, a, &setup, &declared, coil.Value)
		judgeTemperature(run, s, &setup, &declared)
	})
}

// judgeReached holds the current of a calibration against the range of the channel: what clips sets no gain. One point with
// direct current asks for the positive side alone. Where an end of a stage is not known that is left to rule output-chain.
func judgeReached(run *engine.Run, s *layout.Sensor, setup *channel.Setup, declared *layout.Calibration, coil float64) {
	x, ok := chainOf(run, s)
	a := setup.PeakA() * setup.Turns / math.Abs(1+coil)
	if !ok || !(a > 0) {
		return
	}
	fill := x.FillAt(a, a)
	share := x.Taken(&fill.Positive, true).Share
	if setup.By != channel.ByOnePoint || setup.FreqHz > 0 {
		share = bounded.Most(share, x.Taken(&fill.Negative, false).Share)
	}
	if !finite(share.Value) {
		return
	}
	peak := ""
	if setup.FreqHz > 0 {
		peak = fmt.Sprintf(", the peak of %s", setupCurrent(setup))
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: "current", Span: declared.CurrentA.Span, Found: share,
		Limit: engine.Bound{Value: 1, Unit: "1", Origin: "the ends that part and readout declare"},
		Says:  "its calibration drives it to", Rest: "of its range",
		Why: []string{fmt.Sprintf("It drives it as %s of its own current would%s", si.Format(a, "A"), peak)},
		Remedy: func() string {
			most := *setup
			most.CurrentA = neat(setup.CurrentA/share.High, false)
			return fmt.Sprintf("at most %s for the calibration", setupCurrent(&most))
		},
	})
}

// setGain is the error of the gain that the calibration sets, by itself and by the frequency of the duty of a, as a share.
func setGain(a *channel.Accuracy) channel.Outcome {
	return a.Gain().AtOf(1, a.Declared, channel.InGroups(channel.GroupBench, channel.GroupFrequency))
}

// judgeSetGain compares what the calibration itself puts into the gain.
func judgeSetGain(run *engine.Run, s *layout.Sensor, a *channel.Accuracy, setup *channel.Setup,
	declared *layout.Calibration, coil float64) {
	o := setGain(a)
	if len(o.Missing) > 0 {
		run.Undecided(s.ID, declared.Kind.Span, "gain", "the gain that its calibration sets cannot be judged. Add %s", strings.Join(o.Missing, ", "))
		return
	}
	says := fmt.Sprintf("its %s calibration sets the gain to within", declared.Kind.V)
	var why []string
	at := declared.Kind.Span
	if setup.Conductor != layout.ConductorBar {
		at = declared.Conductor.Span
		says = fmt.Sprintf("its calibration by %.0f turns of %s sets the gain to within", setup.Turns, setup.Conductor)
		why = append(why, fmt.Sprintf("The turns in place of %s read %s against it", run.Layout.ReadName(s), signedPercent(1/(1+coil)-1)),
			fmt.Sprintf("That sets the gain %s off, without all else", signedPercent(coil)))
	}
	for _, c := range o.Ranked[:min(3, len(o.Ranked))] {
		why = append(why, fmt.Sprintf("%s: %s", engine.Sentence(c.Name), si.Percent(c.AmountA)))
	}
	found := bounded.Exact(o.TotalA)
	if least := a.Gain().AtOf(1, a.Declared, func(n *channel.AccuracyLine) bool {
		return notField(n) && channel.InGroups(channel.GroupBench, channel.GroupFrequency)(n)
	}).TotalA; least < found.Low {
		found.Low = least
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: "gain", Span: at, Found: found, Limit: run.Limit("gain", s.ID),
		Says: says, Why: append(why, againstUse(a, setup)...),
		Remedy: func() string { return gainRemedy(a, setup, o, coil, run.Limit("gain", s.ID).Value) },
	})
}

// againstUse sets current and frequency of the calibration beside those of use.
func againstUse(a *channel.Accuracy, setup *channel.Setup) []string {
	turns := ""
	if setup.Turns > 1 {
		turns = fmt.Sprintf("%.0f times ", setup.Turns)
	}
	return []string{fmt.Sprintf("It is calibrated with %s%s at %s", turns, setupCurrent(setup), si.Format(setup.FreqHz, "Hz")),
		fmt.Sprintf("It is used up to %s at %s", si.Format(a.FullA, "A"), si.Format(a.FreqHz, "Hz"))}
}

// setupCurrent is the current of a calibration in words: "700 A rms" where it alternates.
func setupCurrent(setup *channel.Setup) string {
	text := si.Format(setup.CurrentA, "A")
	if setup.FreqHz > 0 {
		text += " rms"
	}
	return text
}

func gainRemedy(a *channel.Accuracy, setup *channel.Setup, o channel.Outcome, coil, limit float64) string {
	if coil != 0 && math.Abs(coil) >= o.TotalA/2 {
		return "calibrate with the current in the bar itself; no factor turns a coil into a bar"
	}
	for _, c := range o.Ranked {
		switch {
		case strings.HasPrefix(c.Name, "gain at") || strings.HasPrefix(c.Name, "certainty of the gain"):
			return "calibrate at the frequency of use, " + si.Format(a.FreqHz, "Hz")
		case strings.HasPrefix(c.Name, "reference"):
			return fmt.Sprintf("a reference better than %s", si.Percent(setup.Tol))
		case strings.Contains(c.Name, "of the calibration"):
			nowA := setup.CurrentA * setup.Turns
			if leastA := neat(nowA*moreCurrent(a, limit), true); finite(leastA) {
				return fmt.Sprintf("calibrate with %s instead of %s: readings are off by as much, so their share falls with it", si.Format(leastA, "A"), si.Format(nowA, "A"))
			}
		}
	}
	return "calibrate with the current in the bar itself, at the frequency and near the size of use"
}

// ofReadings reports whether a line is the error of a reading on the bench, which
// counts the less the more current flows.
func ofReadings(name string) bool {
	return strings.Contains(name, "of the calibration, ")
}

// moreCurrent is how many times the current of the calibration keeps the gain within
// limit; NaN where the rest alone does not.
func moreCurrent(a *channel.Accuracy, limit float64) float64 {
	own := channel.InGroups(channel.GroupBench, channel.GroupFrequency)
	rest := a.Gain().AtOf(1, a.Declared, func(n *channel.AccuracyLine) bool { return own(n) && !ofReadings(n.Name) })
	readings := a.Gain().AtOf(1, a.Declared, func(n *channel.AccuracyLine) bool { return own(n) && ofReadings(n.Name) })
	left := limit - math.Abs(rest.KnownA)
	if !(left > rest.ExpandedA) {
		return math.NaN()
	}
	return readings.TotalA / math.Sqrt(float64(left*left)-float64(rest.ExpandedA*rest.ExpandedA))
}

// judgeTemperature compares the drift of the gain from the temperature of
// calibration.
func judgeTemperature(run *engine.Run, s *layout.Sensor, setup *channel.Setup, declared *layout.Calibration) {
	p := run.Layout.PartOf(s)
	if p == nil || !p.TemperatureFromC.Set || !p.TemperatureToC.Set || !p.SensitivityPerK.Set {
		run.Undecided(s.ID, declared.Kind.Span, "temperature", "the temperature of its calibration cannot be judged. Add %s", temperatureKeys(p))
		return
	}
	drift := math.Abs(p.SensitivityPerK.V)
	span := math.Max(math.Abs(p.TemperatureFromC.V-setup.TemperatureC), math.Abs(p.TemperatureToC.V-setup.TemperatureC))
	middle := (p.TemperatureFromC.V + p.TemperatureToC.V) / 2
	least := drift * (p.TemperatureToC.V - p.TemperatureFromC.V) / 2
	limit := run.Limit("temperature", s.ID)
	run.Judge(engine.Case{
		Object: s.ID, Cause: "temperature", Span: declared.Kind.Span, Found: bounded.Exact(drift * span), Limit: limit,
		Says: "its gain drifts up to", Rest: fmt.Sprintf("from its calibration at %s", si.Format(setup.TemperatureC, "°C")),
		Why: []string{fmt.Sprintf("It is used from %s to %s", si.Format(p.TemperatureFromC.V, "°C"), si.Format(p.TemperatureToC.V, "°C")),
			fmt.Sprintf("The further end is %s away", si.Format(span, "K"))},
		Remedy: func() string {
			if least <= limit.Value {
				return fmt.Sprintf("calibrate at %s, the middle of the range: %s is left", si.Format(middle, "°C"), si.Percent(least))
			}
			return fmt.Sprintf("calibrate at two temperatures: one in the middle, at %s, still leaves %s", si.Format(middle, "°C"), si.Percent(least))
		},
	})
}

func temperatureKeys(p *layout.Part) string {
	if p == nil {
		return "a part"
	}
	var keys []string
	if !p.SensitivityPerK.Set {
		keys = append(keys, "parts."+p.ID+".sensitivity.drift")
	}
	if !p.TemperatureFromC.Set || !p.TemperatureToC.Set {
		keys = append(keys, "parts."+p.ID+".temperature")
	}
	return strings.Join(keys, ", ")
}
