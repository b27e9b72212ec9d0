package rules

import (
	"fmt"
	"math"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Polarity reports a sensor whose output falls when the current of its bar
// rises, or whose number does behind an amplifier and firmware that are declared, and
// names limits that differ between the two directions.
//
//	Quantity  sign of own flux density on the axis times sensitivity, gain of the amplifier, declared slope of the
//	          firmware and step of the number, per ampere along +z
//	Formula   B_own·u × sensitivity × gain × slope > 0, each as far as it is declared
//	Valid     long bars; undecided where the sign is within the bound, or the field is not known
//	Source    common practice: positive current gives rising output
//	Not seen  a sign that firmware turns round and does not declare
var Polarity = engine.Rule{
	ID:    "polarity",
	Title: "positive current gives a falling output or number",
	Level: finding.Error,
	Check: checkPolarity,
}

func checkPolarity(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		f, err := run.Model.Field(0)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		own := f.Own(s)
		v, bound := real(own.Axis.V), own.Axis.Bound+own.Axis.Far+float64(1e-6*own.B.Norm())
		for _, e := range f.ElementOwn(s) {
			bound += float64(1e-9 * e.Abs().Value) // what cancels but for rounding
		}
		part := run.Layout.PartOf(s)
		turns := signsOf(run, s, part)
		bar := run.Layout.Bars[s.Reads].ID
		read := run.Layout.ReadName(s)
		switch {
		case !(math.Abs(v) > bound): // NaN too
			run.Undecided(s.ID, s.Axis.Span, "", "cannot be judged. %s",
				engine.Sentence(field.ReadsNothing(run.Layout, s, v)))
		case v*turns.sense < 0:
			turned := math.Mod(portable.Atan2(-s.Axis.U.Y, -s.Axis.U.X)*180/math.Pi+360, 360)
			turn := way{fmt.Sprintf("turn the axis of %s by half a turn to %.4g deg", s.ID, turned), func(l *layout.Layout) *layout.Layout {
				return l.WithSensor(i, s.Turned())
			}}
			if len(s.Array) > 0 {
				turn.text = fmt.Sprintf("change the sign of every weight of %s", s.ID)
			}
			run.Fail(s.ID, s.Axis.Span, []string{bar}, "",
				"its %s falls as the current of %s rises. The axis gets %s per ampere%s", turns.what, read,
				si.Format(v, "T"), turns.words)
			run.Ways(func() remedy.Ways { return waysOut(run, "", turn, turns.remedy(s)) })
		default:
			run.Pass(s.ID, s.Axis.Span, "its %s rises with the current of %s. The axis gets %s per ampere%s%s",
				turns.what, read, si.Format(v, "T"), turns.words, asymmetry(part, v))
		}
	})
}

// signs are what a chain makes of the sign of the field on its axis.
type signs struct {
	sense float64                          // +1 or -1
	what  string                           // that rises or falls: output or number
	words string                           // names what turns the sign round
	set   func(*layout.Stages) *layout.Num // what turns it round in the readout; nil: nothing that is declared
}

// signsOf follows the sign from the part to the last stage whose sign is declared.
func signsOf(run *engine.Run, s *layout.Sensor, p *layout.Part) signs {
	out := signs{sense: 1, what: "output"}
	turn := func(v float64, stage string) {
		if v < 0 {
			out.sense = -out.sense
			out.words += ", turned round by the " + stage
		}
	}
	if p != nil && (p.SensitivityVPerT.V < 0 || p.SensitivityFromVPT.V < 0 || p.SensitivityToVPT.V < 0) {
		out.sense = -1 // all that are set have one sign
	}
	r := run.Layout.ReadoutOf(s)
	if r.Amplifier.Gain.Set {
		out.what = "signal behind the amplifier"
		turn(r.Amplifier.Gain.V, "gain of the amplifier")
	}
	if r.Firmware.SlopeAPerCount.Set {
		out.what, out.set = "number", func(r *layout.Stages) *layout.Num { return &r.Firmware.SlopeAPerCount }
		turn(r.Firmware.SlopeAPerCount.V, "slope of the firmware")
	}
	if r.Number.PerCountA.Set {
		out.what = "number"
		turn(r.Number.PerCountA.V, "step of the number")
	}
	return out
}

// remedy returns the way to turn the sign round in the readout of s.
func (t *signs) remedy(s *layout.Sensor) way {
	if t.set == nil {
		return way{text: "turn the sign round in the readout (readout.firmware.slope)"}
	}
	return way{"turn the sign of readout.firmware.slope round", stagesAs(s, nil, func(r *layout.Stages) { t.set(r).V *= -1 })}
}

// asymmetry names the current at each end of a range that is not symmetric.
func asymmetry(p *layout.Part, perAmpereT float64) string {
	if p == nil || !p.LinearHighT.Set || p.LinearHighT.V == -p.LinearLowT.V {
		return ""
	}
	a, b := p.LinearHighT.V/perAmpereT, p.LinearLowT.V/perAmpereT
	return fmt.Sprintf(". Its range ends at %s and %s", si.Format(max(a, b), "A"), si.Format(min(a, b), "A"))
}
