package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// LinearRange reports a sensor whose element leaves its linear range in a duty,
// or at the largest current that the layout claims for the channel.
//
//	Quantity  flux density on the axis over the end of the linear range on that side, pure number; for a pair or an
//	          array each element alone, common field included
//	Formula   all bars together over the period of the duty: direct part, fundamental and harmonics in phase,
//	          ripple at its worst phase; the Earth's field and every declared foreign source on top at its worst sign;
//	          worst of the middles, edges and corners of the placement tolerances; the larger end of each tolerance of
//	          bars, shields and materials added
//	Valid     long bars; where the field of a duty is not known the rule is undecided
//	Source    the linear range is the part's own datum; a limit of 100 % needs no other source
//	Not seen  heating of the part, clipping behind the element
var LinearRange = engine.Rule{
	ID:    "linear-range",
	Title: "the field drives a sensor out of its linear range",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 1, Of: finding.Share{Whole: finding.LinearRange},
		Reason: "the end of the range that the part declares",
	}},
	Needs:    []engine.Need{{Key: "range", Of: func(n *layout.Need) layout.Num { return n.RangeA }}},
	Check:    checkLinearRange,
	OfFields: true,
}

func checkLinearRange(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		part := run.Layout.PartOf(s)
		if part == nil || !part.LinearHighT.Set {
			run.Undecided(s.ID, s.Span, "", "has no linear range. Name a part that declares one")
			return
		}
		if !(part.LinearLowT.V < 0 && part.LinearHighT.V > 0) {
			run.Undecided(s.ID, s.Span, "", "cannot be judged. The linear range of its part does not hold zero, and no bias field is known")
			return
		}
		worst, err := run.Model.WorstRange(s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if !worst.Asked() {
			run.NotApplicable(s.ID, s.Span, "no duty gives a current that it could see")
			return
		}
		limit := run.Limit("share", s.ID)
		what := askedBy(&worst)
		if worst.Open != nil && engine.Decide(worst.Share, limit.Value, false) != finding.Fail {
			undecided(run, s, what, worst.Open)
			return
		}
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: what, Span: s.At.Span,
			Found: worst.Share, Limit: limit,
			Says: "the field takes", Rest: "of the linear range" + claimWords(&worst), In: dutyName(worst.Duty),
			Why: []string{fmt.Sprintf("It sees %s in %s", si.Format(worst.FieldT, "T"), what),
				fmt.Sprintf("It is linear to %s", si.Format(worst.EndT, "T")), foreignWords(&worst), fullAt(run, s),
				ifOffset(run.Layout, worst.Share, func(d *layout.Duty) (bounded.Estimate, error) {
					r, err := run.Model.RangeIn(s, d)
					return r.Share, err
				})},
			Related: []finding.Related{{Span: part.LinearHighT.Span, Message: "the linear range is declared here"}},
			Ways: func() remedy.Ways {
				ways := betterPlace(run, i, limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
					w, err := m.WorstRange(s)
					if err == nil {
						err = w.Open
					}
					return w.Share, err
				})
				end := roundUp(worst.Share.High * worst.EndT / limit.Value)
				ways.Also = fmt.Sprintf("a part linear to %s, with %s less output per ampere for the same swing",
					si.Format(end, "T"), si.Percent(1-worst.EndT/end))
				return ways.Then(waysOut(run, "", otherParts(run, i)...).Saying(ways))
			},
		})
	})
}

// askedBy says what asks for a field.
func askedBy(r *probe.RangeTaken) string {
	if r.Duty != nil {
		return asks(r.Duty)
	}
	return fmt.Sprintf("the claimed range of %s", si.Format(r.ClaimA, "A"))
}

// claimWords ends a first sentence where no duty asks for a field.
func claimWords(r *probe.RangeTaken) string {
	if r.Duty != nil {
		return ""
	}
	return fmt.Sprintf(" at the claimed %s", si.Format(r.ClaimA, "A"))
}

// foreignWords says how much of a field comes from outside the bars.
func foreignWords(r *probe.RangeTaken) string {
	if r.ForeignT == 0 {
		return ""
	}
	return fmt.Sprintf("Foreign fields make %s of it", si.Format(r.ForeignT, "T"))
}

// fullAt says at which own current alone the range of an element ends, when that can be said.
func fullAt(run *engine.Run, s *layout.Sensor) string {
	full, err := run.Model.FullAtA(s)
	if err != nil || !finite(full.Value) {
		return ""
	}
	return fmt.Sprintf("It is full at %s of %s alone", si.Format(full.Value, "A"), run.Layout.ReadName(s))
}

// roundUp returns the next number of the series 1, 1.5, 2, 3, 4, 5, 6, 8, 10 times
// a power of ten: ranges come in such steps.
func roundUp(v float64) float64 {
	if !(v > 0) {
		return v
	}
	decade := portable.Pow(10, math.Floor(portable.Log10(v)))
	for _, k := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if v <= k*decade*(1+1e-9) {
			return k * decade
		}
	}
	return 10 * decade
}
