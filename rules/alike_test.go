package rules_test

import (
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// What is made alike and fails alike gets one wall; where the whole layout refuses that, the default set says so and that none
// alone was tried, and all remedies try each alone.
func TestAlikeShieldsGetOneWall(t *testing.T) {
	data, err := fixtures.FS.ReadFile("failing/winch-channels.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l := mustLoad(t, string(data))
	thick := engine.Rule{ID: "thick-walls", Title: "two walls are thick", Level: finding.Error, Check: func(run *engine.Run) {
		n := 0
		for i := range run.Layout.Shields {
			if run.Layout.Shields[i].Form.WallM.V > 0.8e-3 {
				n++
			}
		}
		if n == 2 {
			run.Fail("", run.Layout.Shields[0].Span, nil, "", "both walls are thick")
		}
	}}
	const both = "wall of KP and KM from 0.7 to 1.0 mm"
	for _, c := range []struct {
		name string
		list []engine.Rule
		opt  engine.Options
		want map[string]string // the beginning of the remedy
	}{
		{"holds", []engine.Rule{rules.ShieldSaturation}, engine.Options{}, map[string]string{"KP": both + ": 97", "KM": both + ": 97"}},
		{"refused", []engine.Rule{rules.ShieldSaturation, thick}, engine.Options{}, map[string]string{
			"KP": "no wall that fits passes (--remedies all tries each alone, opening and legs); " + both + " would, but it brings thick-walls",
			"KM": "no wall that fits passes (--remedies all tries each alone, opening and legs); " + both + " would, but it brings thick-walls"}},
		{"each alone", []engine.Rule{rules.ShieldSaturation, thick}, engine.Options{AllRemedies: true}, map[string]string{
			"KP": "wall of KP from 0.7 to 1.0 mm: 97", "KM": "wall of KM from 0.7 to 1.0 mm: 97"}},
	} {
		if c.opt.AllRemedies && !*long {
			continue
		}
		found := engine.Check(l, c.list, c.opt)
		if len(found) != 2 {
			t.Errorf("%s: %d findings, want 2", c.name, len(found))
		}
		for _, f := range found {
			if want := c.want[f.Object]; !strings.HasPrefix(f.Remedy, want) {
				t.Errorf("%s: %s: %q, want %q", c.name, f.Object, f.Remedy, want)
			}
		}
	}
}
