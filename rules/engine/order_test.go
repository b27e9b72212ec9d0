package engine

import (
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// A verdict that its named model errors alone keep open is not tried on finer meshes; one that meshes keep open, and one in a
// layout whose finer levels do more than that, is.
func TestRefinementEndsWhereMeshesDoNot(t *testing.T) {
	wall := layout.Layout{Shields: make([]layout.Shield, 1), Materials: make([]layout.Material, 1)}
	iron := layout.Layout{Shields: make([]layout.Shield, 1), Materials: []layout.Material{{MuRel: layout.Num{V: 1000, Set: true}, SaturationT: layout.Num{V: 1.5, Set: true}}}}
	for _, c := range []struct {
		name   string
		l      *layout.Layout
		half   float64 // of the bound, without that of meshes
		fine   bool    // whether the rule is content with the numbers
		levels int
	}{
		{"model error", &wall, 0.0095, true, 1},
		{"mesh", &wall, 0.008, true, 2},
		{"decided without meshes", &wall, 0.0005, true, 2},
		{"asks for finer numbers", &wall, 0.0095, false, 2},
		{"saturable", &iron, 0.0095, true, 2}, // the second level has states in place of a range, the third is not tried
	} {
		rule, levels := good(), 0
		rule.Check = func(r *Run) {
			half := 0.01
			if r.Model.IsRough() {
				half = c.half
			} else {
				levels++
			}
			if !c.fine {
				r.Finer()
			}
			r.Judge(Case{Object: "S", Found: bounded.Estimate{Low: 0.051 - half, Value: 0.051, High: 0.051 + half},
				Limit: r.Limit("most", "S"), Says: "it may be"})
		}
		out := decide(c.l, probe.NewModel(c.l), &rule, Options{}).out
		if levels != c.levels || len(out) != 1 {
			t.Errorf("%s: %d levels and %d findings, want %d and 1", c.name, levels, len(out), c.levels)
		}
	}
}
