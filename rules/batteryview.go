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

// BatteryView reports a channel that counts the charge of a store and miscounts too
// much of it in a day.
//
//	Quantity  charge that the error at no current counts in 24 hours over the full charge, pure number
//	Formula   ΔQ = I · 24 h; I = |known errors| + expanded uncertainty (k = 2) at no own current, after the calibration that
//	          the layout declares: offset, drift, stray of other bars in the continuous duty where it is largest (without
//	          one in the peak duty), foreign fields. 0.5 A for ten hours on 100 Ah are 5 %
//	Valid     errors that stay the same for a day; steps and noise average out and do not count, nor do alternating stray
//	          and foreign fields. Undecided where a drift or a tolerance is not given
//	Source    charge is the integral of current; five per cent a day is common practice where a rest or a full charge sets
//	          the count right
//	Not seen  a zero that the controller takes at rest, charge that the store loses by itself, gain (its error cancels over
//	          a whole cycle)
var BatteryView = engine.Rule{
	ID:      "battery-view",
	Title:   "a charge count drifts away",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "per-day", Unit: "1", Default: 0.05,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the full charge"},
		Reason: "common practice: five per cent of full charge a day",
		Need:   func(n *layout.Need) layout.Num { return n.BatteryPerDay }, NeedKey: "battery.per-day",
	}},
	Needs: []engine.Need{{Key: "battery", Of: func(n *layout.Need) layout.Num { return n.BatteryChargeAs }}},
	Check: checkBatteryView,
}

func checkBatteryView(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		battery, ok := channel.BatteryFromLayout(run.Layout, s)
		if !ok {
			run.NotApplicable(s.ID, s.Span, "counts no charge")
			return
		}
		a, duty, err := worstIdle(run.Model, s)
		if err != nil {
			undecided(run, s, duty, err)
			return
		}
		o := a.AtOf(0, a.Declared, steady)
		if len(o.Missing) > 0 {
			run.Undecided(s.ID, s.Span, a.Duty, "its count of charge cannot be judged. Add %s", strings.Join(o.Missing, ", "))
			return
		}
		need, _ := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.BatteryPerDay })
		limit := run.Limit("per-day", s.ID).Over(need, "battery.per-day")
		found := bounded.Exact(battery.PerDay(o.TotalA).Share)
		found.Low = math.Min(found.Value, battery.PerDay(a.AtOf(0, a.Declared, func(n *channel.AccuracyLine) bool { return steady(n) && notField(n) }).TotalA).Share)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: a.Duty, Span: s.Span, Found: found, Limit: limit,
			Says: "miscounts up to", Rest: "of the full charge a day", In: a.Duty,
			Why: append(append([]string{
				fmt.Sprintf("That is %s of %s", ampereHours(battery.PerDay(o.TotalA).Ah), ampereHours(battery.ChargeAh)),
				fmt.Sprintf("It may be %s off at no current of its own %s", si.Format(o.TotalA, "A"), a.Declared),
				besides(a),
			}, shareOfDay(a, battery)...), fmt.Sprintf("Each per cent of gain adds %s to a full discharge", ampereHours(battery.Cycle(0.01).Ah))),
			Remedy: func() string { return batteryRemedy(a, battery, limit.Value, o) },
		})
	})
}

// worstIdle returns the accuracy in the continuous duty, without one in the peak duty, in which the channel is
// furthest off at no current of its own, or the duty that cannot be computed.
func worstIdle(m *probe.Model, s *layout.Sensor) (*channel.Accuracy, string, error) {
	var worst *channel.Accuracy
	top := math.Inf(-1)
	kind := layout.Peak // where nothing is said of what flows all day
	for i := range m.Layout.Duties {
		if m.Layout.Duties[i].Kind == layout.Continuous {
			kind = layout.Continuous
		}
	}
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind != kind {
			continue
		}
		a, err := channel.AccuracyOf(m, s, d)
		if err != nil {
			return nil, d.ID, err
		}
		if v := a.AtOf(0, a.Declared, steady).AtLeastA; worst == nil || bounded.Leads(v, a.Duty, top, worst.Duty) {
			worst, top = a, v
		}
	}
	if worst != nil {
		return worst, "", nil
	}
	a, err := channel.AccuracyOf(m, s, nil)
	return a, "", err
}

// steady counts lines that add up over a day.
func steady(n *channel.AccuracyLine) bool {
	return n.Group != channel.GroupRandom && n.Group != channel.GroupForm && !n.Alternating
}

// shareOfDay tells which part offset, drift, stray and foreign fields have.
func shareOfDay(a *channel.Accuracy, battery channel.Battery) []string {
	var words []string
	for _, one := range []struct {
		name   string
		groups []channel.Group
	}{
		{"Offset", []channel.Group{channel.GroupZero, channel.GroupGain, channel.GroupBench}},
		{"Drift", []channel.Group{channel.GroupDrift}},
		{"Stray", []channel.Group{channel.GroupStray, channel.GroupLetIn}},
		{"Foreign fields", []channel.Group{channel.GroupForeign}},
	} {
		in := channel.InGroups(one.groups...)
		o := a.AtOf(0, a.Declared, func(n *channel.AccuracyLine) bool { return in(n) && steady(n) })
		c := battery.PerDay(o.TotalA)
		words = append(words, fmt.Sprintf("%s: %s (%s)", one.name, ampereHours(c.Ah), si.Percent(c.Share)))
	}
	return words
}

// besides names the duty whose stray is counted.
func besides(a *channel.Accuracy) string {
	if a.Duty == "" {
		return ""
	}
	return fmt.Sprintf("Other bars count as in duty %q all day", a.Duty)
}

func ampereHours(ah float64) string { return si.FormatDigits(ah, "Ah", 3) }

func batteryRemedy(a *channel.Accuracy, battery channel.Battery, limit float64, o channel.Outcome) string {
	for _, after := range channel.Afters() {
		if after <= a.Declared {
			continue
		}
		if share := battery.PerDay(a.AtOf(0, after, steady).TotalA).Share; share <= limit {
			return fmt.Sprintf("calibrate: %s it is %s a day", after, si.Percent(share))
		}
	}
	hours := battery.HoursUntil(limit, o.TotalA)
	return fmt.Sprintf("set the count right every %s, at a full charge or at rest, or take less of the largest cause: %s", si.Format(hours, "h"), o.Ranked[0].Name)
}
