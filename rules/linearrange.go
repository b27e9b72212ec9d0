package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// LinearRange reports a sensor whose element leaves its linear range in a duty,
// or at the largest current that the layout claims for the channel.
//
//	Quantity  flux density on the axis over the end of the linear range on that side, pure number; for a pair
//	          each element alone, common field included
//	Formula   all bars together over the period of the duty: direct part, fundamental and harmonics in phase,
//	          ripple at its worst phase; worst of the middles, edges and corners of the placement tolerances
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
	Needs: []engine.Need{{Key: "range", Of: func(n *layout.Need) layout.Num { return n.RangeA }}},
	Check: checkLinearRange,
}

func checkLinearRange(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		part := run.Layout.PartOf(s)
		if part == nil || !part.LinearHighT.Set {
			run.Undecided(s.ID, s.Span, "", "sensor %q has no linear range: name a part that declares one", s.ID)
			return
		}
		if !(part.LinearLowT.V < 0 && part.LinearHighT.V > 0) {
			run.Undecided(s.ID, s.Span, "", "sensor %q cannot be judged: the linear range of its part does not hold zero, and no bias field is known", s.ID)
			return
		}
		worst, err := worstRange(run.Model, s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if worst.what == "" {
			run.NotApplicable(s.ID, s.Span, "no duty gives a current that sensor %q could see", s.ID)
			return
		}
		limit := run.Limit("share", s.ID)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: worst.what, Span: s.At.Span,
			Found: worst.share, Limit: limit,
			Message: fmt.Sprintf("sensor %q sees %s in %s, linear to %s%s: %s of the range", s.ID,
				si.Format(worst.fieldT, "T"), worst.what, si.Format(worst.endT, "T"), fullAt(run, s, part),
				si.Percent(worst.share.Value)),
			Related: []finding.Related{{Span: part.LinearHighT.Span, Message: "the linear range is declared here"}},
			Remedy: func() string {
				r := betterPlace(run, i, limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
					w, err := worstRange(m, s)
					return w.share, err
				})
				end := roundUp(worst.share.High * worst.endT / limit.Value)
				return either(r, fmt.Sprintf("a part linear to %s, with %s less output per ampere for the same swing",
					si.Format(end, "T"), si.Percent(1-worst.endT/end)))
			},
		})
	})
}

// fullAt says at which own current the range ends, when that can be said.
func fullAt(run *engine.Run, s *layout.Sensor, p *layout.Part) string {
	perA, err := run.Model.OwnPerAmpere(s)
	if err != nil || !(perA.Value > 0) {
		return ""
	}
	end := math.Min(p.LinearHighT.V, -p.LinearLowT.V)
	return fmt.Sprintf(", full at %s of its bar alone", si.Format(end/perA.Value, "A"))
}

// roundUp returns the next number of the series 1, 1.5, 2, 3, 4, 5, 6, 8, 10 times
// a power of ten: ranges come in such steps.
func roundUp(v float64) float64 {
	if !(v > 0) {
		return v
	}
	decade := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if v <= k*decade*(1+1e-9) {
			return k * decade
		}
	}
	return 10 * decade
}

// rangeUse is the worst use of a linear range: what was asked, the field, the
// end of the range it stands against, and the share.
type rangeUse struct {
	what         string
	fieldT, endT float64
	share        bounded.Estimate
}

// worstRange returns the largest share of the linear range over all duties, at
// the worst placement, and at the current that the layout claims.
func worstRange(m *probe.Model, s *layout.Sensor) (rangeUse, error) {
	var worst rangeUse
	part := m.Layout.PartOf(s)
	keep := func(what string, w probe.Swing) {
		for _, side := range []struct {
			end   bounded.Estimate
			limit float64
		}{{w.High, part.LinearHighT.V}, {w.Low.Scale(-1), -part.LinearLowT.V}} {
			// Written so that NaN counts as the worst.
			if share := side.end.Scale(1 / side.limit); !(share.High <= worst.share.High) && !math.IsNaN(worst.share.High) {
				worst = rangeUse{what, side.end.Value, side.limit, share}
			}
		}
	}
	places := m.WithinTolerance(s)
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		placed, err := m.PlacedSwings(s, d)
		if err != nil {
			return rangeUse{}, err
		}
		for _, swings := range placed {
			for _, w := range swings {
				keep(fmt.Sprintf("%s duty %q", d.Kind, d.ID), w)
			}
		}
	}
	if claim, ok := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		f, err := m.Field(0)
		if err != nil {
			return rangeUse{}, err
		}
		for p := range places {
			for _, e := range f.ElementOwn(&places[p]) {
				top := e.Abs().Scale(claim.V)
				keep(fmt.Sprintf("the claimed range of %s", si.Format(claim.V, "A")), probe.Swing{Low: top.Scale(-1), High: top})
			}
		}
	}
	return worst, nil
}
