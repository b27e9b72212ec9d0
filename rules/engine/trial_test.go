package engine

import (
	"slices"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
)

// A change is refused by the first rule that it leaves worse, and what would have been asked after that is not: the rules
// that found something come first, that of the finding after them, and of the others none.
func TestTrialEndsWithTheFirstReason(t *testing.T) {
	const drawn, changed = "drawn", "changed"
	var asked []string
	of := func(id string, before, after float64) Rule {
		r := good()
		r.ID = id
		r.Check = func(r *Run) {
			v := before
			if r.Layout.Title == changed {
				asked = append(asked, id)
				v = after
			}
			c := Case{Object: "S", Found: bounded.Exact(v), Limit: r.Limit("most", "S"), Says: "it is"}
			if id == "mended" {
				c.Ways = func() remedy.Ways {
					o := remedy.Offer{Title: "the change", Model: probe.NewModel(&layout.Layout{Title: changed})}
					return remedy.Ways{None: "nothing", Offers: slices.Values([]remedy.Offer{o})}
				}
			}
			r.Judge(c)
		}
		return r
	}
	for _, c := range []struct {
		name   string
		rules  []Rule
		remedy string
		asked  []string
	}{
		{"holds", []Rule{of("calm", 0.01, 0.01), of("mended", 0.08, 0.01), of("ailing", 0.07, 0.07)}, "the change",
			[]string{"ailing", "calm", "mended"}},
		{"worse", []Rule{of("calm", 0.01, 0.09), of("mended", 0.08, 0.01), of("ailing", 0.07, 0.09)},
			"nothing; the change would, but it makes worse ailing of S (9.00 %, limit 5 %)", []string{"ailing"}},
		{"new", []Rule{of("calm", 0.01, 0.09), of("mended", 0.08, 0.01), of("last", 0.01, 0.01)},
			"nothing; the change would, but it brings calm of S (9.00 %, limit 5 %)", []string{"calm"}},
	} {
		asked = nil
		for _, f := range Check(&layout.Layout{Title: drawn}, c.rules, Options{}) {
			if f.Rule == "mended" && f.Remedy != c.remedy {
				t.Errorf("%s: %q, want %q", c.name, f.Remedy, c.remedy)
			}
		}
		if !slices.Equal(asked, c.asked) {
			t.Errorf("%s: asked %q, want %q", c.name, asked, c.asked)
		}
	}
}
