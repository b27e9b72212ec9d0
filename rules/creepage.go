package rules

import (
	"fmt"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/insulation"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Creepage reminds of a path along a surface that is shorter than the working
// voltage asks for. It is a reminder and no certificate: the edition of the
// standard that applies, local codes and a licensed practitioner decide.
//
//	Quantity  declared creepage distance, m; not declared, at least the air gap of the drawing, in space and at the worst
//	          placement, as in rule clearance
//	Formula   needed distance from working voltage, pollution degree, material group and kind, never below the
//	          clearance that the voltages need; see model/insulation
//	Valid     a path along surfaces is not in the drawing: without a declared value the rule passes where even the air gap
//	          is long enough, and is undecided otherwise; undecided where an impulse is declared below a voltage that lasts
//	Source    IEC 60664-1:2007 tables F.4, F.7a; rows that could not be confirmed are said so
//	Not seen  grooves and ribs, coating (IEC 60664-3), the clearance as a floor where no impulse voltage is known, and
//	          what rule clearance does not see
var Creepage = engine.Rule{
	ID:    "creepage",
	Title: "reminder: a path along a surface is shorter than its voltage asks for",
	Level: finding.Warning,
	Pair:  true,
	Limits: []engine.Limit{{
		Key: "distance", Unit: "m", Default: 0, AtLeast: true,
		Reason: "IEC 60664-1 for the declared working voltage, pollution degree, material group and kind; the default asks for nothing",
	}},
	Check: checkCreepage,
}

func checkCreepage(run *engine.Run) {
	for i := range run.Layout.Insulation {
		in := &run.Layout.Insulation[i]
		a, b := in.Between[0], in.Between[1]
		need, err := neededCreepage(in)
		if err != nil {
			run.Undecided(a, in.Span, b, "creepage to %q cannot be judged. %s", b, reason(err))
			continue
		}
		way, err := gapOf(run, in, func(k *layout.Insulation) (float64, error) {
			n, err := neededCreepage(k)
			return n.DistanceM, err
		})
		if err != nil {
			run.Undecided(a, in.Span, b, "creepage to %q cannot be judged. No distance: %v", b, err)
			continue
		}
		gap := way.Sure // what is not sure to be apart proves no path
		found, how := bounded.Exact(gap.LowM), "the air gap at least"
		if in.ClearanceM.Set && in.ClearanceM.V < gap.LowM {
			found, how = bounded.Exact(in.ClearanceM.V), "the declared clearance at least"
		}
		if in.CreepageM.Set {
			found, how = bounded.Exact(in.CreepageM.V), "declared"
		}
		limit := distance(run, in, need)
		if !in.CreepageM.Set && engine.Decide(found, limit.Value, true) != finding.Pass {
			house := ""
			if limit.Value > need.DistanceM {
				house = fmt.Sprintf(". The house asks for %s", si.Format(limit.Value, "m"))
			}
			run.Undecided(a, in.Span, b, "creepage to %q is not declared, and its air of %s is less than the %s needed. "+
				"%s insulation needs %s%s%s. Declare its creepage",
				b, si.Format(found.Value, "m"), engine.ShowLimit(limit.Value, "m"), engine.Sentence(in.Kind), si.Format(need.DistanceM, "m"), unconfirmed(need), house)
			continue
		}
		run.Judge(engine.Case{
			Object: a, Others: []string{b}, Cause: b, Span: in.Span, Found: found, Limit: limit,
			Says: fmt.Sprintf("creepage to %q is", b),
			Why: []string{"That is " + how,
				fmt.Sprintf("%s insulation needs %s%s", engine.Sentence(in.Kind), si.Format(need.DistanceM, "m"), unconfirmed(need)), reminder},
			Related: steps(in, need),
			Remedy: func() string {
				return fmt.Sprintf("lengthen the path by %s, or a material of a better group", si.Format(limit.Value-found.Value, "m"))
			},
		})
	}
}

func neededCreepage(in *layout.Insulation) (insulation.Need, error) {
	kind, ok := insulation.KindByName(in.Kind)
	if !ok {
		return insulation.Need{}, fmt.Errorf("kind %q is unknown", in.Kind)
	}
	group, ok := insulation.GroupByName(in.Group)
	if !ok {
		return insulation.Need{}, fmt.Errorf("material group %q is unknown", in.Group)
	}
	if !in.WorkingV.Set {
		return insulation.Need{}, fmt.Errorf("no working voltage is given")
	}
	need, err := insulation.Creepage(in.WorkingV.V, int(in.PollutionDegree.V), group, kind, in.PrintedBoard)
	if err != nil {
		return insulation.Need{}, err
	}
	c, err := neededClearance(in)
	if err != nil {
		return insulation.Need{}, err
	}
	return insulation.CreepageNotBelow(need, c.Need), nil
}
