package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Rules of bare bars behind iron, against independent computations of a U
// (computed-references.yaml, u_shield, linear: mur, Bx in mT per kA, what is
// left of a uniform field along x and along y).
var shielded = []struct {
	muRel                string
	ownT, alongX, alongY float64
}{
	{"10", 30.6607e-6, 0.86071, 0.79538},
	{"100", 46.1868e-6, 0.35273, 0.44374},
	{"1000", 55.0777e-6, 0.07445, 0.34937},
	{"10000", 56.410e-6, 0.03307, 0.33832},
}

// What a uniform field of 1 mT adds to the offset in amperes: along x, on the
// axis, what is left of it over the own field per ampere. On an axis that leans by
// 45° a field along y and the own field both lose the root of two.
func TestAmbientFieldBehindIron(t *testing.T) {
	for _, c := range shielded {
		for _, d := range []struct {
			axis, direction string
			factor          float64
		}{{"180 deg", "0 deg", c.alongX}, {"135 deg", "90 deg", c.alongY}} {
			yaml := uShield("relative-permeability: "+c.muRel, "kind: continuous, currents: {A: {dc: 1 kA}}")
			yaml = strings.Replace(yaml, "axis: 180 deg}", "axis: "+d.axis+"}", 1)
			plain := one(t, check(t, rules.AmbientField, yaml), "S")
			with := one(t, check(t, rules.AmbientField, yaml+"surroundings: {uniform: {flux-density: 1 mT, direction: "+d.direction+"}}\n"), "S")
			if plain.Measure == nil || with.Measure == nil {
				t.Fatalf("no number: %s / %s", plain.Message, with.Message)
			}
			want := 1e-3 * d.factor / c.ownT
			if got := with.Measure.Value - plain.Measure.Value; math.Abs(got/want-1) > 0.005 {
				t.Errorf("permeability %s: 1 mT along %s is %.5g A, want %.5g A", c.muRel, d.direction, got, want)
			}
		}
	}
}

// 100 mT of range: the share is that of the own field.
func TestLinearRangeBehindIron(t *testing.T) {
	for _, c := range shielded {
		yaml := uShield("relative-permeability: "+c.muRel, "kind: continuous, currents: {A: {dc: 1 kA}}")
		yaml = strings.Replace(yaml, "axis: 180 deg}", "axis: 180 deg, part: plover-100}", 1) + "parts: {plover-100: {linear-range: 100 mT}}\n"
		measured(t, one(t, check(t, rules.LinearRange, yaml), "S"), finding.Pass, 1e3*c.ownT/0.1, 0.003)
	}
}

// A tilt turns the own field, which lies on the axis by symmetry, out of it:
// 1 − cos 5°, as without a shield.
func TestPlacementBehindIron(t *testing.T) {
	yaml := uShield("relative-permeability: 1000", "kind: continuous, currents: {A: {dc: 1 kA}}")
	yaml = strings.Replace(yaml, "axis: 180 deg}", "axis: 180 deg, placement: {x: 0 mm, y: 0 mm, tilt: 5 deg}}", 1)
	f := one(t, check(t, rules.Placement, yaml), "S")
	if f.Measure == nil {
		t.Fatal(f.Message)
	}
	if want := 1 - math.Cos(5*math.Pi/180); math.Abs(f.Measure.Value-want) > 1e-4 {
		t.Errorf("placement %.5g, want %.5g: %s", f.Measure.Value, want, f.Message)
	}
}

// A bar far away makes a field that is uniform over the shield: at 1 m beside
// the U it is μ0/(2π·1 m) along y, and on an axis along y what is left of it is
// the factor along y. The own field has no part there, so the axis leans by 45°,
// on which the own field loses the root of two and so does the stray.
func TestStrayRatioBehindIron(t *testing.T) {
	for _, c := range shielded {
		yaml := uShield("relative-permeability: "+c.muRel, "kind: continuous, currents: {A: {dc: 100 A}, B: {dc: 100 A}}")
		yaml = strings.Replace(yaml, "axis: 180 deg}", "axis: 135 deg}", 1)
		yaml = strings.Replace(yaml, "shields:\n", "  B: {section: {diameter: 10 mm}, at: [1 m, 11 mm], metal: copper}\nshields:\n", 1)
		f := one(t, check(t, rules.StrayRatio, yaml), "S")
		if f.Measure == nil {
			t.Fatal(f.Message)
		}
		if want := 2e-7 * c.alongY / c.ownT; math.Abs(f.Measure.Value/want-1) > 0.02 {
			t.Errorf("permeability %s: stray %.5g, want %.5g", c.muRel, f.Measure.Value, want)
		}
	}
}
