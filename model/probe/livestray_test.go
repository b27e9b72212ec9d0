package probe_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/probe"
)

// Three round bars in a row, 50 mm apart, and a sensor 10 mm above the first: a round bar is a line from outside, so that
// those beside it put mu0 I/2pi y/r^2 on its axis.
const threeRound = `layout: 1
bars:
  a: {section: {diameter: 6 mm}, at: [0 mm, 0 mm], metal: copper}
  b: {section: {diameter: 6 mm}, at: [50 mm, 0 mm], metal: copper}
  c: {section: {diameter: 6 mm}, at: [100 mm, 0 mm], metal: copper}
sensors: {s: {reads: a, at: [0 mm, 10 mm], axis: 180 deg}}
duties: {d: {kind: continuous, CURRENTS}}
`

func besideA(xM, currentA float64) float64 {
	s := geom.Point{Y: 10e-3}
	return closedform.FilamentB(s.Sub(geom.Point{X: xM}), currentA).X / closedform.FilamentB(s, 1).X
}

// While a carries nothing a balanced set is none, in whichever way it is spelled; direct currents that do not cancel and
// sets that are none flow on.
func TestLiveStray(t *testing.T) {
	both := math.Abs(besideA(50e-3, 100) + besideA(100e-3, 100))
	against := math.Abs(besideA(50e-3, 100) - besideA(100e-3, 100))
	for _, c := range []struct {
		name, currents      string
		steady, alternating float64
	}{
		{"direct", "currents: {a: {dc: 100 A}, b: {dc: 100 A}, c: {dc: 100 A}}", both, 0},
		{"out and back beside it", "currents: {b: {dc: 100 A}, c: {dc: -100 A}}", against, 0},
		{"return", "currents: {a: {dc: 100 A}, b: {dc: -100 A}}", 0, 0},
		{"no set beside a set of its frequency", "frequency: 50 Hz, three-phase: {bars: [a, b, c], peak: 100 A}, " +
			"with: [{frequency: 50 Hz, currents: {a: {peak: 60 A}, b: {peak: 20 A}}}]", 0, math.Abs(besideA(50e-3, 20))},
		{"set", "frequency: 1 Hz, three-phase: {bars: [a, b, c], peak: 100 A}", 0, 0},
		{"set as currents", "frequency: 1 Hz, currents: {a: {peak: 100 A, phase: 30 deg}, b: {peak: 100 A, phase: -90 deg}, " +
			"c: {peak: 100 A, phase: 150 deg}}", 0, 0},
		{"set of the other order", "frequency: 1 Hz, currents: {a: {peak: 100 A}, b: {peak: 100 A, phase: 120 deg}, " +
			"c: {peak: 100 A, phase: -120 deg}}", 0, 0},
		{"of another size", "frequency: 1 Hz, currents: {a: {peak: 99 A}, b: {peak: 100 A, phase: -120 deg}, " +
			"c: {peak: 100 A, phase: 120 deg}}", 0, phased(2 * math.Pi / 3)},
		{"direct with ripples that cancel", "currents: {a: {dc: 100 A}, b: {dc: 100 A}, c: {dc: 100 A}}, ripple: {frequency: 1 Hz, " +
			"peak: 1 A, currents: {b: {peak: 1 A, phase: -120 deg}, c: {peak: 1 A, phase: 120 deg}}}", both,
			phased(2*math.Pi/3) / 100},
		{"set with direct current", "frequency: 1 Hz, three-phase: {bars: [a, b, c], dc: 100 A, peak: 5 A}", both, 0},
		{"set as currents with direct current", "frequency: 1 Hz, currents: {a: {dc: 100 A, peak: 5 A}, " +
			"b: {dc: 100 A, peak: 5 A, phase: -120 deg}, c: {dc: 100 A, peak: 5 A, phase: 120 deg}}", both, 0},
	} {
		l := mustLoad(t, strings.Replace(threeRound, "CURRENTS", c.currents, 1))
		got, err := probe.NewModel(l).LiveStray(&l.Sensors[0])
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		for _, v := range [][2]float64{{got.SteadyA.Value, c.steady}, {got.AlternatingA.Value, c.alternating}} {
			if !(math.Abs(v[0]-v[1]) <= 1e-3*v[1]) { // a round bar has 128 corners
				t.Errorf("%s: %g A, want %g", c.name, v[0], v[1])
			}
		}
	}
}

// phased is the amplitude of 100 A in b and c that stand angle either way of a.
func phased(angle float64) float64 {
	b, c := besideA(50e-3, 100), besideA(100e-3, 100)
	return math.Hypot((b+c)*math.Cos(angle), (c-b)*math.Sin(angle))
}

// Tolerances let in what the field at the worst corner has beyond that at the place drawn: b and c carry 100 A out
// and back, and the sensor or b moves by 1 mm either way.
func TestStrayLetIn(t *testing.T) {
	yaml := strings.Replace(threeRound, "CURRENTS", "currents: {b: {dc: 100 A}, c: {dc: -100 A}}", 1)
	mirror := strings.NewReplacer("[50 mm", "[-50 mm", "[100 mm", "[-100 mm").Replace // the other end is the worse one
	for _, c := range []struct {
		old, with string
		want      float64
	}{
		{"axis: 180 deg", "axis: 180 deg", 0},
		{"axis: 180 deg", "axis: 180 deg, placement: {x: 1 mm}", math.Abs(besideA(49e-3, 100) - besideA(99e-3, 100) -
			besideA(50e-3, 100) + besideA(100e-3, 100))},
		{"at: [50 mm, 0 mm], metal: copper", "at: [50 mm, 0 mm], metal: copper, placement: {x: 1 mm}",
			math.Abs(besideA(49e-3, 100) - besideA(50e-3, 100))},
	} {
		drawn := strings.Replace(yaml, c.old, c.with, 1)
		for _, yaml := range []string{drawn, mirror(drawn)} {
			l := mustLoad(t, yaml)
			got, err := probe.NewModel(l).StrayLetIn(&l.Sensors[0], &l.Duties[0])
			if err != nil {
				t.Fatal(err)
			}
			if got.AlternatingA != 0 || !(math.Abs(got.SteadyA-c.want) <= 1e-3*c.want) || got.SumA() != got.SteadyA {
				t.Errorf("%s: %+v, want %g A", c.with, got, c.want)
			}
		}
	}
}
