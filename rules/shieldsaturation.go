package rules

import (
	"fmt"
	"math"

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
//	Formula   field in space, or in the plane section where shields are long, with the iron's curve, components of a duty at their worst phase; wires, magnets, the Earth and
//	          declared fields added at their worst direction and phase; saturation as declared, else
//	          B − μ0·H at the end of the declared curve, at the temperature that leaves least; walls, openings
//	          and iron, and the places of bars and shields, at the worst of their tolerances
//	Valid     long shields, and such of finite depth in space; one that declares no depth for every depth from its outer width up; where space cannot be had the bounds hold what gathers
//	          beyond the ends, 1 + 0.55·width/depth within a fifth, and a magnet counts as strong everywhere as at the nearest corner of a shield; what
//	          foreign sources add lies between nothing and the sum of both peaks; eddy currents change what an alternating wire brings, and in space
//	          filling iron what a near wire or magnet does, as they change a uniform field, which is no bound where the source stands nearer than the shield is wide; undecided without a saturation or a curve
//	Source    common practice: eight tenths of saturation, and where a curve says so less: where the differential permeability is a tenth of its largest
//	          (R. M. Bozorth, Ferromagnetism, 1951, chapter 1, on differential permeability; from memory)
//	Not seen  flux along z, joints of the sheet, spread of a material that declares no tolerance, heat of iron that declares no coefficient
var ShieldSaturation = engine.Rule{
	ID:    "shield-saturation",
	Title: "the iron of a shield is nearly full",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: probe.FullShare,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of saturation"},
		Reason: "common practice: eight tenths of saturation, below the knee",
	}, {
		Key: "slope", Unit: "1", Default: probe.FullSlope, AtLeast: true,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the largest differential permeability"},
		Reason: "common practice: the knee of the curve, where the differential permeability is a tenth of its largest; 0 leaves it to the share of saturation",
	}},
	NotOfChannels: true,
	Check:         checkShieldSaturation,
	OfFields:      true,
}

// ironFullAt returns the share of its saturation at which iron counts as full: the limit, or where its curve says so
// the knee below it.
func ironFullAt(run *engine.Run, mat *layout.Material, sat float64) engine.Bound {
	limit, slope := run.Limit("share", ""), run.Limit("slope", "")
	at, knee, ok := probe.FullAt(mat, sat, limit.Value, slope.Value)
	if !ok {
		return limit
	}
	limit.Value, limit.Span = at, slope.Span
	limit.Origin = fmt.Sprintf("at %s the curve of material %q has %s of its largest differential permeability left: %s",
		si.Format(knee, "T"), mat.ID, si.Percent(slope.Value), slope.Origin)
	return limit
}

// fillWords says what a wall carries, and of what.
func fillWords(run *engine.Run, f *probe.Fill) []string {
	words := []string{fmt.Sprintf("It carries %s of %s", si.Format(f.WallT.Value, "T"), si.Format(f.SatT, "T"))}
	if f.Foreign.Told && f.Foreign.WallT.Value >= toldForeign*f.WallT.Value {
		words = append(words, fmt.Sprintf("Foreign sources make up to %s of it, most from %s", si.Format(math.Min(f.Foreign.WallT.High, f.WallT.High), "T"), f.Foreign.Most))
	}
	if f.Drawn > 0 {
		words = append(words, "Tolerances and temperature are at their worst", fmt.Sprintf("As declared it is %s", si.Percent(f.Drawn)),
			fmt.Sprintf("With the root of the sum of their squares it is %s", si.Percent(f.Squares)))
	}
	if f.Duty != nil && f.LimitA > 0 {
		words = append(words, fmt.Sprintf("A linear wall would reach the limit at %s in bar %q", si.Format(f.LimitA, "A"), run.Layout.Bars[f.Bar].ID),
			fmt.Sprintf("That bar carries %s", si.Format(f.PeakA, "A")))
	}
	return words
}

// toldForeign is the share of a wall from which on what foreign sources bring is told.
const toldForeign = 0.005

func checkShieldSaturation(run *engine.Run) {
	failing := fullWalls{}
	eachIron(run, "does not saturate", func(i layout.ShieldIndex, s *layout.Shield, mat *layout.Material) {
		drawnSat, ok := probe.SaturationT(mat)
		if !ok {
			run.Undecided(s.ID, s.MaterialSpan, "", "cannot be judged. Material %q declares no saturation and no curve", mat.ID)
			return
		}
		limit := ironFullAt(run, mat, drawnSat)
		worst, found, err := run.Model.Fill(i, limit.Value)
		switch {
		case err != nil:
			run.Undecided(s.ID, s.Span, "", "cannot be judged. %s", reason(err))
			return
		case !found:
			run.NotApplicable(s.ID, s.Span, "no duty gives a current that could fill this shield")
			return
		}
		c := engine.Case{
			Object: s.ID, Span: wallSpan(s).Span, Found: worst.Share, Limit: limit,
			Says: "the wall carries", Rest: "of its saturation", Why: fillWords(run, &worst),
			Related: []finding.Related{{Span: mat.Span, Message: "the material is declared here"}},
		}
		if worst.Duty != nil {
			c.Others, c.Cause = []string{run.Layout.Bars[worst.Bar].ID}, worst.Duty.ID
			c.In = worst.Duty.ID
			c.Why = append(c.Why, ifOffset(run.Layout, worst.Share, func(d *layout.Duty) (bounded.Estimate, error) {
				w, err := run.Model.FullWall(i, d)
				return w.Scale(1 / worst.SatT), err
			}), ofSection(run, i, &worst, limit.Value))
			goal := fillGoal(run, i, &worst, limit.Value)
			c.Ways = func() remedy.Ways { return remedy.OfShield(run.Model, goal, failing[madeOf(s)]) }
			if run.Judge(c) == finding.Fail {
				failing.keep(s, goal)
			}
			return
		}
		c.Rest += " without any current"
		c.Remedy = func() string {
			away := "keep " + worst.Foreign.Most + " farther away"
			if worst.Foreign.Everywhere {
				away = fmt.Sprintf("find a place where %s is at most %s as strong", worst.Foreign.Most,
					si.Percent(limit.Value/worst.Share.Value))
			}
			return fmt.Sprintf("%s, or a wall of %s some %.2g times as thick", away, s.ID, worst.Share.Value/limit.Value)
		}
		run.Judge(c)
	})
}

// ofSection says what a plane study would promise of a wall in space that may be too full.
func ofSection(run *engine.Run, i layout.ShieldIndex, worst *probe.Fill, limit float64) string {
	in, _ := run.Model.InSpace()
	if !in || !(worst.Share.High > limit) {
		return ""
	}
	section, err := worst.At.SectionWallPeak(i, worst.Duty)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("The plane section, as if it had no end, would say %s, %s",
		si.Format(section.Value, "T"), si.Percent(section.Value/worst.SatT))
}

// fillGoal is what a change must reach that empties a wall.
func fillGoal(run *engine.Run, i layout.ShieldIndex, worst *probe.Fill, limit float64) remedy.ShieldGoal {
	drive := 0.0 // unknown where foreign sources alone reach the limit
	if worst.LimitA > 0 {
		drive = worst.PeakA / worst.LimitA
	}
	share := func(w bounded.Estimate, err error) (bounded.Estimate, error) { return w.Scale(1 / worst.SatT), err }
	return remedy.ShieldGoal{
		Shield: i, All: run.AllRemedies, Limit: limit, Drive: drive,
		Search: func(m *probe.Model) (bounded.Estimate, error) { return share(m.FullWall(i, worst.Duty)) },
		Draft:  func(m *probe.Model) (bounded.Estimate, error) { return share(m.DrivenWall(i, worst.Duty)) },
		Measure: func(m *probe.Model) (bounded.Estimate, error) {
			f, _, err := m.Fill(i, limit)
			return f.Share, err
		},
		Show: func(v float64) string { return engine.Show(v, "1") },
	}
}

// fullWalls are the goals of walls that are too full, by what the shields are made of.
type fullWalls map[string]*remedy.Alike

// keep puts a goal beside those of shields that are made alike; an outline has no wall to change.
func (f fullWalls) keep(s *layout.Shield, goal remedy.ShieldGoal) {
	if s.Form.Kind != layout.Channel && s.Form.Kind != layout.Ring {
		return
	}
	k := madeOf(s)
	if f[k] == nil {
		f[k] = &remedy.Alike{}
	}
	f[k].Goals = append(f[k].Goals, goal)
}

// madeOf names all that a shield is made of but its place.
func madeOf(s *layout.Shield) string {
	f := &s.Form
	return fmt.Sprint(f.Kind, f.OpeningM.V, f.LegM.V, f.WallM.V, f.InnerM.V, f.SlitM.V, s.Material, s.DepthM.V)
}
