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

// Placement reports a sensor whose reading changes too much when the board
// sits where its tolerances allow.
//
//	Quantity  |reading at the worst corner - reading as drawn| over own reading as drawn, pure number
//	Formula   own and stray field computed again at every corner of x, y and tilt, so a tilt lets the neighbours in
//	Valid     long bars; undecided where the field is not known
//	Source    common practice: five per cent before calibration
//	Not seen  movement in operation, a bar that is bent
var Placement = engine.Rule{
	ID:    "placement",
	Title: "placement tolerances shift a sensor's reading",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "change", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: five per cent of reading before calibration",
		Need:   func(n *layout.Need) layout.Num { return n.Placement }, NeedKey: "placement",
	}},
	Check: checkPlacement,
}

func checkPlacement(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		if s.Placement == nil {
			run.NotApplicable(s.ID, s.Span, "sensor %q declares no placement tolerances", s.ID)
			return
		}
		worst, at, err := run.Model.WorstPlacement(s)
		if err != nil {
			undecided(run, s, at.ID, err)
			return
		}
		if at == nil {
			run.NotApplicable(s.ID, s.Span, "what sensor %q reads carries no current in a continuous or peak duty", s.ID)
			return
		}
		duty := at.ID
		price, err := run.Model.Height(s)
		if err != nil {
			undecided(run, s, duty, err)
			return
		}
		limit := run.Limit("change", s.ID)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: duty, Span: s.Placement.Span,
			Found: worst.Total, Limit: limit,
			Message: fmt.Sprintf(
				"placement moves sensor %q by up to %s of its reading in duty %q (own field alone %s; x %s, y %s, tilt %s, root sum of squares %s; %s per 0.1 mm of height)",
				s.ID, si.Percent(worst.Total.Value), duty, si.Percent(worst.Own.Value), si.Percent(worst.X),
				si.Percent(worst.Y), si.Percent(worst.Tilt), si.Percent(worst.Combined), si.Percent(price*1e-4)),
			Remedy: func() string { return tighterPlacement(run, i, s, limit, worst) },
		})
	})
}

// tighterPlacement adds to the change of place the tolerance that would pass
// as it stands.
func tighterPlacement(run *engine.Run, i layout.SensorIndex, s *layout.Sensor, limit engine.Bound, worst probe.Placed) string {
	total := func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
		p, _, err := m.WorstPlacement(s)
		return p.Total, err
	}
	out := betterPlace(run, i, limit, total)
	names := []string{"x", "y", "tilt"}
	values := []float64{worst.X, worst.Y, worst.Tilt}
	top := 0
	for k := range values {
		if values[k] > values[top] {
			top = k
		}
	}
	pick := func(p *layout.Placement) *layout.Num { return []*layout.Num{&p.XM, &p.YM, &p.TiltRad}[top] }
	have := pick(s.Placement).V
	for share := 0.95; share > 0.04; share -= 0.05 {
		p := *s.Placement
		pick(&p).V = have * share
		t := *s
		t.Placement = &p
		if e, err := total(run.Model, &t); err == nil && e.High <= limit.Value {
			return fmt.Sprintf("%s; or hold %s to %s instead of %s", out, names[top], tolerance(top, have*share), tolerance(top, have))
		}
	}
	return out
}

func tolerance(which int, v float64) string {
	if which == 2 {
		return si.Format(v*180/math.Pi, "deg")
	}
	return si.Format(v, "m")
}
