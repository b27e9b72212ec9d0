package rules

import (
	"fmt"

	"busgauss/model/geom"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// checkSources reports wires and magnets whose middle lies inside the metal of a straight bar or of a shield.
func checkSources(run *engine.Run) {
	around := &run.Layout.Surroundings
	for i := range around.Wires {
		w := &around.Wires[i]
		checkSource(run, "wire", w.ID, w.At.Span, w.At.Point())
	}
	for i := range around.Magnets {
		g := &around.Magnets[i]
		checkSource(run, "magnet", g.ID, g.At.Span, g.At.Point())
	}
}

func checkSource(run *engine.Run, what, id string, span span.Span, at geom.Point) {
	inside := func(piece, other string) {
		run.Fail(id, span, []string{other}, fmt.Sprintf("move %s out of %s %q", id, piece, other),
			"this %s stands inside %s %q", what, piece, other)
	}
	for i := range run.Layout.Bars {
		if b := &run.Layout.Bars[i]; len(b.Run) == 0 && b.DistanceM(at) == 0 {
			inside("bar", b.ID)
		}
	}
	for i := range run.Layout.Shields {
		if s := &run.Layout.Shields[i]; s.Region().Contains(at) {
			inside("shield", s.ID)
		}
	}
}
