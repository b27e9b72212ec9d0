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
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// SensorAxis reports a sensor whose axis lies too far from its own bar's field,
// and names the axis that reads most and the one that is blind to the strongest
// neighbour.
//
//	Quantity  |B_own·u| / |B_own|, pure number; of an array Σ|w·B·u| / Σ|w·B| over its elements, each in the field at its
//	          place, and |Σ w·B·u| / Σ|w·B·u|, which is 0 where its weights cancel all of its own circuit
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
		Key: "least", Unit: "1", Default: 0.94, AtLeast: true,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the own field"},
		Reason: "common practice: within twenty degrees of the own field",
	}, {
		Key: "kept", Unit: "1", Default: 0.02, AtLeast: true,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of what its elements get"},
		Reason: "common practice: below it, one per cent between elements is half of the reading of an array",
	}},
	Check:    checkSensorAxis,
	OfFields: true,
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
		if math.IsNaN(a.OwnT) {
			run.Undecided(s.ID, s.Span, "", "cannot be judged. The field of %s is not known there", run.Layout.ReadName(s))
			return
		}
		if !(a.OwnT > 0) {
			run.FailFor(BlindCause, finding.Error, s.ID, s.At.Span, nil, "",
				"stands where the field of %s is zero. No axis reads it", run.Layout.ReadName(s))
			run.Ways(func() remedy.Ways { return betterPlace(run, i, run.Limit("least", s.ID), share) })
			return
		}
		if len(s.Array) > 0 {
			judgeArray(run, s, &a)
			return
		}
		if s.Pair != nil && engine.Decide(a.Kept, run.Limit("kept", s.ID).Value, true) != finding.Pass {
			judgeKept(run, s, &a, "its difference leaves", s.Pair.Span)
		}
		limit := run.Limit("least", s.ID)
		why := []string{fmt.Sprintf("That field points to %s there", degrees(a.BestRad))}
		if a.Neighbour != layout.None {
			why = append(why, fmt.Sprintf("At %s it would be blind to %s and read %s",
				degrees(a.QuietRad), run.Layout.CircuitName(a.Neighbour), si.Percent(a.QuietLoss)))
		}
		level, cause, says := finding.None, "", "the axis reads"
		if a.Share.High < blind {
			level, cause, says = finding.Error, BlindCause, "reads nothing: the axis takes"
		}
		run.Judge(engine.Case{
			Level: level, Cause: cause, Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Span: s.Axis.Span,
			Found: a.Share, Limit: limit, Says: says, Rest: "of the field of " + run.Layout.ReadName(s), Why: why,
			Ways: func() remedy.Ways {
				// To turn comes before to move: the place may be right.
				ways := betterAmong(run, i, limit, share, remedy.Turns).
					Then(betterPlace(run, i, limit, share))
				ways.Also = "turn it to the best axis, " + degrees(a.BestRad)
				if a.Share.Value > 1e-6 {
					ways.Also += fmt.Sprintf(", with %.3g times the output", 1/a.Share.Value)
				}
				return ways
			},
		})
	})
}

// judgeArray judges the axes of the elements of an array together, and whether its weights leave anything of its
// own circuit.
func judgeArray(run *engine.Run, s *layout.Sensor, a *probe.Alignment) {
	read, others := run.Layout.ReadName(s), []string{run.Layout.Bars[s.Reads].ID}
	e := &s.Array[a.Element]
	least := run.Limit("least", s.ID)
	var why []string
	if !(a.Share.Low >= least.Value) {
		why = []string{fmt.Sprintf("Element %d lies worst, where that field points to %s", a.Element+1, degrees(a.BestRad))}
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: others, Span: e.Axis.Span, Found: a.Share, Limit: least,
		Says: "the axes of its elements read", Rest: "of the field of " + read, Why: why,
		Remedy: func() string {
			return fmt.Sprintf("turn element %d to %s, or against it, as the sign of its weight wants", a.Element+1,
				degrees(a.BestRad))
		},
	})
	judgeKept(run, s, a, "its weights leave", s.Array[0].Span)
}

// judgeKept judges what several elements together leave of what each of them gets, which leaves says in words.
func judgeKept(run *engine.Run, s *layout.Sensor, a *probe.Alignment, leaves string, at span.Span) {
	read, kept := run.Layout.ReadName(s), run.Limit("kept", s.ID)
	var why []string
	if a.Kept.High < kept.Value {
		why = []string{"It is blind to its own circuit"}
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: "blind", Span: at, Found: a.Kept, Limit: kept,
		Says: leaves, Rest: "of what its elements get of " + read, Why: why,
		Remedy: func() string { return "turn an axis round, change the sign of a weight, or move the elements apart" },
	})
}

// degrees prints an angle from 0 to 360 degrees.
func degrees(rad float64) string {
	const fine = 1e9 // parts of a degree: below lies round-off
	return si.Format(math.Mod(math.Round(rad*180/math.Pi*fine)/fine+360, 360), "deg")
}
