package engine

import (
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Further sentences follow a failure and an open verdict, once, and are not asked of a pass; they stay with their finding.
func TestExplain(t *testing.T) {
	rule := good()
	asked := 0
	rule.Check = func(r *Run) {
		r.Pass("R", r.Layout.Span, "all is well")
		for object, found := range map[string]bounded.Estimate{"P": bounded.Exact(0.02), "F": bounded.Exact(0.08),
			"U": {Low: 0.04, Value: 0.05, High: 0.06}} {
			r.Judge(Case{Object: object, Found: found, Limit: r.Limit("most", object), Says: "it is", Rest: "so",
				Explain: func() []string { asked++; return []string{"Because of " + object, "", "So be it"} }})
		}
	}
	l := &layout.Layout{}
	want := map[string]string{"R": "R: all is well", "P": "P: it is 2.00 % so, limit 5 %",
		"F": "F: it is 8.00 % so, limit 5 %. Because of F. So be it",
		"U": "U: it is 5.00 % so, limit 5 %: between 4.00 % and 6.00 %. Because of U. So be it"}
	for _, f := range CheckWith(probe.NewModel(l), []Rule{rule}, Options{NoRemedies: true}) {
		if f.Message != want[f.Object] {
			t.Errorf("%s: %q, want %q", f.Object, f.Message, want[f.Object])
		}
	}
	if asked != 2 {
		t.Errorf("asked %d times, want 2", asked)
	}
	// What a house standard takes for permitted is not explained.
	asked = 0
	CheckWith(probe.NewModel(l), []Rule{rule}, Options{NoRemedies: true, Grade: func(found []finding.Finding) {
		for i := range found {
			found[i].Verdict = finding.Permitted
		}
	}})
	if asked != 0 {
		t.Errorf("asked %d times of what is permitted", asked)
	}
}
