package quantity_test

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// container is a battery's go and return 3 mm apart, a phase of two bars in parallel, and a lone bar; slow enough to
// fill them evenly.
const container = `layout: 1
bars:
  plus:  {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  minus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, -6 mm], metal: copper}
  L1: {section: {width: 30 mm, thickness: 4 mm}, at: [400 mm, 0 mm], metal: copper, temperature: 20 °C}
  L2: {section: {width: 10 mm, thickness: 4 mm}, at: [400 mm, -10 mm], metal: copper, temperature: 20 °C}
  N: {section: {diameter: 8 mm}, at: [800 mm, 0 mm], metal: copper}
circuits:
  store: {series: {plus: 1, minus: -1}}
  phase: {parallel: [L1, L2]}
sensors:
  S: {reads: store, at: [0 mm, 5.5 mm], axis: 180 deg}
  T: {reads: minus, at: [0 mm, -11.5 mm], axis: 0 deg}
  L: {reads: L1, at: [400 mm, 6 mm], axis: 180 deg}
  R:
    reads: N
    at: [800 mm, 0 mm]
    axis: 180 deg
    elements: [{at: [0 mm, 9 mm], axis: 180 deg, weight: 0.5}, {at: [0 mm, -9 mm], axis: 0 deg, weight: 0.5}]
duties:
  ride: {kind: continuous, frequency: 1 Hz, currents: {store: {dc: 100 A, peak: 50 A, phase: 30 deg}, phase: {dc: 80 A}},
    harmonics: [{order: 3, share: 10 %}], with: [{frequency: 1.41421356 Hz, currents: {N: {peak: 40 A}}}],
    ripple: {frequency: 0.1 Hz, shape: triangle, rms: 3 A, bars: [store]}}
  short: {kind: fault, frequency: 1 Hz, currents: {store: {peak: 1 kA}}, asymmetry: {r-over-x: 0.1}}
surroundings: {return: far}
`

func TestCircuitsByHand(t *testing.T) {
	f := facts(loaded(t, container))
	along := func(x, y float64) float64 { return -closedform.RectangleB(geom.Point{X: x, Y: y}, 20e-3, 3e-3, 1).X }
	own := along(0, 5.5e-3) - along(0, 11.5e-3) // go less return
	// 50 cos(x + 30°) + 5 cos 3x, found here on a fine grid.
	wave := 0.0
	for i := range 1000000 {
		x := 2 * math.Pi * float64(i) / 1e6
		wave = math.Max(wave, 50*math.Cos(x+math.Pi/6)+5*math.Cos(3*x))
	}
	ripple := 3 * math.Sqrt(3)                    // the rms of a triangle is peak/√3
	kappa := 1.02 + 0.98*math.Exp(-0.3)           // IEC 60909-0, 8.1
	rms := math.Sqrt(100*100 + 1250 + 12.5 + 3*3) // of orthogonal parts the squares add
	for what, want := range map[string]float64{
		"channel S coupling": own, "channel T coupling": own, "channel S elements": 1, "channel R elements": 2,
		"channel R coupling":                2e-7 / 9e-3, // the mean of two elements round a filament
		"channel S current_continuous":      100 + wave + ripple,
		"channel T current_continuous":      100 + wave + ripple,
		"channel S current_fault":           1000 * kappa,
		"channel L current_continuous":      60, // three quarters of the section, all as warm
		"channel R current_continuous":      40,
		"channel R frequency":               1.41421356,
		"channel S twin_difference":         0,
		"bar plus current_continuous":       100 + wave + ripple,
		"bar minus current_continuous":      100 + wave + ripple,
		"bar minus current_fault":           1000 * kappa,
		"bar minus channels":                2,
		"bar L1 current_continuous":         60,
		"bar L2 current_continuous":         20,
		"bar L2 channels":                   0,
		"bar L1 current_density_continuous": 60 / 120e-6,
		"bar plus rms_current_continuous":   rms,
		"duty ride circuits":                3,
		"duty ride bars":                    5,
		"duty ride harmonics":               1,
		"duty ride groups":                  3,
		"duty ride peak_factor":             1,
		"duty short peak_factor":            kappa,
		"duty ride ripple_current":          ripple,
		"duty short residue":                0, // the return carries it back
		"duty ride residue":                 1, // that of the phase does not
		"duty short current":                1000 * kappa,
	} {
		// A triangle's series leaves up to 6 % of its peak out, 0.3 A of 155 A, which the bounds hold.
		near(t, f, what, want, 2e-3)
	}
	for what, want := range map[string]string{
		"channel S reads": "store", "channel S bar": "plus", "channel T reads": "store", "channel T bar": "minus",
		"channel L reads": "L1",
		"channel R reads": "N", "bar minus circuit": "store", "bar N circuit": "N", "channel S twin": "T",
		"channel T twin": "S",
		"channel L twin": "",
	} {
		if v := value(f, what); !v.Known || v.Text != want {
			t.Errorf("%s: %+v, want %q", what, v, want)
		}
	}
}
