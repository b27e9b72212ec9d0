package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// laminated is plus above minus, 20 x 3 mm, gapMM between the faces, read as one circuit 4 mm above the top face.
func laminated(gapMM float64) string {
	return fmt.Sprintf(`layout: 1
bars:
  plus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  minus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, %g mm], metal: copper}
circuits:
  store: {series: {plus: 1, minus: -1}}
sensors:
  S: {reads: store, at: [0 mm, 5.5 mm], axis: 180 deg}
duties:
  charge: {kind: continuous, currents: {store: {dc: 230 A}}}
  swing: {kind: peak, frequency: 100 Hz, currents: {store: {dc: 200 A, rms: 50 A, harmonics: [{order: 2, share: 20 %%}]}}}
`, -3-gapMM)
}

// A laminated pair reads what is left of the lone bar, 24.0, 33.0, 53.6 and 68.4 % at gaps of 1, 3, 10 and 20 mm
// (common practice, one decimal), which is the difference of two rectangles in closed form; far apart all of it.
// Its own return is no stray at any gap.
func TestOwnReadingOfAPair(t *testing.T) {
	at := func(yM float64) float64 { return closedform.RectangleB(geom.Point{Y: yM}, 20e-3, 3e-3, 1).X }
	lone := at(5.5e-3)
	for _, c := range []struct{ gapMM, percent float64 }{{1, 24.0}, {3, 33.0}, {10, 53.6}, {20, 68.4}, {5000, 99.8}} {
		l := mustLoad(t, laminated(c.gapMM))
		m, s := probe.NewModel(l), &l.Sensors[0]
		own, err := m.OwnPerAmpere(s)
		if err != nil {
			t.Fatal(err)
		}
		if got := 100 * own.Value / math.Abs(lone); math.Abs(got-c.percent) > 0.051 {
			t.Errorf("gap %g mm: %.3f %% of the lone bar, want %g %%", c.gapMM, got, c.percent)
		}
		near(t, "own reading", own.Value, math.Abs(lone-at(5.5e-3+(3+c.gapMM)*1e-3)), 1e-9)
		for i := range l.Duties {
			stray, err := m.Stray(s, &l.Duties[i])
			if err != nil {
				t.Fatal(err)
			}
			if stray.Ratio.High != 0 || stray.WorstCase.High != 0 || stray.Amplitude != 0 || stray.PhaseRad != 0 {
				t.Errorf("gap %g mm, duty %s: stray %+v of its own return", c.gapMM, l.Duties[i].ID, stray)
			}
		}
	}
}

// warmLegs is a phase of two legs, 60 x 10 and 30 x 10 mm, the second 20 K warmer and 20 mm above, read by two
// sensors, with a bar beside. rest says how the legs are joined and what flows.
func warmLegs(reads, rest string) string {
	return fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 60 mm, thickness: 10 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 20 °C}
  B: {section: {width: 30 mm, thickness: 10 mm}, at: [0 mm, 20 mm], metal: copper, temperature: 40 °C}
  C: {section: {width: 40 mm, thickness: 10 mm}, at: [90 mm, 10 mm], metal: copper, temperature: 20 °C}
sensors:
  over: {reads: %[1]s, at: [2 mm, 31 mm], axis: 180 deg}
  under: {reads: %[1]s, at: [-7 mm, -9 mm], axis: 0 deg}
%[2]s`, reads, rest)
}

// Direct current divides by conductance: 600 and 300 mm² and 1 + 0.00389·20 for the warmer one (99 % of the annealed
// copper of IEC 60028) give 68.31 and 31.69 %. The reading per ampere is then that of two rectangles in closed form.
func TestWarmLegsAtDirectCurrent(t *testing.T) {
	l := mustLoad(t,
		warmLegs("P",
			"circuits: {P: {parallel: [A, B]}}\nduties: {d: {kind: continuous, currents: {P: {dc: 900 A}}}}\n"))
	m := probe.NewModel(l)
	warm := 1 + 0.00389*20
	a := 600 / (600 + 300/warm)
	heat := [2]float64{}
	for b := range heat {
		h, err := m.Heat(layout.BarIndex(b), &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		heat[b] = h.RMSA
	}
	near(t, "leg A", heat[0], 900*a, 1e-9)
	near(t, "leg B", heat[1], 900*(1-a), 1e-9)
	coupling, err := m.Coupling(0)
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Circuits) != 2 || l.Circuits[0].ID != "P" {
		t.Fatalf("circuits: %+v", l.Circuits)
	}
	for i, p := range []geom.Point{{X: 2e-3, Y: 31e-3}, {X: -7e-3, Y: -9e-3}} {
		sum := closedform.RectangleB(p, 60e-3, 10e-3,
			a).Add(closedform.RectangleB(p.Sub(geom.Point{Y: 20e-3}), 30e-3, 10e-3, 1-a)).X
		if i == 0 {
			sum = -sum
		}
		near(t, l.Sensors[i].ID, real(coupling.PerCircuit[i][0].V), sum, 1e-8)
		own, err := m.OwnPerAmpere(&l.Sensors[i])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "own reading", own.Value, sum, 1e-8)
	}
}

// At 1 kHz a parallel circuit is the same as bars that are bonded, whose common current the plane solver
// divides within its matrix.
func TestWarmLegsAgainstBonded(t *testing.T) {
	coupled := func(yaml string) *probe.Coupling {
		c, err := probe.NewModel(mustLoad(t, yaml)).Precise().Coupling(1000)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	circuit := coupled(warmLegs("P", "circuits: {P: {parallel: [A, B]}}\n"))
	bonded := coupled(warmLegs("A", "bonded: [[A, B]]\n"))
	for i := range circuit.PerCircuit {
		for _, k := range [][2]int{{0, 0}, {1, 2}} { // the joined bars, and what C drives round in them
			got, want := circuit.PerCircuit[i][k[0]].V, bonded.PerCircuit[i][k[1]].V
			size := cmplx.Abs(bonded.PerCircuit[i][0].V)
			if d := cmplx.Abs(got - want); !(d <= 2e-3*size) { // two meshes, each within about a thousandth
				t.Errorf("sensor %d, circuit %d: %.6g, bonded %.6g", i, k[0], got, want)
			}
		}
	}
}

// Three bars whose currents sum to zero have two unknowns: two sensors tell all three.
func TestTwoSensorsOnThreeBars(t *testing.T) {
	const seed = 4
	random := rand.New(rand.NewPCG(seed, seed))
	l := mustLoad(t, `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-30 mm, 0 mm], metal: copper}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  W: {section: {width: 20 mm, thickness: 3 mm}, at: [30 mm, 0 mm], metal: copper}
sensors:
  SU: {reads: U, at: [-30 mm, 5.5 mm], axis: 180 deg}
  SW: {reads: W, at: [30 mm, 5.5 mm], axis: 180 deg}
duties:
  run: {kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 200 A}}
`)
	c, err := probe.NewModel(l).Coupling(0)
	if err != nil {
		t.Fatal(err)
	}
	if c.Fit == nil || len(c.Circuits) != 3 {
		t.Fatalf("no inverse: %s; circuits %v", c.NoInverse, c.Circuits)
	}
	for range 50 {
		u, v := complex(random.NormFloat64(), random.NormFloat64()), complex(random.NormFloat64(), random.NormFloat64())
		flows := []complex128{u, v, -u - v}
		for row, at := range c.Circuits {
			var told complex128
			for i := range l.Sensors {
				var reads complex128
				for k := range flows {
					reads += c.PerCircuit[i][k].V * flows[k]
				}
				told += c.Fit.Inverse[row][i] * reads
			}
			if d := cmplx.Abs(told - flows[at]); !(d <= 1e-9) {
				t.Errorf("seed %d: circuit %d told as %.12g, carries %.12g", seed, at, told, flows[at])
			}
		}
	}
}

// Two sensors on one bar are a plausibility pair: their inverse is the mean of what each tells, weighted by what it
// reads, and no error.
func TestTwoSensorsOnOneBar(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
sensors:
  above: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg}
  below: {reads: A, at: [0 mm, -9.5 mm], axis: 0 deg}
`)
	c, err := probe.NewModel(l).Coupling(0)
	if err != nil {
		t.Fatal(err)
	}
	if c.Fit == nil {
		t.Fatalf("no inverse: %s", c.NoInverse)
	}
	sum := 0.0
	for i := range l.Sensors {
		sum += real(c.Fit.Inverse[0][i] * c.PerCircuit[i][0].V)
	}
	near(t, "one ampere told as", sum, 1, 1e-12)
}
