package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules"
)

// smallBar is a 15 x 4 mm bar with a sensor at heightMM above its face.
func smallBar(heightMM float64, rest string) string {
	return fmt.Sprintf(`layout: 1
bars: {A: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, %.9g mm], axis: 180 deg, part: plover-8}}
parts: {plover-8: {linear-range: 8 mT, sensitivity: 200 mV/mT}}
`, 2+heightMM) + rest
}

// earthT is the Earth's field that is always counted, T.
const earthT = probe.EarthT

// smallBarT is the closed form of the field of 1 A there, T.
func smallBarT(heightMM float64) float64 {
	return -closedform.RectangleB(geom.Point{Y: (2 + heightMM) * 1e-3}, 15e-3, 4e-3, 1).X
}

// At 2.7 mT per 100 A an element linear to 8 mT is full at 296 A; who claims
// 500 A for it must be told (common practice). The height of 2.7 mT is searched
// in the closed form.
func TestLinearRangeFullAt296A(t *testing.T) {
	low, high := 2.0, 4.0
	for range 60 {
		if mid := (low + high) / 2; 100*smallBarT(mid) > 2.7e-3 {
			low = mid
		} else {
			high = mid
		}
	}
	claim := func(a float64) finding.Finding {
		return one(t, check(t, rules.LinearRange, smallBar(low, fmt.Sprintf("needs: {S: {range: %g A}}\n", a))), "S")
	}
	f := claim(500)
	measured(t, f, finding.Fail, (500*2.7e-5+earthT)/8e-3, 1e-4)
	if !strings.Contains(f.Message, "full at 296 A") || !strings.Contains(f.Message, "at the claimed 500 A") {
		t.Errorf("message: %s", f.Message)
	}
	// The Earth's field takes 2.4 A of it.
	measured(t, claim(293), finding.Pass, (293*2.7e-5+earthT)/8e-3, 1e-4)
	measured(t, claim(295), finding.Fail, (295*2.7e-5+earthT)/8e-3, 1e-4)
}

// The exact bar makes 2.768 mT at 2.5 mm and 2.641 mT at 3.0 mm per 100 A
// (common practice, recomputed).
func TestLinearRangeSmallBar(t *testing.T) {
	for heightMM, wantT := range map[float64]float64{2.5: 2.768e-3, 3.0: 2.641e-3} {
		f := one(t, check(t, rules.LinearRange, smallBar(heightMM, "duties: {d: {kind: peak, currents: {A: {dc: 100 A}}}}\n")), "S")
		measured(t, f, finding.Pass, (wantT+earthT)/8e-3, 2e-4)
	}
}

// A range from -4 to 8 mT ends sooner for negative current.
func TestLinearRangeAsymmetric(t *testing.T) {
	for sign, want := range map[string]struct {
		verdict finding.Verdict
		share   float64
	}{"": {finding.Pass, (200*smallBarT(2.5) + earthT) / 8e-3}, "-": {finding.Fail, (200*smallBarT(2.5) + earthT) / 4e-3}} {
		yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: peak, currents: {A: {dc: "+sign+"200 A}}}}\n"),
			"linear-range: 8 mT", "linear-range: {low: -4 mT, high: 8 mT}", 1)
		measured(t, one(t, check(t, rules.LinearRange, yaml), "S"), want.verdict, want.share, 1e-4)
	}
}

// Field sines: an alternating current counts with its peak, √2 times its rms.
func TestLinearRangePeakOfRMS(t *testing.T) {
	f := one(t, check(t, rules.LinearRange, smallBar(2.5, "duties: {d: {kind: peak, frequency: 0.1 Hz, currents: {A: {rms: 200 A}}}}\n")), "S")
	measured(t, f, finding.Pass, (200*1.4142135624*smallBarT(2.5)+earthT)/8e-3, 1e-6)
}

// The own field is largest straight above the bar, with the board pushed down
// and neither shifted nor tilted: not at a corner of the tolerances.
func TestLinearRangePlacementWorstIsNoCorner(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: peak, currents: {A: {dc: 100 A}}}}\n"),
		"part: plover-8}", "part: plover-8, placement: {x: 1 mm, y: 0.5 mm, tilt: 5 deg}}", 1)
	measured(t, one(t, check(t, rules.LinearRange, yaml), "S"), finding.Pass, (100*smallBarT(2.0)+earthT)/8e-3, 1e-6)
}

// A pair that straddles two bars reads a difference, but each element sees its
// bar's whole field: 290 A leave the 8 mT.
func TestLinearRangePairCommonField(t *testing.T) {
	yaml := `layout: 1
bars:
  A: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, 4.5 mm], axis: 180 deg, part: plover-8, pair: {spacing: 0.2 mm, along: 90 deg}}
parts: {plover-8: {linear-range: 8 mT}}
duties: {d: {kind: peak, currents: {A: {dc: 290 A}}}}
`
	measured(t, one(t, check(t, rules.LinearRange, yaml), "S"), finding.Fail, (290*smallBarT(2.4)+earthT)/8e-3, 1e-4)
}

// A range that does not hold zero needs a bias field that a layout cannot say:
// nothing passes there, in neither direction.
func TestLinearRangeWithoutZero(t *testing.T) {
	for _, r := range []string{"{low: 2 mT, high: 8 mT}", "{low: -8 mT, high: -2 mT}"} {
		yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\n"), "linear-range: 8 mT", "linear-range: "+r, 1)
		if f := one(t, check(t, rules.LinearRange, yaml), "S"); f.Verdict != finding.Undecided {
			t.Errorf("linear-range with %s: %v", r, f.Verdict)
		}
		if f := one(t, check(t, rules.RangeUse, yaml), "S"); f.Verdict != finding.Undecided {
			t.Errorf("range-use with %s: %v", r, f.Verdict)
		}
	}
}

// 4.28 mT of the bar alone are 99.5 % of 4.30 mT; with 35 uT of a declared field and the Earth's
// they leave the range (sums by hand). A wire, a magnet and an immunity level count as well: a filament of
// 25 A peak 100 mm above makes μ0 I/2πr = 50 uT (J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2), and
// 30 A/m rms are μ0·√2·30 A/m = 53.3 uT.
func TestLinearRangeForeignFields(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, fmt.Sprintf("duties: {d: {kind: peak, currents: {A: {dc: %.9g A}}}}\n",
		4.28e-3/smallBarT(2.5))), "linear-range: 8 mT", "linear-range: 4.3 mT", 1)
	for surroundings, wantT := range map[string]float64{
		"": 4.28e-3 + earthT,
		"surroundings: {uniform: {flux-density: 35 uT, direction: 180 deg}}\n": 4.315e-3 + earthT,
		"surroundings: {wires: {W: {at: [0 mm, 104.5 mm], dc: 25 A}}}\n":       4.33e-3 + earthT,
		"surroundings: {immunity: {rms: 30 A/m, frequency: 50 Hz}}\n": 4.28e-3 + earthT +
			math.Sqrt2*30*4e-7*math.Pi,
		"surroundings: {uniform: {flux-density: 80 uT}}\n":                   4.36e-3,          // of any direction: the Earth's is in it
		"surroundings: {uniform: {flux-density: 1 mT, direction: 90 deg}}\n": 4.28e-3 + earthT, // across the axis
	} {
		f := one(t, check(t, rules.LinearRange, yaml+surroundings), "S")
		measured(t, f, finding.Fail, wantT/4.3e-3, 2e-4)
		if !strings.Contains(f.Message, "of it. It is full at 155 A of bar \"A\" alone") {
			t.Error(f.Message)
		}
	}
}

// A pair cancels a uniform field in its reading, not in its elements; what fills it alone is said
// of the element, as output-chain says it.
func TestLinearRangeOfPairAgreesWithOutputChain(t *testing.T) {
	yaml := strings.NewReplacer("part: plover}", "part: plover, pair: {spacing: 0.2 mm, along: 90 deg}}", "50 mT",
		"8 mT").Replace(
		channelBar(2.3e-3, "", threeVolts, amps("peak", 200)))
	f := one(t, check(t, rules.LinearRange, yaml), "S")
	measured(t, f, finding.Pass, (200*smallBarT(2.4)+earthT)/8e-3, 1e-4)
	g := of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	measured(t, g, finding.Pass, (200*smallBarT(2.4)+earthT)/8e-3, 1e-4)
	full := si.Format(8e-3/smallBarT(2.4), "A")
	if !strings.Contains(f.Message, "full at "+full+" ") || !strings.Contains(g.Message, full+" in the element") {
		t.Errorf("%s is not in\n%s\n%s", full, f.Message, g.Message)
	}
}
