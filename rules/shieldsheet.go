package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/engine"
)

// ShieldSheet reports a shield whose sheet (or solid wall) is too thick for a
// declared frequency, and a shield that is not magnetic where a duty has direct
// current or a frequency at which its wall is thin against the skin depth.
//
//	Quantity  of iron: share by which eddy currents lower the mean permeability of the sheet, pure number; of another
//	          conductor: wall over skin depth, pure number, 0 at direct current
//	Formula   1 − |tanh(x)/x|, x = (1+j) d/(2δ), δ = 1/√(π f μ0 μr σ), d the sheet, or the wall where none is declared;
//	          for iron with a curve over all permeabilities that the duty passes through; conductivity, permeability and wall
//	          at the worst ends of their tolerances, conductivity over the temperatures of the material too, else at 20 °C
//	Valid     flux along a sheet that is wide against its thickness; at every declared frequency, ripple too.
//	          Undecided where iron declares no conductivity
//	Source    J. Lammeraner, M. Štafl, Eddy Currents, 1966 (from memory); five per cent, and one skin depth of a wall that is not
//	          magnetic, are common practice
//	Not seen  flux that enters a sheet through its face, bad insulation between sheets, loss and heat of the iron
var ShieldSheet = engine.Rule{
	ID:    "shield-sheet",
	Title: "the sheet of a shield does not suit a frequency",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "permeability-loss", Unit: "1", Default: 0.05,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the permeability"},
		Reason: "common practice: five per cent of the permeability, about d = 1.26 δ",
	}, {
		Key: "wall", Unit: "1", Default: 1, AtLeast: true,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the skin depth"},
		Reason: "common practice: a wall that is not magnetic works from about one skin depth on",
	}},
	NotOfChannels: true,
	Check:         checkShieldSheet,
}

func checkShieldSheet(run *engine.Run) {
	for i := range run.Layout.Shields {
		k := &run.Layout.Shields[i]
		if m := &run.Layout.Materials[k.Material]; m.Magnetic() {
			checkIronSheet(run, layout.ShieldIndex(i), k, m)
		} else {
			checkConductingWall(run, k, m)
		}
	}
}

func checkIronSheet(run *engine.Run, i layout.ShieldIndex, k *layout.Shield, mat *layout.Material) {
	uses := run.Model.Uses()
	if len(uses) == 0 {
		run.NotApplicable(k.ID, k.Span, "no duty gives an alternating current")
		return
	}
	if !mat.SigmaSPerM.Set {
		run.Undecided(k.ID, k.MaterialSpan, "", "cannot be judged at %s. Material %q declares no conductivity (and no sheet, where it is laminated): declare it, 0 S/m where it insulates",
			si.Format(uses[0].Part.FreqHz, "Hz"), mat.ID)
		return
	}
	var worst probe.Sheet
	var at *probe.Use
	told := ""
	for n := range uses {
		sheet, err := run.Model.Sheet(i, uses[n])
		if err != nil {
			if told != err.Error() { // one reason for many frequencies is said once
				run.Undecided(k.ID, k.Span, uses[n].Duty.ID, "cannot be judged. %s", reason(err))
			}
			told = err.Error()
			continue
		}
		if at == nil || !(sheet.Loss.High <= worst.Loss.High) {
			worst, at = sheet, &uses[n]
		}
	}
	if at == nil {
		return // every frequency was said to be undecided
	}
	if mat.SigmaSPerM.V == 0 {
		run.Pass(k.ID, k.Span, "this shield does not conduct. No frequency drives the flux out of its wall")
		return
	}
	what, span := "wall", k.Form.Span
	if worst.Laminated {
		what, span = "sheet", mat.SheetM.Span
	}
	hz := at.Part.FreqHz
	limit := run.Limit("permeability-loss", "")
	run.Judge(engine.Case{
		Object: k.ID, Cause: at.Duty.ID, Span: span, Found: worst.Loss, Limit: limit,
		Says: "its " + what + " loses", Rest: "of its permeability at " + si.Format(hz, "Hz"), In: at.Duty.ID,
		Why: []string{fmt.Sprintf("It is %s thick, %.3g skin depths of %s", si.Format(worst.ThicknessM.Value, "m"),
			worst.ThicknessM.Value/worst.SkinM, si.Format(worst.SkinM, "m")),
			fmt.Sprintf("That is at the %s of the duty", at.Part.Role), atWorst(worst.Tolerated)},
		Related: []finding.Related{{Span: at.Duty.Span, Message: fmt.Sprintf("the duty with %s", si.Format(hz, "Hz"))}},
		Remedy: func() string {
			// Rounded down, so that what is printed passes.
			thin := floorTwo(probe.SheetFor(limit.Value, hz, worst.SigmaSPerM, worst.MuRel.High))
			after := probe.SheetLoss(thin, hz, worst.SigmaSPerM, worst.MuRel.High)
			way := "sheets of"
			if !worst.Laminated {
				way = "laminate it into sheets of"
			}
			return fmt.Sprintf("%s %s: %s → %s; or iron of less conductivity, such as ferrite", way, si.FormatDigits(thin, "m", 2),
				si.Percent(worst.Loss.Value), si.Percent(after))
		},
	})
}

// atWorst says that a number is the worst of tolerances and temperatures.
func atWorst(tolerated bool) string {
	if tolerated {
		return "Tolerances and temperatures are at their worst"
	}
	return ""
}

// floorTwo rounds down to two significant digits.
func floorTwo(v float64) float64 {
	step := portable.Pow(10, math.Floor(portable.Log10(v))-1)
	return math.Floor(v/step) * step
}

// checkConductingWall judges a shield without permeability at the lowest
// frequency of all duties, where its wall is thinnest against the skin depth.
func checkConductingWall(run *engine.Run, k *layout.Shield, mat *layout.Material) {
	duty, hz := slowest(run.Layout)
	if duty == nil {
		run.NotApplicable(k.ID, k.Span, "no duty gives a current")
		return
	}
	limit := run.Limit("wall", "")
	c := engine.Case{
		Object: k.ID, Cause: duty.ID, Span: k.MaterialSpan, Limit: limit,
		Says: "its wall is", Rest: "of a skin depth at " + frequencyWords(hz), In: duty.ID,
		Related: []finding.Related{{Span: duty.Span, Message: "the duty with " + frequencyWords(hz)}},
	}
	if hz == 0 {
		c.Found = bounded.Exact(0)
		c.Why = []string{"It is not magnetic and does nothing at direct current"}
		c.Remedy = func() string {
			return fmt.Sprintf("a material with a permeability or a curve for %s; or leave it out", k.ID)
		}
		run.Judge(c)
		return
	}
	if !mat.SigmaSPerM.Set {
		run.Undecided(k.ID, k.MaterialSpan, duty.ID, "cannot be judged. Material %q declares neither permeability nor conductivity", mat.ID)
		return
	}
	if mat.SigmaSPerM.V == 0 {
		c.Found = bounded.Exact(0)
		c.Why = []string{"It neither conducts nor is magnetic and does nothing at any frequency"}
		c.Remedy = func() string { return "a material with a permeability or a conductivity; or leave it out" }
		run.Judge(c)
		return
	}
	least, _ := mat.ConductivityShares()
	delta := closedform.SkinDepthM(hz, mat.SigmaSPerM.V*least, 1)
	wall := probe.WallM(k).Plus(bounded.Exact(-k.WallTolM.V))
	c.Found = wall.Scale(1 / delta)
	c.Why = []string{fmt.Sprintf("It is not magnetic, and its wall is %s thick", si.Format(wall.Value, "m")),
		atWorst(least != 1 || k.WallTolM.V > 0)}
	c.Remedy = func() string {
		return fmt.Sprintf("a wall of %s; or a material with a permeability or a curve", si.Format(float64(delta*limit.Value)+k.WallTolM.V, "m"))
	}
	run.Judge(c)
}

func frequencyWords(hz float64) string {
	if hz == 0 {
		return "direct current"
	}
	return si.Format(hz, "Hz")
}

// slowest returns the first duty with the lowest frequency at which any bar
// carries a current; nil when none does.
func slowest(l *layout.Layout) (*layout.Duty, float64) {
	var at *layout.Duty
	hz := math.Inf(1)
	for i := range l.Duties {
		for _, c := range waveform.Of(l, &l.Duties[i]).Components {
			if c.FreqHz < hz && anyCurrent(c.PeakA) {
				at, hz = &l.Duties[i], c.FreqHz
			}
		}
	}
	return at, hz
}

func anyCurrent(peakA []complex128) bool {
	for _, a := range peakA {
		if a != 0 {
			return true
		}
	}
	return false
}
