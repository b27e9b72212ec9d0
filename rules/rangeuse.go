package rules

import (
	"fmt"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// RangeUse reports a sensor that uses too little of its linear range at the
// largest continuous current of its bar.
//
//	Quantity  own flux density on the axis at that current over the nearer end of the linear range, pure number; of a
//	          pair or an array the mean of its elements, each with its weight
//	Formula   |B_own·u| per ampere × largest peak of the own current in a continuous duty / range / Σ|weights|
//	Valid     long bars; undecided where the field is not known
//	Source    common practice: below a fifth of the range offset, noise and steps of the converter weigh fivefold and more
//	Not seen  a range that is chosen for the fault current on purpose
var RangeUse = engine.Rule{
	ID:    "range-use",
	Title: "a sensor uses too little of its linear range",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "least", Unit: "1", Default: 0.2, AtLeast: true, Of: finding.Share{Whole: finding.LinearRange},
		Reason: "common practice: below a fifth of the range offset and noise weigh more than fivefold",
		Need:   func(n *layout.Need) layout.Num { return n.RangeUse }, NeedKey: "range-use",
	}},
	Check:    checkRangeUse,
	OfFields: true,
}

func checkRangeUse(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		part := run.Layout.PartOf(s)
		if part == nil || !part.LinearHighT.Set {
			add := partKey(s)
			if part != nil {
				add = fmt.Sprintf("parts.%s.linear-range", part.ID)
			}
			run.Without(s.ID, s.Span, add, "has no linear range")
			return
		}
		at, topA, err := run.Model.LargestOwn(s, layout.Continuous)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if at == nil {
			run.Without(s.ID, s.Span, currentKey(run, s, "continuous"),
				"reads no continuous current")
			return
		}
		duty := at.ID
		end := min(part.LinearHighT.V, -part.LinearLowT.V)
		if !(end > 0) {
			run.Undecided(s.ID, s.Span, duty, "cannot be judged. The linear range of its part does not hold zero, and no bias field is known")
			return
		}
		share := func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
			return m.RangeUsed(s, topA)
		}
		found, err := share(run.Model, s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		limit := run.Limit("least", s.ID)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: duty, Span: s.At.Span,
			Found: found, Limit: limit,
			Says: "uses", Rest: "of its linear range", In: duty,
			Why: []string{fmt.Sprintf("That is %s of %s, at %s", si.Format(found.Value*end, "T"), si.Format(end, "T"), si.Format(topA, "A"))},
			Ways: func() remedy.Ways {
				ways := betterPlace(run, i, limit, withinRange(run, s, share, limit.Value))
				ways.Also = smallerPart(run, s, found.High*end, found.Low*end/limit.Value)
				return ways.Then(waysOut(run, "", otherParts(run, i)...).Saying(ways))
			},
		})
	})
}

// withinRange is share, but refuses a place where a sensor that stays in its
// linear range as drawn would leave it. That is looked at only where the share would pass, and not
// while a search leaves bounds out: what it finds is tried with them.
func withinRange(run *engine.Run, s *layout.Sensor, share remedy.Measured, least float64) remedy.Measured {
	leaves := func(m *probe.Model, s *layout.Sensor) bool {
		w, err := m.WorstRange(s)
		return err != nil || w.Open != nil || !(w.Share.High <= 1)
	}
	if leaves(run.Model, s) {
		return share
	}
	return func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
		found, err := share(m, s)
		if err == nil && !m.IsRough() && found.Low >= least && leaves(m, s) {
			err = &field.Unknown{Reason: "the sensor leaves its linear range"}
		}
		return found, err
	}
}

// smallerPart names the next range in the usual steps that holds every duty and
// the own field ownT alone, which other bars may hide, where it is small enough
// to be used to the least share: at most topT.
func smallerPart(run *engine.Run, s *layout.Sensor, ownT, topT float64) string {
	w, err := run.Model.WorstRange(s)
	if err != nil || w.Open != nil {
		return ""
	}
	leastT := max(w.FieldT, ownT)
	if next := roundUp(leastT); next <= topT {
		return "a part linear to " + si.Format(next, "T")
	}
	if leastT <= topT {
		return fmt.Sprintf("a part linear to between %s and %s", si.Format(leastT, "T"), si.Format(topT, "T"))
	}
	return ""
}
