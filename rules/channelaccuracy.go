package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// ChannelAccuracy reports a channel whose number may be further off than it is allowed
// to be.
//
//	Quantity  (|sum of known errors| + expanded uncertainty, k = 2) at full range over full range, pure number, after the
//	          calibration that the layout declares, in the continuous or peak duty where it is largest
//	Formula   uncertainty budget: sensitivity coefficients by differences of the field model and of the chain, combined by
//	          root sum of squares, lines of one cause (temperature, one shift of the board, one tolerance of a bar, shield or
//	          material) with sign; stray of bars in step with the own current, frequency and a wrong constant are known errors,
//	          which nobody takes out; after a matrix the errors of the channels whose numbers it subtracts
//	Valid     to first order, and to second order for a shifted sensor; other bars keep their currents of the duty at every
//	          reading; a zero is taken on the bench, so the Earth's field counts twice. The temperature of a bar does not
//	          change the field of a direct current. Undecided where a tolerance or a drift is not given
//	Source    JCGM 100:2008 (GUM), clauses 4.3, 5 and 6, known errors by F.2.4.5; k = 2 is about 95 %
//	Not seen  lag (see response); a zero that the controller takes in use; heat of the bar in the part beyond the range of
//	          temperature given; stress of the housing
var ChannelAccuracy = engine.Rule{
	ID:      "channel-accuracy",
	Title:   "a channel is not as accurate as it must be",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: five per cent; asked only of channels whose accuracy a need or a house standard names",
		Need:   func(n *layout.Need) layout.Num { return n.Accuracy }, NeedKey: "accuracy",
	}},
	Check: checkChannelAccuracy,
}

func checkChannelAccuracy(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		need, _ := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.Accuracy })
		limit := run.Limit("share", s.ID).Over(need, "accuracy")
		if limit.IsDefault() {
			run.NotApplicable(s.ID, s.Span, "no need says how accurate it must be")
			return
		}
		a, d, err := worstAccuracy(run.Model, s)
		if err != nil {
			undecided(run, s, d, err)
			return
		}
		judgeAccuracy(run, s, a, limit)
	})
}

// worstAccuracy returns the accuracy of s in the continuous or peak duty where it is
// worst after the declared calibration, or the duty that cannot be computed.
func worstAccuracy(m *probe.Model, s *layout.Sensor) (*channel.Accuracy, string, error) {
	// With data missing, what is known still ranks the duties.
	return worstBy(m, s, func(a *channel.Accuracy) float64 { return a.At(a.FullA, a.Declared).AtLeastA })
}

// worstBy is worstAccuracy for the duty in which measure is largest.
func worstBy(m *probe.Model, s *layout.Sensor, measure func(*channel.Accuracy) float64) (*channel.Accuracy, string, error) {
	list, d, err := channel.Accuracies(m, s)
	if err != nil {
		if d == nil {
			return nil, "", err
		}
		return nil, d.ID, err
	}
	var worst *channel.Accuracy
	top := math.Inf(-1)
	for _, a := range list {
		if v := measure(a); worst == nil || bounded.Leads(v, a.Duty, top, worst.Duty) {
			worst, top = a, v
		}
	}
	return worst, "", nil
}

// doubt is the share that must be left of an accuracy without the doubt of the field
// model; below it a finer field is asked for.
const doubt = 0.95

// notField leaves the doubts of the field model out.
func notField(n *channel.AccuracyLine) bool { return !n.Field }

func judgeAccuracy(run *engine.Run, s *layout.Sensor, a *channel.Accuracy, limit engine.Bound) {
	smallest, _ := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.SmallestCurrentA })
	table := a.Table(smallest.V)
	o := a.At(a.FullA, a.Declared)
	found := bounded.Exact(o.TotalA / a.FullA)
	// What a finer field may take away does not fail a channel.
	if least := a.AtOf(a.FullA, a.Declared, notField).TotalA / a.FullA; least < found.Low {
		found.Low = least
		if least < doubt*found.Value {
			run.Finer()
		}
	}
	says, offA := "off by up to", o.TotalA
	if len(o.Missing) > 0 {
		least := a.AtOf(a.FullA, a.Declared, notField).AtLeastA / a.FullA
		if !(least > limit.Value) {
			run.UndecidedTable(s.ID, s.Span, a.Duty, table, "accuracy not known, over %s of %s by what is known%s. Add %s",
				si.Percent(o.AtLeastA/a.FullA), si.Format(a.FullA, "A"), inDuty(a.Duty), strings.Join(o.Missing, ", "))
			return
		}
		found, says, offA = bounded.Exact(least), "off by at least", least*a.FullA
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: a.Duty, Span: s.Span,
		Found: found, Limit: limit, Details: table, Says: says,
		Rest: fmt.Sprintf("of %s %s", si.Format(a.FullA, "A"), a.Declared), In: a.Duty, Why: accuracyWords(o, offA),
		Remedy: func() string { return betterAccuracy(a, limit.Value) },
	})
}

// accuracyWords names the three largest contributors, and what is missing.
func accuracyWords(o channel.Outcome, offA float64) []string {
	out := []string{fmt.Sprintf("That is %s", si.Format(offA, "A"))}
	if len(o.Missing) == 0 {
		out[0] += " at k = 2"
		out = append(out, fmt.Sprintf("The worst case is %s", si.Format(o.WorstA, "A")))
	}
	for _, c := range o.Ranked[:min(3, len(o.Ranked))] {
		out = append(out, fmt.Sprintf("%s: %s", engine.Sentence(c.Name), si.Format(math.Abs(c.AmountA), "A")))
	}
	if len(o.Missing) > 0 {
		out = append(out, "It would be worse with what is not given: "+strings.Join(o.Missing, ", "))
	}
	return out
}

// inDuty is the end of a first sentence that names a duty, if there is one.
func inDuty(duty string) string {
	if duty == "" {
		return ""
	}
	return fmt.Sprintf(", in %q", duty)
}

// betterAccuracy names the first calibration that passes, else what the largest
// contributor may be.
func betterAccuracy(a *channel.Accuracy, limit float64) string {
	limitA := limit * a.FullA
	for _, after := range channel.Afters() {
		if after <= a.Declared {
			continue
		}
		if o := a.At(a.FullA, after); o.TotalA <= limitA {
			return fmt.Sprintf("calibrate: %s it is %s", after, si.Percent(o.TotalA/a.FullA))
		}
	}
	o := a.At(a.FullA, a.Declared)
	if len(o.Ranked) == 0 {
		return "a part or a converter with smaller tolerances"
	}
	best := o.Ranked[0]
	rest := a.AtOf(a.FullA, a.Declared, func(n *channel.AccuracyLine) bool { return !isLineOf(a, best, n) }).AtLeastA
	if rest <= limitA {
		return fmt.Sprintf("less of %q: without it the channel is within %s", best.Name, si.Percent(rest/a.FullA))
	}
	return fmt.Sprintf("no calibration and no single cause is enough: without its largest, %q, the channel is still %s off", best.Name, si.Percent(rest/a.FullA))
}

func isLineOf(a *channel.Accuracy, c channel.Contributor, n *channel.AccuracyLine) bool {
	for _, i := range c.Lines {
		if &a.Lines[i] == n {
			return true
		}
	}
	return false
}
