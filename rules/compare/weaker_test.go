package compare

import (
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// fixed is a standard that sets one limit and one level for a channel.
type fixed struct {
	channel string
	value   float64
	level   finding.Level
}

func (f fixed) Limit(_, _, channel string) (float64, string, span.Span, bool) {
	return f.value, "test", span.Span{}, channel == f.channel
}

func (f fixed) LevelOf(_, object string) (finding.Level, bool) { return f.level, object == f.channel }

// TestWeakenings holds what is taken from the checks of a layout against what was changed in it.
func TestWeakenings(t *testing.T) {
	need := func(n *layout.Need) layout.Num { return n.Stray }
	list := []engine.Rule{
		{ID: "stray-ratio", Level: finding.Error, Limits: []engine.Limit{{Key: "budget", Unit: "1", Default: 0.05, Need: need, NeedKey: "stray"}}},
		{ID: "range-use", Level: finding.Warning, Limits: []engine.Limit{{Key: "least", Unit: "1", Default: 0.2, AtLeast: true}}},
		{ID: "geometry", Level: finding.Error, FaultsOnly: true},
	}
	v := verdict
	gone := finding.Finding{Rule: "geometry", Object: "V", Verdict: finding.Fail, Level: finding.Error}
	silent := v("range-use", "SV", "", 0.02)
	silent.Verdict = finding.NotApplicable
	all := []finding.Finding{v("stray-ratio", "SU", "haul", 0.02), v("stray-ratio", "SV", "haul", 0.02), v("range-use", "SV", "", 0.02)}
	for _, c := range []struct {
		name          string
		edit          []string
		before, after []finding.Finding
		was, is       Standard
		want          []string
	}{
		{"nothing", nil, all, all, nil, nil, nil},
		{"a check without a verdict", nil, all, all[:2], nil, nil, []string{"checks-gone range-use"}},
		{"one that does not apply any more", nil, all, append(slices.Clone(all[:2]), silent), nil, nil, []string{"checks-gone range-use"}},
		{"a sensor", []string{"  SV: {reads: V, at: [0 mm, 5.5 mm], axis: 180 deg, part: wren}\n", ""}, all, all[:1], nil, nil,
			[]string{"checks-gone range-use", "checks-gone stray-ratio"}},
		{"a sensor renamed", []string{"SV:", "S2:"}, all, []finding.Finding{all[0], v("stray-ratio", "S2", "haul", 0.02), v("range-use", "S2", "", 0.02)}, nil, nil, nil},
		{"a duty traded for another", []string{"haul: {kind: continuous, currents: {U: {dc: 200 A}", "run: {kind: continuous, currents: {U: {dc: 100 A}"},
			all[:1], []finding.Finding{v("stray-ratio", "SU", "run", 0.01)}, nil, nil, []string{"checks-gone stray-ratio"}},
		{"a duty renamed", []string{"haul:", "run:"}, all[:1], []finding.Finding{v("stray-ratio", "SU", "run", 0.01)}, nil, nil, nil},
		{"a fault mended", nil, append(slices.Clone(all), gone), all, nil, nil, nil},
		{"a need", []string{"needs:\n  SU: {stray: 4 %}\n", ""}, all, all, nil, nil, []string{"limit-looser stray-ratio budget"}},
		{"a need that asks for less", []string{"stray: 4 %", "stray: 4.5 %"}, all, all, nil, nil, []string{"limit-looser stray-ratio budget"}},
		{"a need that asks for more", []string{"stray: 4 %", "stray: 3 %"}, all, all, nil, nil, nil},
		{"a ceiling raised", nil, all[:2], all[:2], nil, fixed{"SV", 0.06, finding.Error}, []string{"limit-looser stray-ratio budget"}},
		{"a ceiling lowered", nil, all[:2], all[:2], nil, fixed{"SV", 0.04, finding.Error}, nil},
		{"a floor lowered", nil, all[2:], all[2:], nil, fixed{"SV", 0.1, finding.Warning}, []string{"limit-looser range-use least"}},
		{"a floor raised", nil, all[2:], all[2:], nil, fixed{"SV", 0.3, finding.Warning}, nil},
		{"a level lowered", nil, all[2:], all[2:], fixed{"SV", 0.2, finding.Warning}, fixed{"SV", 0.2, finding.Note}, []string{"limit-looser range-use level"}},
		{"a rule turned off", nil, all[2:], nil, fixed{"SV", 0.2, finding.Warning}, fixed{"SV", 0.2, finding.None}, []string{"limit-looser range-use level"}},
		{"renamed out of a class", []string{"SV:", "S2:"}, all[1:2], []finding.Finding{v("stray-ratio", "S2", "haul", 0.02)}, fixed{"SV", 0.03, finding.Error},
			fixed{"SV", 0.03, finding.Error}, []string{"limit-looser stray-ratio budget"}},
	} {
		r := Compare([]Layout{{Path: "x", Hash: "1", Layout: read(t, "x", ferry), Findings: c.before, Standard: c.was}},
			[]Layout{{Path: "x", Hash: "2", Layout: read(t, "x", edited(t, c.edit...)), Findings: c.after, Standard: c.is}}, Options{Rules: list, All: true})
		var got []string
		for _, w := range r.Pairs[0].Weaker {
			got = append(got, strings.TrimSpace(w.Rule+" "+w.About+" "+w.Key))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestFate has a layout that is gone, one whose end is no matter, and one that could not be read before.
func TestFate(t *testing.T) {
	before := []Layout{
		{Path: "a", Layout: read(t, "a", ferry), Findings: []finding.Finding{verdict("stray-ratio", "SU", "haul", 0.02)}},
		{Path: "b", Layout: read(t, "b", strings.ReplaceAll(ferry, "200 A", "150 A"))}, {Path: "c"},
	}
	r := Compare(before, nil, Options{Fate: func(path string) string {
		if path == "a" {
			return "is lost"
		}
		return ""
	}})
	var got []string
	for i := range r.Pairs {
		for _, f := range r.Pairs[i].Findings(func(p string) string { return "shown/" + p }, func(*Weakening) bool { return false }) {
			got = append(got, f.Span.File+": "+f.Message)
		}
		if r.Pairs[i].Findings(func(p string) string { return p }, func(*Weakening) bool { return true }) != nil {
			t.Error("what is permitted is found")
		}
	}
	if want := []string{"shown/a: this layout, of which 1 check was made, is lost"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
