package rules

import (
	"fmt"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// ShieldRemanence reports a shield whose iron may leave an offset after the
// largest current that drove it.
//
//	Quantity  largest offset in amperes over the full scale of a sensor, pure number, at the worst sensor of those to
//	          which no other iron is nearer
//	Formula   √((Hc·l)² + (μ0·Hc·|(U − 1)·u|/b)²): l = mean length of the iron path: leg, floor and leg of a channel,
//	          width of a plate, circumference of a ring less its slit, and Hc·l the sum over pieces that carry flux on to
//	          each other (gaps up to three walls), of all iron no farther than l the largest; U = response of all iron at
//	          the sensor to a uniform field in its worst direction, u the axis, b the own reading per ampere: iron that other bars magnetise counts
//	Valid     an upper bound for an open circuit, driven to saturation by any current in any duty; undecided without a
//	          coercivity, for a ring without a slit and for an outline
//	Source    magnetic circuit with Hc in the iron (Fitzgerald, Kingsley, Umans, Electric Machinery, section 1.5, from
//	          memory); limit common practice: half a per cent of full scale
//	Not seen  smaller loops, which leave less; stress and cutting of the sheet, which raise its coercivity
var ShieldRemanence = engine.Rule{
	ID:    "shield-remanence",
	Title: "the iron of a shield may keep an offset",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 0.005, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: half a per cent of full scale",
	}},
	Check: checkShieldRemanence,
}

func checkShieldRemanence(run *engine.Run) {
	eachIron(run, "keeps nothing", func(i layout.ShieldIndex, s *layout.Shield, mat *layout.Material) {
		if !mat.CoercivityAPM.Set {
			run.Undecided(s.ID, s.MaterialSpan, "", "cannot be judged. Material %q declares no coercivity", mat.ID)
			return
		}
		worst, found, err := run.Model.Remanence(i, func(s *layout.Sensor) float64 { return run.Limit("share", s.ID).Value })
		switch {
		case err != nil:
			run.Undecided(s.ID, s.Span, "", "cannot be judged. %s", reason(err))
			return
		case !found:
			remanenceWithout(run, i, s)
			return
		}
		sensor := &run.Layout.Sensors[worst.Sensor]
		amps, full := worst.Amperes, worst.FullA
		limit := run.Limit("share", sensor.ID)
		share := amps / full
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{sensor.ID, run.Layout.Bars[sensor.Reads].ID}, Cause: driver(run.Model, sensor), Span: s.MaterialSpan,
			Found: bounded.Exact(share), Limit: limit,
			Says: "its iron may shift", Rest: fmt.Sprintf("of full scale at sensor %q", sensor.ID), In: driver(run.Model, sensor),
			Why:     []string{fmt.Sprintf("That is %s of %s", si.Format(amps, "A"), si.Format(full, "A")), after(run.Model, sensor)},
			Related: []finding.Related{{Span: mat.CoercivityAPM.Span, Message: "the coercivity is declared here"}},
			Remedy: func() string {
				// A hair less, so that the printed digits pass too.
				return fmt.Sprintf("a material with a coercivity of %s at most instead of %s, or a reading of the zero after each fault",
					si.Format(0.995*mat.CoercivityAPM.V*limit.Value/share, "A/m"), si.Format(mat.CoercivityAPM.V, "A/m"))
			},
		})
	})
}

// remanenceWithout says why no sensor is asked about shield i.
func remanenceWithout(run *engine.Run, i layout.ShieldIndex, s *layout.Shield) {
	for k := range run.Layout.Sensors {
		sensor := &run.Layout.Sensors[k]
		if probe.NearestIron(run.Layout, sensor) == i {
			run.NotApplicable(s.ID, s.Span,
				"sensor %q reads no continuous or peak current, so it has no full scale", sensor.ID)
			return
		}
	}
	if len(run.Layout.Sensors) == 0 {
		run.NotApplicable(s.ID, s.Span, "no sensor stands near it")
		return
	}
	run.NotApplicable(s.ID, s.Span,
		"every sensor stands nearer to other iron. What all iron keeps is said there")
}

// strongest returns the duty in which the own bar of s carries most: the largest
// fault, or without one the largest of the others. Nil where none is known.
func strongest(m *probe.Model, s *layout.Sensor) (*layout.Duty, float64) {
	d, top, err := m.LargestOwn(s, layout.Fault)
	if err == nil && d == nil {
		d, top, err = m.LargestOwn(s, layout.Continuous, layout.Peak)
	}
	if err != nil {
		return nil, 0
	}
	return d, top
}

func driver(m *probe.Model, s *layout.Sensor) string {
	if d, _ := strongest(m, s); d != nil {
		return d.ID
	}
	return ""
}

func after(m *probe.Model, s *layout.Sensor) string {
	d, a := strongest(m, s)
	if d == nil {
		return ""
	}
	return fmt.Sprintf("It stays after %s of %s duty %q", si.Format(a, "A"), d.Kind, d.ID)
}
