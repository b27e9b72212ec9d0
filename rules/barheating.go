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

// BarHeating reminds of a bar whose continuous current density is high. It is a
// reminder: the temperature of a bar hangs on its surface, its neighbours and the
// air round it, and is for a licensed designer to judge by the standards that
// apply.
//
//	Quantity  rms current of a continuous duty over the area of the section, A/m², times the root of the frequency
//	          factor: the even current density that loses as much
//	Formula   J = √(F)·I/(w·t) with F the loss over that of direct current, from the plane field with eddy currents of all
//	          bars where a section is not thin against the skin depth, else 1; loss per metre F·I²/(σ(T)·w·t)
//	          with necks, notches, holes or slots w is the narrowest width that conducts, and the resistance they add
//	          that of the flow in the plan, squares/(σ·t)
//	Valid     long bars at the declared temperature; undecided where the field is not known
//	Source    common practice: single small copper bars in still air carry about 2 to 4 A/mm² at 30 to 50 K rise
//	          (C11000 bars of the Copper Development Association's ampacity table lie there)
//	Not seen  temperature, cooling, joints, short time at fault
var BarHeating = engine.Rule{
	ID:    "bar-heating",
	Title: "reminder: current density of a bar is high",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "density", Unit: "A/m2", Default: 4e6,
		Reason: "common practice: about 4 A/mm² for small copper bars in still air",
	}, {
		Key: "density-other", Unit: "A/m2", Default: 2.5e6,
		Reason: "common practice: aluminium and brass bars about six tenths of copper",
	}},
	Check: checkBarHeating,
}

func checkBarHeating(run *engine.Run) {
	for b := range run.Layout.Bars {
		bar := &run.Layout.Bars[b]
		var worst probe.Heat
		duty := ""
		for i := range run.Layout.Duties {
			d := &run.Layout.Duties[i]
			if d.Kind != layout.Continuous {
				continue
			}
			h, err := run.Model.Heat(layout.BarIndex(b), d)
			if err != nil {
				run.Undecided(bar.ID, bar.Span, d.ID, "heating of bar %q cannot be judged: %v", bar.ID, err)
				continue
			}
			if h.RMSA > worst.RMSA {
				worst, duty = h, d.ID
			}
		}
		if worst.RMSA == 0 {
			run.NotApplicable(bar.ID, bar.Span, "bar %q carries no continuous current", bar.ID)
			continue
		}
		key := "density"
		if bar.Metal != "copper" {
			key = "density-other"
		}
		limit := run.Limit(key, "")
		loss := "loss unknown: its material declares no conductivity"
		if !math.IsNaN(worst.LossWPerM) {
			loss = si.Format(worst.LossWPerM, "W") + " per metre"
		}
		// The loss of crowded current is that of an even current larger by the
		// root of the factor, and so is what heats the bar.
		found := bounded.Exact(worst.DensityAPerM2 * math.Sqrt(worst.Factor))
		if worst.Factor > 1.0005 {
			loss += fmt.Sprintf(", %.3g times that of direct current, as an even %s", worst.Factor, si.Format(found.Value, "A/m2"))
		}
		run.Judge(engine.Case{
			Object: bar.ID, Cause: duty, Span: bar.Section.Span, Found: found, Limit: limit,
			Message: fmt.Sprintf("bar %q carries %s rms in continuous duty %q: %s%s, %s (a reminder, not a temperature rise)",
				bar.ID, si.Format(worst.RMSA, "A"), duty, si.Format(worst.DensityAPerM2, "A/m2"), narrowest(worst), loss),
			Remedy: func() string {
				if worst.Cut {
					return fmt.Sprintf("leave %s of width at z = %s, or a proof of its temperature by the standard that applies",
						si.Format(worst.RMSA*math.Sqrt(worst.Factor)/(limit.Value*bar.Section.ThicknessM.V), "m"), si.Format(worst.AlongM, "m"))
				}
				return fmt.Sprintf("a section of %s, or a proof of its temperature by the standard that applies",
					si.Format(worst.RMSA*math.Sqrt(worst.Factor)/limit.Value, "m2"))
			},
		})
	}
}

// narrowest says where the density of a bar with cuts is taken, and what they add.
func narrowest(h probe.Heat) string {
	if !h.Cut {
		return ""
	}
	text := fmt.Sprintf(" over the %s that conduct at z = %s", si.Format(h.NarrowM, "m"), si.Format(h.AlongM, "m"))
	if !math.IsNaN(h.ExtraOhm) {
		text += fmt.Sprintf(" (the cuts add %s, %s)", si.Format(h.ExtraOhm, "Ω"), si.Format(h.ExtraWatt, "W"))
	}
	return text
}
