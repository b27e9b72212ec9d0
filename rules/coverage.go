package rules

import (
	"math"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules/engine"
)

// Coverage says what no rule can judge, so that nothing which was left out looks like
// something that was found good.
//
//	Quantity  sensors and duties of a layout; largest current of a channel over all duties, A
//	Formula   a channel is judged where a duty gives what it reads a current; the peak is that of the waveform
//	Valid     always; it never fails: what is left out is undecided
//	Source    common practice: a check that looked at nothing is no check
//	Not seen  a duty that was forgotten beside others, a bar that should have a sensor
var Coverage = engine.Rule{
	ID:         "coverage",
	FaultsOnly: true,
	Title:      "nothing can be judged of a channel or of a layout",
	Level:      finding.Warning,
	Edition:    3,
	Check:      checkCoverage,
}

func checkCoverage(run *engine.Run) {
	l := run.Layout
	if len(l.Sensors) == 0 {
		run.Undecided("", l.Span, "sensors", "no sensor is declared, so that no channel is judged. Add sensors")
	}
	if len(l.Duties) == 0 {
		run.Undecided("", l.Span, "duties", "no duty is declared, so that no current flows. Add duties")
		return
	}
	if !flowing(run) {
		return
	}
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		top, duty := 0.0, ""
		for i := range l.Duties {
			// Written so that NaN counts as a current: rules on fields say why it is not known.
			if a := run.Model.OwnPeakA(s, &l.Duties[i]); !(a <= top) && !math.IsNaN(top) {
				top, duty = a, l.Duties[i].ID
			}
		}
		if duty == "" {
			run.Undecided(s.ID, s.Span, "",
				"reads no current in any duty, so that nothing is judged at its current. Add %s",
				currentKey(run, s, "continuous, peak or fault"))
			return
		}
		run.Pass(s.ID, s.Span, "reads its largest current in duty %q", duty)
	})
}

// flowing says of each duty without any current that it is none, and reports whether there
// is another.
func flowing(run *engine.Run) bool {
	any := false
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		cur := run.Model.Currents(d)
		topA := 0.0
		for c := range run.Layout.Circuits {
			// Written so that NaN counts as a current: rules on fields say why it is not known.
			if a := cur.Current(layout.CircuitIndex(c)).PeakAbs().High; !(a <= topA) {
				topA = a
			}
		}
		if topA == 0 {
			run.Undecided(d.ID, d.Span, "", "no current flows in this duty, so that nothing is judged in it. Give a bar or a circuit in its currents more than 0 A")
			continue
		}
		any = true
	}
	return any
}
