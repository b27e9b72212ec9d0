package rules

import (
	"busgauss/model/waveform"
	"math/cmplx"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// ReturnPath reports a duty whose currents do not sum to zero although the
// layout does not say that the return is far away.
//
//	Quantity  |sum of the bars' currents| over the largest of them, per frequency of the duty, pure number
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
		Reason: "rounding of declared currents; a real return shows as much more",
	}},
	Check: checkReturnPath,
}

func checkReturnPath(run *engine.Run) {
	limit := run.Limit("residue", "")
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		worst, size, role := 0.0, 0.0, ""
		for _, c := range waveform.Of(run.Layout, d).Components {
			barsA, err := run.Model.BarsA(&c)
			if err != nil {
				run.Undecided(d.ID, d.Span, "", "the currents of duty %q cannot be summed: %v", d.ID, err)
				return
			}
			var sum complex128
			top := 0.0
			for _, a := range barsA {
				sum += a
				top = max(top, cmplx.Abs(a))
			}
			if r := cmplx.Abs(sum); top > 0 && r/top >= worst {
				worst, size, role = r/top, r, c.Role
			}
		}
		switch {
		case worst <= limit.Value:
			run.Pass(d.ID, d.Span, "the currents of duty %q sum to zero within %s of the largest", d.ID, si.Percent(limit.Value))
		case run.Layout.Surroundings.ReturnFar:
			run.Pass(d.ID, d.Span, "the currents of duty %q sum to %s (%s), and the return is declared far", d.ID, si.Format(size, "A"), role)
		default:
			run.Fail(d.ID, d.Span, nil, `add the bar that carries the current back, or say "return: far" under surroundings`,
				"the currents of duty %q sum to %s (%s, %s of the largest): nothing in the layout carries them back", d.ID,
				si.Format(size, "A"), role, si.Percent(worst))
		}
	}
}
