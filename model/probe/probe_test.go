package probe_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/schema/load"
)

// mustLoad loads a layout written in a test.
func mustLoad(t testing.TB, yaml string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("test.yaml", []byte(yaml))
	if l == nil {
		t.Fatalf("layout does not load: %v", problems)
	}
	return l
}

func sensorOf(t testing.TB, l *layout.Layout, id string) *layout.Sensor {
	t.Helper()
	i, ok := l.Sensor(id)
	if !ok {
		t.Fatalf("no sensor %q", id)
	}
	return &l.Sensors[i]
}

// near fails unless got lies within rel of want.
func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.6g, want %.6g within %.2g", what, got, want, rel)
	}
}

// flatBars is three flat bars side by side with a sensor 4 mm above each face.
func flatBars(pitchMM float64) string {
	var b strings.Builder
	b.WriteString("layout: 1\nbars:\n")
	for i, id := range []string{"U", "V", "W"} {
		fmt.Fprintf(&b, "  %s: {section: {width: 20 mm, thickness: 3 mm}, at: [%g mm, 0 mm], metal: copper}\n", id, float64(i-1)*pitchMM)
	}
	b.WriteString("sensors:\n")
	for i, id := range []string{"U", "V", "W"} {
		fmt.Fprintf(&b, "  S%s: {reads: %s, at: [%g mm, 5.5 mm], axis: 180 deg}\n", id, id, float64(i-1)*pitchMM)
	}
	b.WriteString("duties:\n  run: {kind: continuous, frequency: 1 Hz, three-phase: {bars: [U, V, W], peak: 1000 A}}\n")
	return b.String()
}

// Neighbours of flat bars: common practice, recomputed with the exact field of
// the bar (fixtures/reference/analytic-cases.yaml, three_phase_crosstalk:
// 3.34695 % at 40 mm).
func TestNeighboursOfFlatBars(t *testing.T) {
	for _, c := range []struct{ pitchMM, next, second float64 }{
		{30, 0.0614, math.NaN()},
		{40, 0.0334695, 0.0081},
	} {
		l := mustLoad(t, flatBars(c.pitchMM))
		shares, err := probe.NewModel(l).CircuitShares(sensorOf(t, l, "SU"))
		if err != nil || len(shares) != 2 {
			t.Fatalf("pitch %g: %d shares, %v", c.pitchMM, len(shares), err)
		}
		near(t, fmt.Sprintf("next at %g mm", c.pitchMM), shares[0].Ratio.Value, c.next, 1e-3)
		if !math.IsNaN(c.second) {
			near(t, "second", shares[1].Ratio.Value, c.second, 6e-3) // the figure has two digits
		}
	}
}

// Balanced three-phase set on the same bars at 40 mm: common practice, two or
// three digits each.
func TestBalancedThreePhase(t *testing.T) {
	l := mustLoad(t, flatBars(40))
	m := probe.NewModel(l)
	b, err := m.Balanced(l.Duties[0].ThreePhase)
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{-0.0205, -0.0335, -0.0205} {
		near(t, fmt.Sprintf("amplitude %d", k), b.Amplitude[k], want, 3e-3)
	}
	for k, want := range []float64{-1.28, 0, 1.28} {
		if got := b.PhaseRad[k] * 180 / math.Pi; math.Abs(got-want) > 0.005 {
			t.Errorf("phase %d: got %.4f deg, want %.2f", k, got, want)
		}
	}
	near(t, "false sum", b.FalseSum.Value, 0.0254, 3e-3)
	// The duty of the layout says the same of one sensor.
	s, err := m.Stray(sensorOf(t, l, "SV"), &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "amplitude in the duty", s.Amplitude, -0.0334695, 1e-4)
	near(t, "stray in amperes", s.StrayA.Value, 33.4695, 1e-4)
	near(t, "worst case", s.WorstCase.Value, 2*0.0334695, 1e-4)
}

// A bar 15 × 4 mm at 100 A and its neighbour at 25 mm: common practice, exact
// values recomputed.
func TestSmallBarAndNeighbour(t *testing.T) {
	const yaml = `layout: 1
bars:
  A: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: copper}
sensors:
  low: {reads: A, at: [0 mm, 4.5 mm], axis: 180 deg}
  high: {reads: A, at: [0 mm, 5.0 mm], axis: 180 deg}
`
	l := mustLoad(t, yaml)
	m := probe.NewModel(l)
	for id, wantT := range map[string]float64{"low": 2.768e-3, "high": 2.641e-3} {
		perA, err := m.OwnPerAmpere(sensorOf(t, l, id))
		if err != nil {
			t.Fatal(err)
		}
		near(t, id, 100*perA.Value, wantT, 1e-3)
	}
	shares, err := m.CircuitShares(sensorOf(t, l, "low"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "magnitude of the neighbour", 100*shares[0].FieldT, 0.808e-3, 1e-3)
	near(t, "its part along the face", 100*shares[0].AxisT, 0.151e-3, 3e-3)
	// One degree of tilt lets in the part across the face: √(0.808² - 0.151²)·sin 1°.
	near(t, "per degree", shares[0].PerTiltDeg, math.Sqrt(0.808*0.808-0.151*0.151)*math.Sin(math.Pi/180)/2.768, 2e-3)
}

// Stacked bars with opposite currents, sensor 4 mm above the top face: common
// practice, three digits.
func TestStackedPair(t *testing.T) {
	for gapMM, want := range map[float64]float64{1: 0.240, 3: 0.330, 10: 0.536, 20: 0.684} {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars:
  top: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  bottom: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, %g mm], metal: copper}
sensors:
  S: {reads: top, at: [0 mm, 5.5 mm], axis: 180 deg}
duties:
  d: {kind: continuous, currents: {top: {dc: 1000 A}, bottom: {dc: -1000 A}}}
`, -(gapMM+3)))
		s, err := probe.NewModel(l).Stray(&l.Sensors[0], &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("left at %g mm", gapMM), 1-s.Ratio.Value, want, 2.5e-3)
	}
}

// 0.05 mT in amperes and the price of height: common practice, three digits; the Earth's field is
// 1.3 times that.
func TestEarthAndHeight(t *testing.T) {
	for _, c := range []struct {
		name                 string
		widthMM, thicknessMM float64
		heightMM, earthA     float64
		heightChange         float64
	}{
		{"20 x 3 at 4 mm", 20, 3, 4, 2.34, -0.0212},
		{"6 x 2 at 1.5 mm", 6, 2, 1.5, 0.85, -0.0643},
	} {
		yaml := func(extraMM float64) string {
			return fmt.Sprintf(`layout: 1
bars: {A: {section: {width: %g mm, thickness: %g mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, %g mm], axis: 180 deg}}
`, c.widthMM, c.thicknessMM, c.thicknessMM/2+c.heightMM+extraMM)
		}
		l := mustLoad(t, yaml(0))
		m := probe.NewModel(l)
		list, total, err := m.Ambient(&l.Sensors[0])
		if err != nil || len(list) != 1 {
			t.Fatalf("%s: %d sources, %v", c.name, len(list), err)
		}
		near(t, c.name+": Earth", total.Value, 1.3*c.earthA, 6e-3) // the figure has two digits
		up := mustLoad(t, yaml(0.3))
		a, errA := m.OwnPerAmpere(&l.Sensors[0])
		b, errB := probe.NewModel(up).OwnPerAmpere(&up.Sensors[0])
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		near(t, c.name+": 0.3 mm up", b.Value/a.Value-1, c.heightChange, 3e-3)
		perM, err := m.Height(&l.Sensors[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name+": slope", perM*0.3e-3, c.heightChange, 0.06) // the curve bends over 0.3 mm
	}
}
