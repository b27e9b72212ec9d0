package rules

import (
	"strings"

	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/rules/engine"
)

// eachSensor calls do for every sensor in layout order.
func eachSensor(run *engine.Run, do func(layout.SensorIndex, *layout.Sensor)) {
	for i := range run.Layout.Sensors {
		do(layout.SensorIndex(i), &run.Layout.Sensors[i])
	}
}

// undecided reports that the field at a sensor is not known.
func undecided(run *engine.Run, s *layout.Sensor, cause string, err error) {
	run.Undecided(s.ID, s.Span, cause, "sensor %q cannot be judged: %v", s.ID, err)
}

// betterPlace asks for the smallest change of place, axis or pitch that brings what
// measure gives to the limit.
func betterPlace(run *engine.Run, i layout.SensorIndex, limit engine.Bound, measure remedy.Measured) string {
	return betterAmong(run, i, limit, measure, remedy.Places(run.Layout, i))
}

// betterAmong is betterPlace among the given changes.
func betterAmong(run *engine.Run, i layout.SensorIndex, limit engine.Bound, measure remedy.Measured, changes []remedy.Change) string {
	return remedy.OfSensor(run.Model, remedy.Goal{
		Sensor: i, All: run.AllRemedies, Measure: measure, Limit: limit.Value, AtLeast: limit.AtLeast,
		Show: func(v float64) string { return engine.Show(v, limit.Unit) },
	}, changes)
}

// either joins a change of place with another way out, which stands alone where
// no change of place does; way may be empty.
func either(change, way string) string {
	switch {
	case way == "":
		return change
	case change == "":
		return way
	case strings.HasPrefix(change, remedy.NoChange):
		return way + "; " + change
	}
	return change + "; or " + way
}
