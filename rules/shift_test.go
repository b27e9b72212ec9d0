package rules_test

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// shifted is three bars, the middle one in a channel of iron where asked, whose currents start turn periods of the
// fundamental later: the phase of order n moves by n·360 deg·turn.
func shifted(iron bool, harmonics bool, peakA, turn float64) string {
	shield, more := "", ""
	if iron {
		shield = `shields:
  K: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}}, at: [0 mm, -4.5 mm], material: sheet, depth: long}
materials:
  sheet: {relative-permeability: 3000, saturation: 1.6 T, coercivity: 20 A/m, conductivity: 2 MS/m, sheet: 0.1 mm}
`
	}
	if harmonics {
		more = fmt.Sprintf(", harmonics: [{order: 5, share: 20 %%, phase: %.12g deg}, {order: 7, share: 12 %%, phase: %.12g deg}]",
			180+5*360*turn, 35+7*360*turn)
	}
	return fmt.Sprintf(`layout: 1
bars:
  U: {section: {width: 16 mm, thickness: 3 mm}, at: [-60 mm, 0 mm], metal: copper}
  V: {section: {width: 16 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  W: {section: {width: 16 mm, thickness: 3 mm}, at: [60 mm, 0 mm], metal: copper}
%ssensors:
  SU: {reads: U, at: [-60 mm, 5 mm], axis: 180 deg, part: knot-80, placement: {x: 0.2 mm}}
  SV: {reads: V, at: [0 mm, 5 mm], axis: 180 deg, part: knot-80, placement: {x: 0.2 mm}}
parts:
  knot-80: {linear-range: 120 mT, sensitivity: 14 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  haul: {kind: peak, frequency: 50 Hz, three-phase: {bars: [U, V, W], peak: %.12g A, phase: %.12g deg}%s}
`, shield, peakA, 360*turn, more)
}

// One waveform is one waveform, wherever its clock starts: a shift in time changes no verdict, and no
// number by more than the bounds say. (A period sampled at twelve fixed instants made 72.6 % of a wall into 99.4 % by
// 15 degrees of shift.)
func TestShiftInTime(t *testing.T) {
	walls := []engine.Rule{rules.ShieldSaturation}
	most := []engine.Rule{rules.LinearRange, rules.ShieldSaturation, rules.OutputChain}
	every := rules.All()
	few := 22 // shifts of 0 and 330 degrees
	if *long {
		few = 5
	}
	for _, c := range []struct {
		name            string
		iron, harmonics bool
		peakA           float64
		judges          []engine.Rule
		step            int // of the 24 shifts; saturating iron costs seconds each
	}{
		{"bare", false, false, 900, every, 1},
		{"bare, harmonics", false, true, 900, every, 1},
		{"iron", true, false, 1262, most, few},
		{"iron, harmonics", true, true, 1212, walls, few},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.iron {
				t.Skip("saturating layouts")
			}
			var first []finding.Finding
			for k := 0; k < 24; k += c.step {
				found := engine.Check(mustLoad(t, shifted(c.iron, c.harmonics, c.peakA, float64(k)/24)), c.judges,
					engine.Options{})
				if k == 0 {
					first = found
					continue
				}
				if len(found) != len(first) {
					t.Fatalf("shift %d of 24: %d findings, %d without\n%s\n%s", k, len(found), len(first),
						printed(found), printed(first))
				}
				for i, f := range found {
					g := first[i]
					if f.Rule != g.Rule || f.Object != g.Object || f.Verdict != g.Verdict ||
						(f.Measure == nil) != (g.Measure == nil) {
						t.Errorf("shift %d of 24: %s %s %v, without %s %s %v: %s", k, f.Rule, f.Object, f.Verdict,
							g.Rule, g.Object, g.Verdict, f.Message)
						continue
					}
					if f.Measure == nil {
						continue
					}
					a, b := f.Measure, g.Measure
					if a.Value == 0 && b.Value == 0 {
						continue
					}
					if d := math.Abs(a.Value - b.Value); !(d <= a.Certainty*math.Abs(a.Value)+b.Certainty*math.Abs(b.Value)+1e-9*math.Abs(b.Value)) {
						t.Errorf("shift %d of 24: %s %s %.9g ± %.3g, without %.9g ± %.3g", k, f.Rule, f.Object, a.Value,
							a.Certainty, b.Value, b.Certainty)
					}
				}
			}
		})
	}
}
