package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// aboveBar is a lone flat bar with a sensor above its face.
func aboveBar(widthMM, thicknessMM, heightMM float64, rest string) string {
	return fmt.Sprintf(`layout: 1
bars: {A: {section: {width: %g mm, thickness: %g mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, %g mm], axis: 180 deg}}
duties: {d: {kind: continuous, currents: {A: {dc: 400 A}}}}
`, widthMM, thicknessMM, thicknessMM/2+heightMM) + rest
}

// flatPerA is the field of 1 A in a 20 x 3 mm bar 4 mm above its face, in T
// (fixtures/reference/computed-references.yaml, bar_field_versus_frequency, static).
const flatPerA = 21.40742e-6

// Earth's 0.065 mT are 1.3 times what 0.05 mT are: 2.34 A on a 20 x 3 mm bar at 4 mm, 0.85 A
// on 6 x 2 mm at 1.5 mm (common practice: three and two digits).
func TestAmbientEarth(t *testing.T) {
	f := one(t, check(t, rules.AmbientField, aboveBar(20, 3, 4, "")), "S")
	measured(t, f, finding.Pass, 65e-6/flatPerA, 3e-4)
	measured(t, f, finding.Pass, 1.3*2.34, 3e-3)
	measured(t, one(t, check(t, rules.AmbientField, aboveBar(6, 2, 1.5, "")), "S"), finding.Pass, 1.3*0.85, 6e-3)
}

// A declared field of any direction holds the Earth's when it is larger; one of
// known direction adds to it, by its part on the axis.
func TestAmbientUniform(t *testing.T) {
	for rest, wantT := range map[string]float64{
		"surroundings: {uniform: 0.08 mT}\n":                                    80e-6,
		"surroundings: {uniform: 0.02 mT}\n":                                    65e-6,
		"surroundings: {uniform: {flux-density: 0.02 mT, direction: 60 deg}}\n": 75e-6, // 20·cos 60° more
		"surroundings: {uniform: {flux-density: 0.02 mT, direction: 90 deg}}\n": 65e-6,
		"surroundings: {immunity: {rms: 30 A/m, frequency: 50 Hz}}\n": 65e-6 +
			4e-7*math.Pi*30*math.Sqrt2,
		"surroundings: {wires: {w: {at: [0 mm, 105.5 mm], dc: 10 A}}}\n": 65e-6 + 2e-7*10/0.1,
		"surroundings: {wires: {w: {at: [100 mm, 5.5 mm], dc: 10 A}}}\n": 65e-6, // its field runs across the axis
		"surroundings: {wires: {w: {at: [0 mm, 105.5 mm], rms: 10 A, frequency: 50 Hz}}}\n": 65e-6 +
			2e-7*10*math.Sqrt2/0.1,
	} {
		f := one(t, check(t, rules.AmbientField, aboveBar(20, 3, 4, rest)), "S")
		if got, want := f.Measure.Value, wantT/flatPerA; math.Abs(got-want) > 3e-4*want {
			t.Errorf("%s: %.5g A, want %.5g", rest, got, want)
		}
	}
}

// A disc magnet of 6 x 2 mm and 1.2 T on its own axis: 7.39, 1.136, 0.358, 0.081 mT
// at 10, 20, 30, 50 mm from its face (common practice), so a millimetre more from
// its centre.
func TestAmbientMagnet(t *testing.T) {
	for distanceMM, wantT := range map[float64]float64{10: 7.39e-3, 20: 1.136e-3, 30: 0.358e-3, 50: 0.081e-3} {
		yaml := aboveBar(20, 3, 4, fmt.Sprintf(`surroundings:
  magnets: {m: {form: {disc: {diameter: 6 mm, thickness: 2 mm}}, at: [%g mm, 5.5 mm], magnetised: 0 deg, remanence: 1.2 T}}
`, distanceMM+1))
		f := one(t, check(t, rules.AmbientField, yaml), "S")
		if got, want := f.Measure.Value, (wantT+65e-6)/flatPerA; math.Abs(got-want) > 5e-3*want {
			t.Errorf("%g mm: %.5g A, want %.5g", distanceMM, got, want)
		}
	}
}

// Both elements of a pair see the same uniform field, so its difference is zero.
func TestAmbientPairIsBlindToUniformField(t *testing.T) {
	yaml := strings.Replace(aboveBar(20, 3, 4, "surroundings: {uniform: 0.06 mT}\n"), "axis: 180 deg", "axis: 180 deg, pair: {spacing: 2 mm, along: 90 deg}", 1)
	measured(t, one(t, check(t, rules.AmbientField, yaml), "S"), finding.Pass, 0, 0)
}

// The need of a layout tightens the limit and never loosens it: two per cent of
// 400 A are 8 A.
func TestAmbientNeedTightensOnly(t *testing.T) {
	for need, want := range map[string]float64{"1 A": 1, "20 A": 8} {
		f := one(t, check(t, rules.AmbientField, aboveBar(20, 3, 4, "needs: {all: {ambient: "+need+"}}\n")), "S")
		if f.Measure.Limit != want {
			t.Errorf("need %s: limit %g, want %g", need, f.Measure.Limit, want)
		}
	}
}
