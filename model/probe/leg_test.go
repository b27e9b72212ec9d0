package probe_test

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// oneLeg is a phase of two legs with declared shares, of which the sensors read one alone: the other leg is all
// that is stray to them.
const oneLeg = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 6 m}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [30 mm, 0 mm], metal: copper, length: 6 m}
circuits:
  P: {parallel: {A: 25 %, B: 75 %}}
sensors:
  S: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg}
  D: {reads: A, at: [0 mm, 0 mm], axis: 180 deg, pair: {spacing: 12 mm, along: 90 deg}}
duties:
  run: {kind: continuous, currents: {P: {dc: 400 A}}}
`

// The other leg is a neighbour in every quantity that names one: 75 % of an ampere of the circuit at 30 mm, over
// the leg's own reading.
func TestOtherLegIsStray(t *testing.T) {
	l := mustLoad(t, oneLeg)
	m, s := probe.NewModel(l), sensorOf(t, l, "S")
	if s.Leg != 0 {
		t.Fatalf("leg %v", s.Leg)
	}
	a, err := m.Alignment(s)
	if err != nil || a.Neighbour != s.Circuit {
		t.Errorf("alignment: %+v, %v", a, err)
	}
	d := sensorOf(t, l, "D")
	pair, _, err := m.Pair(d)
	if err != nil || pair.Neighbour != d.Circuit || !(pair.NeighbourPart.Value > 0) {
		t.Errorf("pair: %+v, %v", pair, err)
	}
	rise, err := m.StrayRise(s, 1000)
	if err != nil || rise.Beside != s.Circuit {
		t.Fatalf("rise: %+v, %v", rise, err)
	}
	at := func(x float64) float64 { return closedform.RectangleB(geom.Point{X: x, Y: 5.5e-3}, 20e-3, 3e-3, 1).X }
	near(t, "still", rise.Still.Value, 0.75*at(-30e-3)/at(0), 2e-3) // ends three metres away take a thousandth
	plane, err := m.PlaneError(s)
	if err != nil || plane.Beside != s.Circuit {
		t.Errorf("plane error: %+v, %v", plane, err)
	}
}

// Components of one frequency in groups of their own may stand in phase: 100 A of the set and 60 A of the
// ripple at 400 Hz heat as 160 A. Where frequencies differ, squares add.
func TestHeatInPhase(t *testing.T) {
	for hz, want := range map[int]float64{400: 160, 500: math.Hypot(100, 60)} {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}}
duties: {d: {kind: continuous, frequency: 400 Hz, currents: {A: {rms: 100 A}}, ripple: {frequency: %d Hz, rms: 60 A}}}
`, hz))
		m := probe.NewModel(l)
		h, err := m.Heat(0, &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "rms", h.RMSA, want, 1e-12)
		one := mustLoad(t, `layout: 1
bars: {A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}}
duties: {d: {kind: continuous, frequency: 400 Hz, currents: {A: {rms: 160 A}}}}
`)
		if hz == 400 {
			g, err := probe.NewModel(one).Heat(0, &one.Duties[0])
			if err != nil {
				t.Fatal(err)
			}
			near(t, "loss", h.LossWPerM, g.LossWPerM, 1e-9)
		}
	}
}

// The rms of a trapezoid is in closed form, I·√(1 − 8r/3), r the share of the period of each of four
// ramps: what its series leaves out is counted, and is little.
func TestHeatOfATrapezoid(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars: {A: {section: {width: 20 mm, thickness: 0.2 mm}, at: [0 mm, 0 mm], metal: copper}}
duties:
  d: {kind: continuous, period: 20 ms, currents: {A: {points: [[0 ms, 0 A], [0.4 ms, 100 A], [9.6 ms, 100 A], [10 ms, 0 A], [10.4 ms, -100 A], [19.6 ms, -100 A]]}}}
`)
	h, err := probe.NewModel(l).Heat(layout.BarIndex(0), &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * math.Sqrt(1-4*0.02*2./3)
	if !(h.RMSA >= want && h.RMSA < 1.01*want) {
		t.Errorf("%.5f A rms, want %.5f or a little more", h.RMSA, want)
	}
}
