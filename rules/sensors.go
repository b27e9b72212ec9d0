package rules

import (
	"fmt"

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

// partKey is the key of the layout that names the part of s.
func partKey(s *layout.Sensor) string { return fmt.Sprintf("sensors.%s.part", s.ID) }

// currentKey is what to add so that a duty of the given kinds gives s a current to read.
func currentKey(run *engine.Run, s *layout.Sensor, kinds string) string {
	return fmt.Sprintf("a current of %s to a %s duty under duties", run.Layout.ReadName(s), kinds)
}

// undecided reports that the field at a sensor is not known.
func undecided(run *engine.Run, s *layout.Sensor, cause string, err error) {
	run.Undecided(s.ID, s.Span, cause, "cannot be judged. %s", reason(err))
}

// reason is an error as a sentence of its own.
func reason(err error) string { return engine.Sentence(err.Error()) }

// betterPlace asks for the smallest change of place, axis or pitch that brings what
// measure gives to the limit.
func betterPlace(run *engine.Run, i layout.SensorIndex, limit engine.Bound, measure remedy.Measured) remedy.Ways {
	return betterAmong(run, i, limit, measure, remedy.Places)
}

// betterAmong is betterPlace among the given changes.
func betterAmong(run *engine.Run, i layout.SensorIndex, limit engine.Bound, measure remedy.Measured,
	changes func(*layout.Layout, layout.SensorIndex) []remedy.Change) remedy.Ways {
	return remedy.OfSensor(run.Model, remedy.Goal{
		Sensor: i, All: run.AllRemedies, Measure: measure, Limit: limit.Value, AtLeast: limit.AtLeast,
		Show: func(v float64) string { return engine.Show(v, limit.Unit) },
	}, changes)
}
