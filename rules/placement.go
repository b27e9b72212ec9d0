package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// Placement reports a sensor whose reading changes too much when its board, a bar or a
// shield sits where its tolerances allow.
//
//	Quantity  |reading at the worst places - reading as drawn| over own reading as drawn, pure number, over that at full
//	          scale where the own bar is idle: the largest of that in the component in which the own current is largest, in
//	          direct part and fundamentals, with harmonics, with ripple, so that none of these makes it smaller
//	Formula   own and stray field computed again at every corner of x, y, z, tilt and yaw of the sensor, so a tilt lets the
//	          neighbours in; the worst of them and the larger change by each tolerance of a bar, of a shield's place, wall
//	          and opening and of a material's permeability and conductivity add up. Beside
//	          it the root of the sum of squares of all tolerances, each by itself
//	Valid     undecided where the field is not known. A need asks for every part: where a part of the sensor's tolerances
//	          is left out (z where the field changes along it alone) a need is undecided, unless it fails without it.
//	          Products of tolerances of two pieces are left out; where fields are solved, what a piece changes is
//	          taken at small steady currents. A yaw turns the axis towards z
//	Source    common practice: five per cent before calibration
//	Not seen  movement in operation, a bar that is bent; materials that declare no tolerance
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
		if s.Placement == nil && !run.Model.PiecesVary() {
			run.Without(s.ID, s.Span, fmt.Sprintf("sensors.%s.placement", s.ID),
				"declares no placement tolerances")
			return
		}
		worst, at, err := run.Model.WorstPlacement(s)
		if err != nil {
			undecided(run, s, at.ID, err)
			return
		}
		if at == nil {
			run.Without(s.ID, s.Span, currentKey(run, s, "continuous or peak"),
				"reads no current in a continuous or peak duty")
			return
		}
		duty := at.ID
		price, err := run.Model.Height(s)
		if err != nil {
			undecided(run, s, duty, err)
			return
		}
		limit := run.Limit("change", s.ID)
		if open := placementOpen(run, s); len(open) > 0 &&
			engine.Decide(worst.Total, limit.Value, false) != finding.Fail {
			run.Undecided(s.ID, placementSpan(s), duty, "placement moves the reading %s%s or more, limit %s, in %q. Add %s",
				si.Percent(worst.Total.Value), ofFull(worst.Idle), engine.ShowLimit(limit.Value, "1"), duty, word.And(open))
			return
		}
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: duty, Span: placementSpan(s),
			Found: worst.Total, Limit: limit,
			Says: "placement moves the reading up to", Rest: strings.TrimSpace(ofFull(worst.Idle)), In: duty,
			Why: []string{"By tolerance: " + movings(worst.Parts),
				fmt.Sprintf("Their root sum of squares is %s", si.Percent(worst.Combined)),
				fmt.Sprintf("The own field alone gives %s", si.Percent(worst.Own.Value)),
				fmt.Sprintf("Height costs %s per 0.1 mm", si.Percent(price*1e-4))},
			Ways: func() remedy.Ways { return tighterPlacement(run, i, s, limit, worst) },
		})
	})
}

// ofFull says that a change is a share of the full scale, which it is while what the sensor reads is idle.
func ofFull(idle bool) string {
	if idle {
		return " of full scale"
	}
	return ""
}

func placementSpan(s *layout.Sensor) span.Span {
	if s.Placement == nil {
		return s.Span
	}
	return s.Placement.Span
}

// placementOpen returns the keys of the parts of the tolerances of s that a need for
// placement asks for and that the file leaves out.
func placementOpen(run *engine.Run, s *layout.Sensor) []string {
	if _, asked := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.Placement }); !asked {
		return nil
	}
	key := fmt.Sprintf("sensors.%s.placement", s.ID)
	p := s.Placement
	if p == nil {
		return []string{key}
	}
	var out []string
	for _, part := range []struct {
		name string
		num  layout.Num
	}{{"x", p.XM}, {"y", p.YM}, {"z", p.ZM}, {"tilt", p.TiltRad}, {"yaw", p.YawRad}} {
		if in, _ := run.Model.InSpace(); !part.num.Set && (part.name != "z" || in) {
			out = append(out, key+"."+part.name)
		}
	}
	return out
}

// movings says what each tolerance does by itself: "x 0.3 %, y 2.18 %, tilt 0 %".
func movings(parts []probe.Moving) string {
	var words []string
	for _, p := range parts {
		if !p.Piece || p.Change > 0 {
			words = append(words, p.Name+" "+si.Percent(p.Change))
		}
	}
	return strings.Join(words, ", ")
}

// tighterPlacement adds to the change of place the tolerance that would pass
// as it stands.
func tighterPlacement(run *engine.Run, i layout.SensorIndex, s *layout.Sensor, limit engine.Bound, worst probe.Placed) remedy.Ways {
	total := func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
		p, _, err := m.WorstPlacement(s)
		return p.Total, err
	}
	out := betterPlace(run, i, limit, total)
	if s.Placement == nil {
		return out
	}
	top := probe.Moving{}
	for _, p := range worst.Parts {
		if !p.Piece && p.Change >= top.Change {
			top = p
		}
	}
	pick := func(p *layout.Placement) *layout.Num {
		return map[string]*layout.Num{"x": &p.XM, "y": &p.YM, "z": &p.ZM, "tilt": &p.TiltRad,
			"yaw": &p.YawRad}[top.Name]
	}
	have := pick(s.Placement).V
	for share := 0.95; share > 0.04; share -= 0.05 {
		p := *s.Placement
		pick(&p).V = have * share
		t := *s
		t.Placement = &p
		if e, err := total(run.Model, &t); err == nil && e.High <= limit.Value {
			out.Also = fmt.Sprintf("hold %s to %s instead of %s", top.Name, tolerance(top.Name, have*share),
				tolerance(top.Name, have))
			break
		}
	}
	return out
}

func tolerance(name string, v float64) string {
	if name == "tilt" || name == "yaw" {
		return si.Format(v*180/math.Pi, "deg")
	}
	return si.Format(v, "m")
}
