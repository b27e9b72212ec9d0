package rules

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Polarity reports a sensor whose output falls when the current of its bar
// rises, and names limits that differ between the two directions.
//
//	Quantity  sign of own flux density on the axis times sensitivity, per ampere along +z
//	Formula   B_own·u × sensitivity > 0
//	Valid     long bars; undecided where the sign is within the bound, or the field is not known
//	Source    common practice: positive current gives rising output
//	Not seen  a sign that firmware turns round on purpose
var Polarity = engine.Rule{
	ID:    "polarity",
	Title: "positive current gives falling output",
	Level: finding.Error,
	Check: checkPolarity,
}

func checkPolarity(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		f, err := run.Model.Field(0)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		own := f.PerAmpere(s, s.Reads)
		v, bound := real(own.Axis.V), own.Axis.Bound+1e-6*own.B.Norm()
		sense := 1.0
		part := run.Layout.PartOf(s)
		if part != nil && (part.SensitivityVPerT.V < 0 || part.SensitivityFromVPT.V < 0 || part.SensitivityToVPT.V < 0) {
			sense = -1 // all that are set have one sign
		}
		bar := run.Layout.Bars[s.Reads].ID
		switch {
		case math.Abs(v) <= bound:
			run.Undecided(s.ID, s.Axis.Span, "", "sensor %q reads nothing of bar %q: its axis lies across the field", s.ID, bar)
		case v*sense < 0:
			turned := math.Mod(math.Atan2(-s.Axis.U.Y, -s.Axis.U.X)*180/math.Pi+360, 360)
			run.Fail(s.ID, s.Axis.Span, []string{bar},
				fmt.Sprintf("turn the axis of %s by half a turn to %.4g deg, or turn the sign round in the readout and deviate from this rule", s.ID, turned),
				"output of sensor %q falls as the current of bar %q rises: %s on the axis per ampere", s.ID, bar, si.Format(v, "T"))
		default:
			run.Pass(s.ID, s.Axis.Span, "output of sensor %q rises with the current of bar %q: %s per ampere%s",
				s.ID, bar, si.Format(v, "T"), asymmetry(part, v))
		}
	})
}

// asymmetry names the current at each end of a range that is not symmetric.
func asymmetry(p *layout.Part, perAmpereT float64) string {
	if p == nil || !p.LinearHighT.Set || p.LinearHighT.V == -p.LinearLowT.V {
		return ""
	}
	a, b := p.LinearHighT.V/perAmpereT, p.LinearLowT.V/perAmpereT
	return fmt.Sprintf("; its range ends at %s and %s", si.Format(max(a, b), "A"), si.Format(min(a, b), "A"))
}
