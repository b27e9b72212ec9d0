package rules

import (
	"fmt"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// ShieldSaturation reports a shield whose iron is nearly full in a duty: above
// the knee the sensor gets less per ampere and the shield lets foreign fields in.
//
//	Quantity  flux density of the wall over the saturation polarisation of its material, pure number, in the duty that
//	          fills it most; the wall's is the flux through it over its thickness, largest along the wall, never a corner
//	Formula   field in space, or in the plane section where shields are long, with the iron's curve, components of a duty at their worst phase; saturation as declared, else
//	          B − μ0·H at the end of the declared curve
//	Valid     long shields, and such of finite depth in space; one that declares no depth for every depth from its outer width up; where space cannot be had the bounds hold what gathers
//	          beyond the ends, 1 + 0.55·width/depth within a fifth; undecided without a saturation or a curve
//	Source    common practice: eight tenths of saturation, about where the curve of sheet steel turns
//	Not seen  flux along z, joints of the sheet, spread of the material, heat (iron at 100 °C holds a few per cent less)
var ShieldSaturation = engine.Rule{
	ID:    "shield-saturation",
	Title: "the iron of a shield is nearly full",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 0.8,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of saturation"},
		Reason: "common practice: eight tenths of saturation, below the knee",
	}},
	Check:    checkShieldSaturation,
	OfFields: true,
}

func checkShieldSaturation(run *engine.Run) {
	eachIron(run, "does not saturate", func(i layout.ShieldIndex, s *layout.Shield, mat *layout.Material) {
		sat, ok := probe.SaturationT(mat)
		if !ok {
			run.Undecided(s.ID, s.MaterialSpan, "", "shield %q cannot be judged: material %q declares no saturation and no curve", s.ID, mat.ID)
			return
		}
		limit := run.Limit("share", "")
		worst, found, err := run.Model.Fill(i, limit.Value)
		switch {
		case err != nil:
			run.Undecided(s.ID, s.Span, "", "shield %q cannot be judged: %v", s.ID, err)
			return
		case !found:
			run.NotApplicable(s.ID, s.Span, "no duty gives a current that could fill shield %q", s.ID)
			return
		}
		bar := run.Layout.Bars[worst.Bar].ID
		message := fmt.Sprintf("the wall of shield %q carries %s in %s duty %q, %s of its saturation of %s; a linear wall would reach the limit at %s in bar %q, which carries %s",
			s.ID, si.Format(worst.WallT.Value, "T"), worst.Duty.Kind, worst.Duty.ID, si.Percent(worst.Share.Value), si.Format(sat, "T"),
			si.Format(worst.LimitA, "A"), bar, si.Format(worst.PeakA, "A"))
		message += ifOffset(run.Layout, worst.Share, func(d *layout.Duty) (bounded.Estimate, error) {
			w, err := run.Model.WallPeak(i, d)
			return w.Scale(1 / sat), err
		})
		if in, _ := run.Model.InSpace(); in && worst.Share.High > limit.Value {
			if section, err := run.Model.SectionWallPeak(i, worst.Duty); err == nil {
				message += fmt.Sprintf("; the plane section, as if it had no end, would say %s, %s",
					si.Format(section.Value, "T"), si.Percent(section.Value/sat))
			}
		}
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{bar}, Cause: worst.Duty.ID, Span: wallSpan(s).Span,
			Found: worst.Share, Limit: limit, Message: message,
			Related: []finding.Related{{Span: mat.Span, Message: "the material is declared here"}},
			Remedy: func() string {
				return remedy.OfShield(run.Model, remedy.ShieldGoal{
					Shield: i, All: run.AllRemedies, Limit: limit.Value, Drive: worst.PeakA / worst.LimitA,
					Search: func(m *probe.Model) (bounded.Estimate, error) {
						w, err := m.WallPeak(i, worst.Duty)
						return w.Scale(1 / sat), err
					},
					Measure: func(m *probe.Model) (bounded.Estimate, error) {
						f, _, err := m.Fill(i, limit.Value)
						return f.Share, err
					},
					Show: func(v float64) string { return engine.Show(v, "1") },
				})
			},
		})
	})
}
