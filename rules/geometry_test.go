package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// What each drawing must say; the bar A is 20 x 4 mm at the origin.
func TestGeometry(t *testing.T) {
	for _, c := range []struct {
		name, bars, sensor, rest, object, want string
		verdict                                finding.Verdict
	}{
		{"free", "", "[0 mm, 5 mm]", "", "S", `stands free, 3.00 mm from its bar "A"`, finding.Pass},
		{"inside its bar", "", "[0 mm, 1 mm]", "", "S", `stands inside bar "A"`, finding.Fail},
		{"inside another bar", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 8 mm], metal: copper}", "[0 mm, 7 mm]", "", "S", `inside bar "B"`, finding.Fail},
		{"behind another bar", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 8 mm], metal: copper}", "[0 mm, 12 mm]", "", "S", `bar "B" stands between it and its bar "A"`, finding.Fail},
		{"beside another bar", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [30 mm, 0 mm], metal: copper}", "[0 mm, 12 mm]", "", "S", "stands free", finding.Pass},
		{"behind a shield", "", "[0 mm, 12 mm]", plate("[0 mm, 6 mm]"), "S", `shield "P" stands between`, finding.Fail},
		{"before a shield", "", "[0 mm, 5 mm]", plate("[0 mm, 8 mm]"), "S", "stands free", finding.Pass},
		{"shield in a bar", "", "[0 mm, 12 mm]", plate("[0 mm, 1 mm]"), "P", `this shield overlaps bar "A"`, finding.Fail},
		{"bar in a bar", "B: {section: {width: 2 mm, thickness: 2 mm}, at: [3 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "", "B", `this bar overlaps bar "A"`, finding.Fail},
		{"touching it", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [20 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "", "B", `this bar touches bar "A"`, finding.Fail},
		{"touching and bonded", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [20 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "bonded: [A, B]", "B", "overlaps nothing", finding.Pass},
		{"a shield on it", "", "[0 mm, 5 mm]", plate("[0 mm, -2.5 mm]"), "P", `this shield touches bar "A"`, finding.Fail},
		{"turned into it", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [21 mm, 0 mm], turn: 0 deg, metal: copper}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"turned out of it", "B: {section: {width: 24 mm, thickness: 4 mm}, at: [21 mm, 0 mm], turn: 90 deg, metal: copper}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"round bar clear of it", "B: {section: {diameter: 10 mm}, at: [15.01 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"round bar nearly on it", "B: {section: {diameter: 10 mm}, at: [15.001 mm, 0 mm], metal: copper}",
			"[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"round bar on it", "B: {section: {diameter: 10 mm}, at: [15 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "",
			"B", "touches", finding.Fail},
		{"round bar in it by a micrometre", "B: {section: {diameter: 10 mm}, at: [14.999 mm, 0 mm], metal: copper}",
			"[0 mm, 5 mm]", "", "B", "overlaps", finding.Fail},
		{"round bar in it", "B: {section: {diameter: 10 mm}, at: [14.9 mm, 0 mm], metal: copper}", "[0 mm, 5 mm]", "", "B", "overlaps", finding.Fail},
	} {
		yaml := fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
  %s
sensors: {S: {reads: A, at: %s, axis: 180 deg}}
%s`, c.bars, c.sensor, c.rest)
		f := one(t, check(t, rules.Geometry, yaml), c.object)
		if f.Verdict != c.verdict || !strings.Contains(f.Message, c.want) {
			t.Errorf("%s: %v %s", c.name, f.Verdict, f.Message)
		}
	}
}

func plate(at string) string {
	return `shields: {P: {form: {plate: {width: 40 mm, thickness: 1 mm}}, at: ` + at + `, material: iron}}
materials: {iron: {relative-permeability: 5000}}
`
}

// Each element of a pair must see the bar.
func TestGeometryPair(t *testing.T) {
	yaml := `layout: 1
bars: {A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, 4 mm], axis: 180 deg, pair: {spacing: 6 mm, along: 90 deg}}}
`
	if f := one(t, check(t, rules.Geometry, yaml), "S"); f.Verdict != finding.Fail {
		t.Errorf("an element 1 mm deep in the bar: %v %s", f.Verdict, f.Message)
	}
}
