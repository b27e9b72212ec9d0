package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/insulation"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Clearance reminds of an air gap that is smaller than the impulse voltage asks
// for, and names what a wider gap costs in field. It is a reminder and no
// certificate: the edition of the standard that applies, local codes and a
// licensed practitioner decide.
//
//	Quantity  straight distance between two objects in the plane, m
//	Formula   needed distance from impulse voltage (given, or from supply and overvoltage category), pollution
//	          degree, kind of insulation and altitude; see model/insulation
//	Valid     inhomogeneous field (case A); a sensor without a declared body is known by its element only, so its gap is an
//	          upper bound and never passes
//	Source    IEC 60664-1:2007 tables F.1, F.2, A.2; rows that could not be confirmed are said so
//	Not seen  parts that the file does not name, solid insulation, frequency above 30 kHz (IEC 60664-4)
var Clearance = engine.Rule{
	ID:    "clearance",
	Title: "reminder: an air gap is smaller than its voltage asks for",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "distance", Unit: "m", Default: 0, AtLeast: true,
		Reason: "IEC 60664-1 for the declared voltage, pollution degree, kind and altitude; the default asks for nothing",
	}},
	Check: checkClearance,
}

func checkClearance(run *engine.Run) {
	for i := range run.Layout.Insulation {
		in := &run.Layout.Insulation[i]
		need, err := neededClearance(in)
		if err != nil {
			run.Undecided(in.Between[0], in.Span, in.Between[1], "clearance between %q and %q: %v", in.Between[0], in.Between[1], err)
			continue
		}
		gap, ok := run.Layout.GapBetween(in.Between[0], in.Between[1])
		if !ok {
			run.Undecided(in.Between[0], in.Span, in.Between[1], "clearance between %q and %q: no distance in the plane", in.Between[0], in.Between[1])
			continue
		}
		found, how := bounded.Estimate{Value: gap.HighM, Low: gap.LowM, High: gap.HighM}, "in the drawing"
		if gap.LowM != gap.HighM {
			how = "from the element, whose part declares no body"
		}
		if in.ClearanceM.Set {
			found, how = bounded.Exact(in.ClearanceM.V), "declared"
		}
		limit := distance(run, in, need)
		run.Judge(engine.Case{
			Object: in.Between[0], Others: []string{in.Between[1]}, Cause: in.Between[1], Span: in.Span,
			Found: found,
			Limit: limit,
			Message: fmt.Sprintf("clearance between %q and %q is %s (%s), %s insulation needs %s%s (a reminder: the standard that applies prevails)",
				in.Between[0], in.Between[1], si.Format(found.Value, "m"), how, in.Kind, si.Format(need.DistanceM, "m"), unconfirmed(need)),
			Related: steps(in, need),
			Remedy: func() string {
				return fmt.Sprintf("widen the gap by %s%s", si.Format(limit.Value-found.Value, "m"),
					price(run, in, limit.Value-found.Value))
			},
		})
	}
}

func neededClearance(in *layout.Insulation) (insulation.Need, error) {
	kind, ok := insulation.KindByName(in.Kind)
	if !ok {
		return insulation.Need{}, fmt.Errorf("kind %q is unknown", in.Kind)
	}
	degree := int(in.PollutionDegree.V)
	switch {
	case in.ImpulseV.Set:
		return insulation.Clearance(in.ImpulseV.V, degree, kind, in.AltitudeM.V)
	case in.SupplyV.Set && in.Category.Set:
		return insulation.SupplyClearance(in.SupplyV.V, int(in.Category.V), in.SupplyIsDC, degree, kind, in.AltitudeM.V)
	}
	return insulation.Need{}, fmt.Errorf("no voltage: give an impulse, or a supply with its overvoltage category")
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
