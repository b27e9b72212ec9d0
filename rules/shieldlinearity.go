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

// ShieldLinearity reports a sensor whose output per ampere at its largest
// current differs from that of small signals, because iron about it saturates.
//
//	Quantity  e = |b(I)/b(0) − 1|, pure number, b = own reading per ampere, I = largest current of the own bar in a
//	          continuous or peak duty, and where a curve of iron begins flatter than it goes on the worst current up to that
//	Formula   plane field with the iron's curve at steady current in the own bar alone, against the permeability at the origin; the bounds hold the
//	          current at which the own bar alone would fill every wall as far as it does with wires, magnets, the Earth and declared fields beside it;
//	          walls, openings, iron and places at the worst of their tolerances, iron at the temperature that leaves least
//	Valid     long shields, or the change between the plane's flux and that of the declared depth, or of one as deep as
//	          wide where none is declared; undecided where iron
//	          declares neither curve nor saturation, and where foreign sources fill iron that the own current does not
//	Source    common practice: two per cent, what a straight line from the origin leaves to calibration
//	Not seen  flux of other bars in the same iron, hysteresis (see shield-remanence), eddy currents
var ShieldLinearity = engine.Rule{
	ID:    "shield-linearity",
	Title: "saturating iron bends a sensor's output",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "change", Unit: "1", Default: 0.02, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: two per cent of the output per ampere up to the largest measured current",
	}},
	Check:    checkShieldLinearity,
	OfFields: true,
}

func checkShieldLinearity(run *engine.Run) {
	iron, unknown := false, ""
	for i := range run.Layout.Shields {
		m := &run.Layout.Materials[run.Layout.Shields[i].Material]
		iron = iron || m.Magnetic()
		if _, ok := probe.SaturationT(m); m.Magnetic() && !ok {
			unknown = m.ID
		}
	}
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		switch bars := ironBars(run.Layout); {
		case len(bars) > 0:
			run.Undecided(s.ID, s.Span, "", "cannot be judged. Bar %q is of iron, which is computed with one permeability alone", bars[0].ID)
			return
		case !iron:
			run.NotApplicable(s.ID, s.Span, "no iron stands near it")
			return
		case unknown != "":
			run.Undecided(s.ID, s.Span, "", "cannot be judged. Material %q declares no saturation and no curve", unknown)
			return
		}
		d, _, err := run.Model.LargestOwn(s, layout.Continuous, layout.Peak)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if d == nil {
			run.NotApplicable(s.ID, s.Span, "reads no continuous or peak current")
			return
		}
		limit := run.Limit("change", s.ID)
		measure := func(m *probe.Model) (probe.Linearity, error) {
			r, err := m.Linearity(s, d)
			// What stands in the message, or is near the limit, is worth the true state.
			for err == nil && !(r.Change.High <= limit.Value) {
				finer, ok := m.Refined()
				if !ok {
					break
				}
				m = finer
				r, err = m.Linearity(s, d)
			}
			return r, err
		}
		r, err := measure(run.Model)
		if err != nil {
			undecided(run, s, d.ID, err)
			return
		}
		upTo := ""
		if r.AtA < r.PeakA {
			upTo = fmt.Sprintf(", on the way to %s", si.Format(r.PeakA, "A"))
		}
		why := []string{fmt.Sprintf("It reads %s per 100 A at small currents", si.Format(100*r.SmallTPA, "T")),
			fmt.Sprintf("It reads %s per 100 A at %s%s", si.Format(100*r.AtTPA, "T"), si.Format(r.AtA, "A"), upTo)}
		at := holding(run.Layout, s)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID, run.Layout.Shields[at].ID}, Cause: d.ID, Span: s.Span,
			Found: r.Change, Limit: limit, Says: "the reading is", Rest: "off a straight line", In: d.ID, Why: why,
			Related: []finding.Related{{Span: wallSpan(&run.Layout.Shields[at]).Span, Message: "the wall of the iron about it"}},
			Ways: func() remedy.Ways {
				return remedy.OfShield(run.Model, remedy.ShieldGoal{
					Shield: at, All: run.AllRemedies, Limit: limit.Value,
					Search: func(m *probe.Model) (bounded.Estimate, error) {
						r, err := m.Linearity(s, d)
						return r.Change, err
					},
					Measure: func(m *probe.Model) (bounded.Estimate, error) {
						r, err := measure(m)
						return r.Change, err
					},
					Show: func(v float64) string { return engine.Show(v, "1") },
				}, nil)
			},
		})
	})
}

// holding returns the iron nearest to the bar of s.
func holding(l *layout.Layout, s *layout.Sensor) layout.ShieldIndex {
	best, least := layout.ShieldIndex(0), -1.0
	centre := l.Bars[s.Reads].Centre()
	for i := range l.Shields {
		if !l.Materials[l.Shields[i].Material].Magnetic() {
			continue
		}
		if d := l.Shields[i].Region().DistanceM(centre); least < 0 || d < least {
			best, least = layout.ShieldIndex(i), d
		}
	}
	return best
}
