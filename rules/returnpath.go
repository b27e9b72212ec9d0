package rules

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// ReturnPath reports a duty whose currents do not sum to zero although the
// layout does not say that the return is far away.
//
//	Quantity  |sum of the bars' currents| over the largest current of a circuit, per frequency of the duty, pure number; where the
//	          sum is the whole current of one circuit, that one has no return, however small it is beside others
//	Formula   phasor sum
//	Valid     undecided where a circuit carries no more than a sum that rounding of the largest current may leave: its return may be missing
//	Source    charge is conserved: what flows out along z comes back somewhere
//	Not seen  a return that is declared far but is not
var ReturnPath = engine.Rule{
	ID:    "return-path",
	Title: "the currents of a duty do not come back",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "residue", Unit: "1", Default: 1e-3,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the largest current"},
		Reason: "rounding of declared currents; a real return shows as much more",
	}},
	NotOfChannels: true,
	Check:         checkReturnPath,
}

func checkReturnPath(run *engine.Run) {
	limit := run.Limit("residue", "")
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		all := probe.ResiduesOf(run.Layout, d)
		worst, _ := probe.LargestResidue(all, func(*probe.Residue) bool { return true })
		lost, anyLost := probe.LargestResidue(all, func(r *probe.Residue) bool { return len(r.Lost) > 0 })
		open, anyOpen := probe.LargestResidue(all, func(r *probe.Residue) bool { return len(r.Small) > 0 })
		small := worst.Share <= limit.Value && !run.Layout.Surroundings.ReturnFar
		switch {
		case small && anyLost:
			run.Fail(d.ID, d.Span, nil, `add the bar that carries the current back, or say "return: far" under surroundings`,
				"currents sum to %s of the largest, and nothing carries back that of %s. That is all of it, %s",
				si.Percent(lost.Share), circuitNames(run.Layout, lost.Lost), lost.Role)
		case small && anyOpen:
			run.Undecided(d.ID, d.Span, "", "currents sum to %s, and nothing says whether it comes back. That is no less than %s carries, %s, and rounding of the largest may leave it",
				si.Format(open.SumA, "A"), circuitNames(run.Layout, open.Small), open.Role)
		case worst.Share <= limit.Value:
			run.Pass(d.ID, d.Span, "currents sum to zero within %s of the largest", si.Percent(limit.Value))
		case run.Layout.Surroundings.ReturnFar:
			run.Pass(d.ID, d.Span, "currents sum to %s, %s. The return is declared far",
				si.Format(worst.SumA, "A"), worst.Role)
		default:
			run.Fail(d.ID, d.Span, nil, `add the bar that carries the current back, or say "return: far" under surroundings`,
				"currents sum to %s of the largest, limit %s. They are %s, %s. Nothing in the layout carries them back",
				si.Percent(worst.Share), engine.ShowLimit(limit.Value, "1"), si.Format(worst.SumA, "A"), worst.Role)
		}
	}
}

// circuitNames names circuits for people.
func circuitNames(l *layout.Layout, list []layout.CircuitIndex) string {
	var names []string
	for _, c := range list {
		names = append(names, l.CircuitName(c))
	}
	return word.And(names)
}
