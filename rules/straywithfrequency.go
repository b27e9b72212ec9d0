package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// StrayWithFrequency reports a sensor that picks up more of another bar at a
// declared frequency than it does at direct current, where it was calibrated.
//
//	Quantity  |r(f) − r(0)|, r = B_other·u / B_own·u per equal ampere, phasors, pure number; u = sensitive direction; the
//	          worst circuit, or the other legs of one of which a leg is read, at the worst of all frequencies: fundamental,
//	          harmonics, ripple. A part that turns in phase counts as one that grows
//	Formula   plane field with eddy currents in all bars and shields, each insulated piece with the net current it
//	          is given (an idle bar and a shield none)
//	Valid     long bars; behind shields of finite depth the rise may be up to 5.5 times the plane's, and is undecided
//	          between; where the field is not known the rule is undecided
//	Source    common practice: two per cent of the own reading, which no calibration at direct current takes out
//	Not seen  net current that idle bars carry through joints which the layout does not declare as bonded; currents in
//	          enclosures
var StrayWithFrequency = engine.Rule{
	ID:    "stray-with-frequency",
	Title: "other bars disturb a sensor more at a frequency than at direct current",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "rise", Unit: "1", Default: 0.02, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: two per cent of own reading beyond what is taken out at direct current",
	}},
	Check:    checkStrayWithFrequency,
	OfFields: true,
}

func checkStrayWithFrequency(run *engine.Run) {
	uses := run.Model.Uses()
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		if run.Layout.Alone(s) {
			run.NotApplicable(s.ID, s.Span, "no other current flows beside it")
			return
		}
		if len(uses) == 0 {
			run.NotApplicable(s.ID, s.Span, "no duty gives an alternating current")
			return
		}
		rise := func(m *probe.Model, s *layout.Sensor, u probe.Use) (probe.StrayRise, error) {
			return m.For(u.Duty).StrayRise(s, u.Part.FreqHz)
		}
		limit := run.Limit("rise", s.ID)
		var worst probe.StrayRise
		at, told, top := -1, "", math.Inf(-1)
		for k, u := range uses {
			r, err := rise(run.Model, s, u)
			if err != nil {
				if told != err.Error() { // one reason for many frequencies is said once
					undecided(run, s, u.Duty.ID, err)
				}
				told = err.Error()
				continue
			}
			high := r.Rise.High
			if math.IsNaN(high) {
				high = math.Inf(1)
			}
			if at < 0 || bounded.Leads(high, u.Duty.ID, top, uses[at].Duty.ID) {
				worst, at, top = r, k, high
			}
		}
		if at < 0 {
			return // every frequency was said to be undecided
		}
		u := uses[at]
		other := worst.Beside
		if other == layout.None {
			run.NotApplicable(s.ID, s.Span, "no other current flows beside it")
			return
		}
		still, moved := "", ""
		if full := run.Model.FullScaleA(s); full > 0 {
			still = fmt.Sprintf(", %s at the full scale of %s", si.Format(worst.Still.Value*full, "A"), si.Format(full, "A"))
			moved = ", " + si.Format(worst.At.Value*full, "A")
		}
		why := []string{fmt.Sprintf("At direct current it adds %s of the own reading per equal ampere%s", si.Percent(worst.Still.Value), still),
			fmt.Sprintf("At the %s it adds %s%s", u.Part.Role, si.Percent(worst.At.Value), moved)}
		if turn := worst.ShiftRad * 180 / math.Pi; math.Abs(turn) >= 0.05 {
			why = append(why, fmt.Sprintf("It is turned by %+.1f deg", turn))
		}
		if worst.Rise.Value == 0 { // a uniform current density: only its bound is known
			why = append(why, fmt.Sprintf("The difference is at most %s", si.Percent(worst.Rise.High)))
		}
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID, run.Layout.Circuits[other].ID},
			Cause: u.Duty.ID, Span: s.At.Span,
			Found: worst.Rise, Limit: limit, Why: why, In: u.Duty.ID,
			Says: run.Layout.CircuitName(other) + " adds", Rest: fmt.Sprintf("at %s over 0 Hz", si.Format(u.Part.FreqHz, "Hz")),
			Related: []finding.Related{{Span: u.Duty.Span, Message: fmt.Sprintf("the duty with %s", si.Format(u.Part.FreqHz, "Hz"))}},
			Ways: func() remedy.Ways {
				return betterPlace(run, i, limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
					r, err := rise(m, s, u)
					return r.Rise, err
				})
			},
		})
	})
}
