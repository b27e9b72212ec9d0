package rules

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// StrayRatio reports a sensor whose reading holds too much of the other bars.
//
//	Quantity  e = |B_others·u| / |B_own·u| over one duty, pure number; u = sensitive direction
//	Formula   field of all bars with the phasors of the duty, each component over the own field per ampere at its own
//	          frequency. The largest of: the component in which the own current is largest by itself; the peak over time
//	          of the stray over that of the own current, for direct part and fundamentals, with harmonics, with ripple and
//	          the decaying part of a fault, so that none of these makes it smaller. Where the own bar is idle in the duty,
//	          the full scale of the channel stands in, else the range that a need claims. Tolerances of the sizes of shields and of
//	          materials add, each at the end that adds more, at small signals and but for conductivity at steady current
//	Valid     as the fields: beyond thin bars with eddy currents; undecided where a bound meets the limit, and where an
//	          idle channel has neither a full scale nor a claimed range
//	Source    common practice: five per cent before calibration; a fault is only told from none, so ten
//	Not seen  return conductors outside the file, eddy currents in enclosures
var StrayRatio = engine.Rule{
	ID:    "stray-ratio",
	Title: "other bars disturb a sensor",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "budget", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: five per cent of own field before calibration",
		Need:   func(n *layout.Need) layout.Num { return n.Stray }, NeedKey: "stray",
	}, {
		Key: "fault-budget", Unit: "1", Default: 0.10, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: ten per cent in a fault, which is detected and not measured",
	}},
	Check:    checkStrayRatio,
	OfFields: true,
}

func checkStrayRatio(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		if run.Layout.Alone(s) {
			if _, asked := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.Stray }); asked {
				run.Judge(engine.Case{Object: s.ID, Span: s.At.Span, Found: bounded.Exact(0),
					Limit: run.Limit("budget", s.ID), Says: "neighbours move the reading", Why: []string{"No other current flows beside it"}})
				return
			}
			run.NotApplicable(s.ID, s.Span, "no other current flows beside it")
			return
		}
		if len(run.Layout.Duties) == 0 {
			run.Without(s.ID, s.Span, currentKey(run, s, "continuous"), "no duty gives a current")
			return
		}
		worst, found := worstDuty(run, s)
		if found == nil {
			return // every duty was said to be undecided or idle
		}
		d := found
		strayNeedOpen(run, s)
		run.Judge(engine.Case{
			Object: s.ID, Others: others(run, s, worst.Largest), Cause: d.ID, Span: s.At.Span,
			Found: worst.Ratio, Limit: strayLimit(run, s, d),
			Says: "neighbours move the reading", Rest: strings.TrimSpace(ofFull(worst.OwnIdle)), In: d.ID, Why: strayWords(run, d, worst),
			Related: shares(run, s),
			Ways: func() remedy.Ways {
				limit := strayLimit(run, s, d)
				way := betterPlace(run, i, limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
					r, err := m.Stray(s, d)
					return r.Ratio, err
				})
				way.None = cmp.Or(way.None, "a place or an axis at which all that the duty carries is read for certain")
				return way
			},
		})
	})
}

// strayNeedOpen says that a need for stray has no answer where no duty but faults gives
// what s reads a current: a fault has a budget of its own.
func strayNeedOpen(run *engine.Run, s *layout.Sensor) {
	need, asked := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.Stray })
	if asked && run.Model.FullScaleA(s) == 0 {
		run.Undecided(s.ID, need.Span, "stray",
			"need %q cannot be answered. Only faults give it a current to read. Add %s",
			"stray", currentKey(run, s, "continuous or peak"))
	}
}

func strayLimit(run *engine.Run, s *layout.Sensor, d *layout.Duty) engine.Bound {
	if d.Kind == layout.Fault {
		return run.Limit("fault-budget", s.ID)
	}
	return run.Limit("budget", s.ID)
}

// worstDuty returns the duty whose stray ratio is largest against its limit, one that fails for certain before all
// others, be it without what is not known of it. Duties that cannot be computed are reported as undecided, each reason once.
func worstDuty(run *engine.Run, s *layout.Sensor) (probe.Stray, *layout.Duty) {
	var worst probe.Stray
	var at *layout.Duty
	top, idle, fails := -1.0, 0, false
	told := ""
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		r, err := run.Model.Stray(s, d)
		if err == nil && r.OwnA == 0 && r.StrayA.High > 0 {
			err = &field.Unknown{Reason: fmt.Sprintf("others carry a current in a duty in which %s carries none, and nothing says what their stray is to be held against: add needs.%s.range",
				run.Layout.ReadName(s), s.ID)}
		}
		if err != nil && !(r.Ratio.Low > strayLimit(run, s, d).Value) {
			if told != err.Error() { // one reason for many duties is said once
				undecided(run, s, d.ID, err)
			}
			told = err.Error()
			continue
		}
		if r.OwnA == 0 {
			idle++
			continue
		}
		limit := strayLimit(run, s, d).Value
		use, sure := r.Ratio.High/limit, r.Ratio.Low > limit
		if math.IsNaN(use) {
			use = math.Inf(1)
		}
		if sure && !fails || sure == fails && (at == nil || bounded.Leads(use, d.ID, top, at.ID)) {
			worst, at, top, fails = r, d, use, sure
		}
	}
	if idle == len(run.Layout.Duties) {
		run.Without(s.ID, s.Span, currentKey(run, s, "continuous"),
			"neither what it reads nor another circuit carries a current in any duty")
	}
	return worst, at
}

func others(run *engine.Run, s *layout.Sensor, largest layout.CircuitIndex) []string {
	out := []string{run.Layout.Bars[s.Reads].ID}
	if largest != layout.None {
		out = append(out, run.Layout.Circuits[largest].ID)
	}
	return out
}

func strayWords(run *engine.Run, d *layout.Duty, r probe.Stray) []string {
	out := []string{fmt.Sprintf("That is %s of %s", si.Format(r.StrayA.Value, "A"), si.Format(r.OwnA, "A"))}
	if r.Largest != layout.None {
		out = append(out, fmt.Sprintf("Most comes from %s", run.Layout.CircuitName(r.Largest)))
	}
	if !r.OwnIdle && r.View != "fundamental" && r.View != "direct" {
		out = append(out, fmt.Sprintf("It is worst in its %s", r.View))
	}
	if r.WorstCase.Value > r.Ratio.Value*1.001 {
		out = append(out, fmt.Sprintf("At the worst phases it is %s", si.Percent(r.WorstCase.Value)))
	}
	if d.ThreePhase != nil && !r.OwnIdle {
		out = append(out, fmt.Sprintf("The amplitude changes by %s, the phase by %+.2f deg", signedPercent(r.Amplitude), r.PhaseRad*180/math.Pi))
		if sum, ok := falseSum(run, d); ok {
			out = append(out, fmt.Sprintf("The false sum of the three is %s", si.Percent(sum)))
		}
	}
	return out
}

func signedPercent(v float64) string {
	if v > 0 {
		return "+" + si.Percent(v)
	}
	return si.Percent(v)
}

// falseSum returns the sum that three sensors report for a balanced set, when
// each circuit of the set has one.
func falseSum(run *engine.Run, d *layout.Duty) (float64, bool) {
	b, err := run.Model.Balanced(d.ThreePhase)
	return b.FalseSum.Value, err == nil
}

// shares says for each other circuit what an equal current does to the sensor.
func shares(run *engine.Run, s *layout.Sensor) []finding.Related {
	list, err := run.Model.CircuitShares(s)
	if err != nil {
		return nil
	}
	var out []finding.Related
	for _, b := range list {
		out = append(out, finding.Related{Span: run.Layout.Circuits[b.Circuit].Span, Message: fmt.Sprintf(
			"%s: %s per 100 A at the sensor, %s of it on the axis: %s at equal currents; each degree of tilt lets in %s more",
			run.Layout.CircuitName(b.Circuit), si.Format(100*b.FieldT, "T"), si.Format(100*b.AxisT, "T"),
			si.Percent(b.Ratio.Value), si.Percent(b.PerTiltDeg))})
	}
	return out
}
