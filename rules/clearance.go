package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/insulation"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// Clearance reminds of an air gap that is smaller than its voltages ask
// for, and names what a wider gap costs in field. It is a reminder and no
// certificate: the edition of the standard that applies, local codes and a
// licensed practitioner decide.
//
//	Quantity  straight distance in space between two objects at the worst placement, m; over shields, and bars without
//	          current or insulation of their own, that are bonded to neither the sum of the parts of air; what is bonded
//	          to an object counts as it
//	Formula   the largest of the distances needed for the impulse voltage (given, or from supply and overvoltage category;
//	          pollution degree) and for the peaks of the working, temporary and recurring voltage, kind of insulation and
//	          altitude; see model/insulation
//	Valid     inhomogeneous field (case A); bars, runs and shields as in rule geometry, a sensor as the box of its body, width
//	          taken across and along z; without a whole body it is known by its element only: an upper bound, which never
//	          passes; undecided over a bar of a potential of its own that no insulation entries hold apart from both sides, by
//	          as much together, where an impulse is declared below a voltage that lasts, and where none is known
//	Source    IEC 60664-1:2007 tables F.1, F.2, F.7a, A.2, 6.2; rows that could not be confirmed are said so
//	Not seen  parts that the file does not name, pins and boards of sensors, the least width of 0.25 to 1.5 mm below which
//	          a part of a way counts as none, temporary overvoltages that are not declared, solid insulation, frequency above 30 kHz (IEC 60664-4)
var Clearance = engine.Rule{
	ID:    "clearance",
	Title: "reminder: an air gap is smaller than its voltage asks for",
	Level: finding.Warning,
	Pair:  true,
	Limits: []engine.Limit{{
		Key: "distance", Unit: "m", Default: 0, AtLeast: true,
		Reason: "IEC 60664-1 for the declared voltages, pollution degree, kind and altitude; the default asks for nothing",
	}},
	Check: checkClearance,
}

func checkClearance(run *engine.Run) {
	if len(run.Layout.Insulation) == 0 && len(run.Layout.Bars) > 0 && len(run.Layout.Sensors) > 0 {
		run.NotApplicable("", run.Layout.Span,
			"no insulation is declared. Clearance and creepage between bars, shields and sensors are not asked")
	}
	for i := range run.Layout.Insulation {
		in := &run.Layout.Insulation[i]
		a, b := in.Between[0], in.Between[1]
		need, err := neededClearance(in)
		if err != nil {
			run.Undecided(a, in.Span, b, "clearance to %q cannot be judged. %s", b, reason(err))
			continue
		}
		way, err := gapOf(run, in, func(k *layout.Insulation) (float64, error) {
			n, err := neededClearance(k)
			return n.DistanceM, err
		})
		if err != nil {
			run.Undecided(a, in.Span, b, "clearance to %q cannot be judged. No distance: %v", b, err)
			continue
		}
		gap := way.Likely
		found, how := bounded.Estimate{Value: gap.HighM, Low: gap.LowM, High: gap.HighM}, drawn(gap)
		if in.ClearanceM.Set {
			found, how = bounded.Exact(in.ClearanceM.V), "declared"
			if gap.HighM < in.ClearanceM.V {
				how = fmt.Sprintf("declared; the drawing shows %s", si.Format(gap.HighM, "m"))
			}
		}
		limit := distance(run, in, need.Need)
		if need.open != "" && engine.Decide(found, limit.Value, true) == finding.Pass {
			run.Undecided(a, in.Span, b, "clearance to %q is %s, least %s for the voltages that last. It is %s%s. %s",
				b, si.Format(found.Value, "m"), engine.ShowLimit(need.DistanceM, "m"), how, unconfirmed(need.Need), need.open)
			continue
		}
		sure := bounded.Estimate{Value: way.Sure.HighM, Low: way.Sure.LowM, High: way.Sure.HighM}
		if !in.ClearanceM.Set && engine.Decide(found, limit.Value, true) == finding.Pass &&
			engine.Decide(sure, limit.Value, true) != finding.Pass {
			run.Undecided(a, in.Span, b, "clearance to %q is %s over %s, least %s for %s insulation. It is %s %s. %s",
				b, si.Format(way.Sure.LowM, "m"), word.And(way.Sure.Over), engine.ShowLimit(limit.Value, "m"), in.Kind,
				si.Format(found.Value, "m"), how, engine.Sentence(way.unheld(in)))
			continue
		}
		run.Judge(engine.Case{
			Object: a, Others: []string{b}, Cause: b, Span: in.Span,
			Found: found,
			Limit: limit,
			Says:  fmt.Sprintf("clearance to %q is", b),
			Why: []string{"That is " + how,
				fmt.Sprintf("%s insulation needs %s%s", engine.Sentence(in.Kind), si.Format(need.DistanceM, "m"), unconfirmed(need.Need)), reminder},
			Related: steps(in, need.Need),
			Ways: func() remedy.Ways {
				ways := widerGap(run, i, limit)
				ways.Also = fmt.Sprintf("widen the gap by %s%s", si.Format(limit.Value-found.Value, "m"),
					price(run, in, limit.Value-found.Value))
				return ways
			},
		})
	}
}

// reminder goes with each distance of a table.
const reminder = "A reminder: the standard that applies prevails"

// widerGap searches the place of the sensor of pair i of the insulation at which its gap in the drawing is wide
// enough; none where no sensor is of the pair or the distance is declared.
func widerGap(run *engine.Run, i int, limit engine.Bound) remedy.Ways {
	in := &run.Layout.Insulation[i]
	at := layout.SensorIndex(layout.None)
	for _, id := range in.Between {
		if k, ok := run.Layout.Sensor(id); ok {
			at = k
		}
	}
	if at == layout.None || in.ClearanceM.Set {
		return remedy.Ways{}
	}
	ways := betterPlace(run, at, limit, func(m *probe.Model, _ *layout.Sensor) (bounded.Estimate, error) {
		with := *run
		with.Layout, with.Model = m.Layout, m
		way, err := gapOf(&with, in, func(k *layout.Insulation) (float64, error) {
			n, err := neededClearance(k)
			return n.DistanceM, err
		})
		return bounded.Estimate{Value: way.Likely.HighM, Low: way.Likely.LowM, High: way.Likely.HighM}, err
	})
	ways.None = ""
	return ways
}

// drawn says how a gap was had.
func drawn(g layout.Gap) string {
	out := "in the drawing"
	if g.NoBody {
		out = "from the element, whose part declares no whole body"
	}
	if len(g.Over) > 0 {
		out += fmt.Sprintf(", over %s as the sum of both parts of air", strings.Join(g.Over, " and "))
	}
	if g.DrawnM > g.HighM {
		out += fmt.Sprintf(", at the worst placement; %s as drawn", si.Format(g.DrawnM, "m"))
	}
	return out
}

// distance returns the distance that the tables need, or a longer one that a house
// standard asks for: a house loosens no table.
func distance(run *engine.Run, in *layout.Insulation, need insulation.Need) engine.Bound {
	out := engine.Bound{Value: need.DistanceM, Unit: "m", AtLeast: true, Origin: need.Table + ", row " + need.Row}
	for _, name := range in.Between {
		channel := ""
		if _, ok := run.Layout.Sensor(name); ok {
			channel = name
		}
		if b := run.Limit("distance", channel); !b.IsDefault() && b.Value > out.Value {
			out = b
		}
	}
	return out
}

func unconfirmed(n insulation.Need) string {
	if n.Confidence.Confirmed() {
		return ""
	}
	return fmt.Sprintf(", from a row not confirmed against the standard's text (mark %s)", n.Confidence)
}

func steps(in *layout.Insulation, n insulation.Need) []finding.Related {
	var out []finding.Related
	for _, s := range n.Steps {
		out = append(out, finding.Related{Span: in.Span, Message: s})
	}
	return out
}

// price says what a wider gap costs a sensor in field, when one of the two is a
// sensor and the other the bar that it reads.
func price(run *engine.Run, in *layout.Insulation, moreM float64) string {
	for k := range in.Between {
		i, ok := run.Layout.Sensor(in.Between[k])
		if !ok {
			continue
		}
		s := &run.Layout.Sensors[i]
		if run.Layout.Bars[s.Reads].ID != in.Between[1-k] {
			continue
		}
		price, err := run.Model.PriceOfGap(s, moreM)
		if err != nil || math.IsNaN(price.Whole) {
			return "; what that costs in field is not known"
		}
		return fmt.Sprintf("; the field wants it closer: the first millimetre costs %s of the reading, %s in all cost %s",
			si.Percent(price.PerMetre*1e-3), si.Format(moreM, "m"), si.Percent(price.Whole))
	}
	return ""
}
