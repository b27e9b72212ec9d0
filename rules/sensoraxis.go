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

// SensorAxis reports a sensor whose axis lies too far from its own bar's field,
// and names the axis that reads most and the one that is blind to the strongest
// neighbour.
//
//	Quantity  |B_own·u| / |B_own|, pure number
//	Formula   exact field of long bars at direct current
//	Valid     long bars; undecided where the field is not known
//	          An axis that reads less than a hundredth is an error: the sensor reads nothing
//	Source    common practice: within twenty degrees, cos 20° = 0.94, below which a degree of tilt costs over 0.6 %
//	Not seen  an axis that is turned on purpose to be blind to a neighbour: deviate from the rule then
var SensorAxis = engine.Rule{
	ID:    "sensor-axis",
	Title: "the axis of a sensor lies across its bar's field",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "least", Unit: "1", Default: 0.94, AtLeast: true, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the own field"},
		Reason: "common practice: within twenty degrees of the own field",
	}},
	Check: checkSensorAxis,
}

// blind is the share of the own field below which a sensor reads nothing of it: common
// practice, half a degree from the axis that is quite across.
const blind = 0.01

// BlindCause is the cause of a finding that a sensor reads nothing. All else that is said
// of it follows: see Folded.
const BlindCause = "blind"

func checkSensorAxis(run *engine.Run) {
	share := func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
		a, err := m.Alignment(s)
		return a.Share, err
	}
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		a, err := run.Model.Alignment(s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if !(a.OwnT > 0) {
			run.FailFor(BlindCause, finding.Error, s.ID, s.At.Span, nil, betterPlace(run, i, run.Limit("least", s.ID), share),
				"sensor %q stands where the field of %s is zero: no axis reads it", s.ID, run.Layout.ReadName(s))
			return
		}
		limit := run.Limit("least", s.ID)
		message := fmt.Sprintf("the axis of sensor %q reads %s of the field of %s, which points to %s there",
			s.ID, si.Percent(a.Share.Value), run.Layout.ReadName(s), degrees(a.BestRad))
		if a.Neighbour != layout.None {
			message += fmt.Sprintf(" (blind to %s at %s, where it would read %s)",
				run.Layout.CircuitName(a.Neighbour), degrees(a.QuietRad), si.Percent(a.QuietLoss))
		}
		level, cause := finding.None, ""
		if a.Share.High < blind {
			level, cause = finding.Error, BlindCause
			message = fmt.Sprintf("sensor %q reads nothing: %s", s.ID, message)
		}
		run.Judge(engine.Case{
			Level: level, Cause: cause, Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Span: s.Axis.Span,
			Found: a.Share, Limit: limit, Message: message,
			Remedy: func() string {
				// To turn comes before to move: the place may be right.
				turn := betterAmong(run, i, limit, share, remedy.Turns(run.Layout, i))
				if turn == remedy.NoChange {
					turn = betterPlace(run, i, limit, share)
				}
				return fmt.Sprintf("%s; the best axis is %s and gives %.3g times the output", turn,
					degrees(a.BestRad), 1/a.Share.Value)
			},
		})
	})
}

// degrees prints an angle from 0 to 360 degrees.
func degrees(rad float64) string {
	return si.Format(math.Mod(rad*180/math.Pi+360, 360), "deg")
}
