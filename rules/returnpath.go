package rules

import (
	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// ReturnPath reports a duty whose currents do not sum to zero although the
// layout does not say that the return is far away.
//
//	Quantity  |sum of the bars' currents| over the largest current of a circuit, per frequency of the duty, pure number
//	Formula   phasor sum
//	Valid     always
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
	Check: checkReturnPath,
}

func checkReturnPath(run *engine.Run) {
	limit := run.Limit("residue", "")
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		worst := probe.ResidueOf(run.Layout, d)
		switch {
		case worst.Share <= limit.Value:
			run.Pass(d.ID, d.Span, "the currents of duty %q sum to zero within %s of the largest", d.ID, si.Percent(limit.Value))
		case run.Layout.Surroundings.ReturnFar:
			run.Pass(d.ID, d.Span, "the currents of duty %q sum to %s (%s), and the return is declared far", d.ID,
				si.Format(worst.SumA, "A"), worst.Role)
		default:
			run.Fail(d.ID, d.Span, nil, `add the bar that carries the current back, or say "return: far" under surroundings`,
				"the currents of duty %q sum to %s (%s, %s of the largest): nothing in the layout carries them back", d.ID,
				si.Format(worst.SumA, "A"), worst.Role, si.Percent(worst.Share))
		}
	}
}
