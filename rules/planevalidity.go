package rules

import (
	"fmt"
	"math"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// PlaneValidity reports a sensor for which the plane section is not good enough,
// since bars end, bend or neck down near it or shields end, and says by how much.
// Where the field is computed in space all verdicts take it from there, and this is a note.
//
//	Quantity  largest share of the own reading by which the plane section may be off: own field, or field of another bar
//	          on the axis at equal currents, pure number
//	Formula   in space: difference of both fields; else bars: law of Biot and Savart along the declared centre line less that of an endless line; shields: own field
//	          lower by 0.042·(width/1.1 depth)^1.8, other bars' field on the axis up to 5.5 times as large
//	Valid     direct current, sensor in the middle half of a shield, shields alike to a U (its reference); a bar that
//	          declares no length counts as long and is listed as assumed; a shield that declares no depth may have any from
//	          its outer width up; beside shields of finite depth one that is long, or declares none, is taken in space at two depths
//	Source    J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2; independent computations in space of a U
//	          22 mm wide; two per cent are common practice
//	Not seen  what joins a bar beyond its declared ends: a bend declared as a run counts, an undeclared one does not
var PlaneValidity = engine.Rule{
	ID:    "plane-validity",
	Title: "the plane section is not good enough for a sensor",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "error", Unit: "1", Default: 0.02,
		Of:     finding.Share{Whole: finding.FullScale, Words: "of the own reading"},
		Reason: "common practice: two per cent of own reading",
	}},
	Check: checkPlaneValidity,
}

func checkPlaneValidity(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		e, err := run.Model.PlaneError(s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		limit := run.Limit("error", s.ID)
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Span: s.Span, Found: e.Worst, Limit: limit,
			Level:  planeLevel(e),
			Says:   "the plane section is off by",
			Why:    planeWords(run, s, e),
			Remedy: func() string { return planeRemedy(run, s, e, limit.Value) },
		})
	})
}

// planeLevel makes the finding a note where verdicts do not rest on the section.
func planeLevel(e field.PlaneError) finding.Level {
	if e.InSpace {
		return finding.Note
	}
	return finding.None
}

// spaceWords says what the section would have made of the values in space.
func spaceWords(run *engine.Run, s *layout.Sensor, e field.PlaneError) []string {
	parts := []string{"Values are taken in space", fmt.Sprintf("The section reads its own %s %s off", run.Layout.ReadName(s), si.Percent(e.Own))}
	if e.Beside != layout.None && math.IsInf(e.Factor, 1) {
		parts = append(parts, fmt.Sprintf("%s puts a field on the axis of which the section has nothing", engine.Sentence(run.Layout.CircuitName(e.Beside))))
	} else if e.Beside != layout.None {
		parts = append(parts,
			fmt.Sprintf("%s puts %.3g times as much on the axis", engine.Sentence(run.Layout.CircuitName(e.Beside)), e.Factor),
			fmt.Sprintf("That is a difference of %s at equal currents", si.Percent(e.Stray)))
	}
	if e.Shield != layout.None {
		k := &run.Layout.Shields[e.Shield]
		deep := si.Format(k.DepthM.V, "m") + " deep"
		switch {
		case k.Long:
			deep = "long"
		case field.DepthUnknown(k):
			deep = "of no declared depth"
		}
		parts = append(parts, fmt.Sprintf("The wall of shield %q, %s, carries %.3g times the flux density", k.ID, deep, e.Wall))
	}
	return parts
}

func planeWords(run *engine.Run, s *layout.Sensor, e field.PlaneError) []string {
	bar := &run.Layout.Bars[s.Reads]
	if e.Long {
		return []string{"No bar and no shield declares an end: all are taken as long"}
	}
	if e.InSpace {
		return spaceWords(run, s, e)
	}
	var parts []string
	if e.Reason != "" {
		parts = append(parts, fmt.Sprintf("Nothing is computed in space since %s", e.Reason))
	}
	if !math.IsInf(e.StraightM, 1) {
		parts = append(parts, fmt.Sprintf("Bar %q is straight for %s to its nearer end or bend", bar.ID, si.Format(e.StraightM, "m")),
			fmt.Sprintf("That moves the own reading by %s", si.Percent(e.Ends)))
	}
	if e.Shield != layout.None {
		parts = append(parts, shieldEnds(&run.Layout.Shields[e.Shield], e)...)
	}
	if e.Beside != layout.None && e.Stray > 0 {
		parts = append(parts, fmt.Sprintf("%s may add %s more at equal currents", engine.Sentence(run.Layout.CircuitName(e.Beside)),
			si.Percent(e.Stray)))
	}
	return parts
}

// shieldEnds says what the end of a shield does, or may do.
func shieldEnds(k *layout.Shield, e field.PlaneError) []string {
	if field.DepthUnknown(k) {
		return []string{fmt.Sprintf("Shield %q declares no depth: say its `depth`, or `depth: long`", k.ID),
			fmt.Sprintf("Were it no deeper than wide, that would take up to %s from the own reading", si.Percent(e.Depth)),
			fmt.Sprintf("It would put up to %.3g times the flux density into its wall", e.Wall)}
	}
	return []string{fmt.Sprintf("Shield %q is %s deep, which takes up to %s from the own reading", k.ID, si.Format(k.DepthM.V, "m"), si.Percent(e.Depth)),
		fmt.Sprintf("It puts up to %.3g times the flux density into its wall", e.Wall)}
}

// planeRemedy names the length or depth from which on the section would do, where
// one cause alone is to blame.
func planeRemedy(run *engine.Run, s *layout.Sensor, e field.PlaneError, limit float64) string {
	space := "take the values in space, not from the plane section"
	if e.InSpace {
		space = "nothing to mend: no verdict rests on the section"
		if e.Shield != layout.None || len(run.Layout.Bars[s.Reads].Cuts) > 0 {
			return space
		}
	}
	switch {
	case e.Stray > limit || e.Ends > limit && e.Depth > limit:
		return space
	case e.Depth > limit:
		left := limit - e.Ends
		if !(left > 0) {
			return space
		}
		return fmt.Sprintf("%s; the section would do from a depth of %s for %s on", space,
			si.Format(field.DepthFor(run.Layout, e.Shield, left), "m"), run.Layout.Shields[e.Shield].ID)
	}
	bar := &run.Layout.Bars[s.Reads]
	length := run.Model.StraightFor(s, limit-e.Depth)
	if math.IsNaN(length) {
		return space
	}
	return fmt.Sprintf("%s; the section would do if %s were straight over %s about the section", space, bar.ID, si.Format(length, "m"))
}
