package channel_test

import (
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/decouple"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

func lineOf(t testing.TB, a *channel.Accuracy, name string) *channel.AccuracyLine {
	t.Helper()
	for i := range a.Lines {
		if a.Lines[i].Name == name {
			return &a.Lines[i]
		}
	}
	t.Fatalf("no line %q", name)
	return nil
}

// only tells what one line alone adds, k = 2.
func only(a *channel.Accuracy, name string, currentA float64, after channel.After) float64 {
	return a.AtOf(currentA, after, func(n *channel.AccuracyLine) bool { return n.Name == name }).TotalA
}

func close(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s is %.6g, want %.6g", what, got, want)
	}
}

// Lines against arithmetic on the declared data. Slope of the bar: closed form
// (closedform.RectangleB, source there), 1 % of 500 A rectangular is 2·5/√3 A and so on
// (JCGM 100:2008, 4.3.7).
func TestAccuracyLines(t *testing.T) {
	a := accuracyOf(t, winch)
	slope := -closedform.RectangleB(geom.Point{X: 2e-3, Y: 5.5e-3}, 20e-3, 3e-3, 1).X
	ratio := 18.0 / 28
	perCount := 3.3 / 1024 / (100 * slope * 0.9 * ratio)
	k := 2 / math.Sqrt(3)
	for _, tc := range []struct {
		name string
		want float64
	}{
		{"sensitivity", k * 0.015 * 500},
		{"offset", k * 15e-3 / (100 * slope)},
		{"offset over life", k * 3e-3 / (100 * slope)},
		{"sensitivity over life", k * 0.004 * 500},
		{"amplifier gain", k * (0.005*500 + 0)},                                                  // its zero passes: reference 2.5 V is the part's zero
		{"amplifier offset", k * 2e-3 / (100 * slope)},                                           // at the input
		{"hysteresis", k * 30e-6 / slope},                                                        // tesla
		{"non-linearity", k * 0.002 * 40e-3 / slope},                                             // of 40 mT end to end
		{"Earth", k * 65e-6 / slope},                                                             // any direction
		{"converter step", k * perCount / 2},                                                     // half a count
		{"step of the number", k * 0.025},                                                        // half of 50 mA
		{"sensitivity over temperature", k * 150e-6 * 50 * 500},                                  // 25 to 75 °C
		{"offset over temperature", k * 0.1e-3 * 50 / (100 * slope)},                             //
		{"converter reference", k * math.Abs(500+1.54286/(0.9*ratio*100*slope)) * 0.005 / 1.005}, // counts fall as the reference rises; 2.4 V · r at no current
	} {
		close(t, tc.name, only(a, tc.name, 500, channel.AfterNothing), tc.want, 2e-3)
	}
	// The divider: each resistor 1 %, (1−r) of it in the ratio, the sum of two
	// rectangular inputs: triangular with twice the half width, about.
	v := 500 + 2.4/(0.9*100*slope)
	close(t, "divider", only(a, "divider", 500, channel.AfterNothing), 2/math.Sqrt(6)*2*(1-ratio)*0.01*v, 5e-3)
	// Zero takes away what there is at no current, a known current the rest.
	if e := only(a, "offset", 500, channel.AfterZero); e != 0 {
		t.Errorf("zero leaves %g A of the offset", e)
	}
	close(t, "divider after zero", only(a, "divider", 500, channel.AfterZero), 2/math.Sqrt(6)*2*(1-ratio)*0.01*500, 5e-3)
	if e := only(a, "divider", 500, channel.AfterOnePoint); e != 0 {
		t.Errorf("one point leaves %g A of the divider", e)
	}
	close(t, "reference", only(a, "reference of the calibration", 500, channel.AfterTwoPoint), k*0.002*500, 1e-9)
	// Hysteresis at two readings of ±200 A: (h+ + h−)/2 + (h+ − h−)/2 · 500/200.
	h := 30e-6 / slope
	both := a.AtOf(500, channel.AfterTwoPoint, func(n *channel.AccuracyLine) bool { return strings.HasSuffix(n.Name, "within the hysteresis") }).ExpandedA
	close(t, "hysteresis of two readings", both, k*h*math.Hypot(0.5+1.25, 0.5-1.25), 1e-9)
	// 170 A peak of two wires against one another, an arcsine of the sum.
	heater := a.AtOf(500, channel.AfterNothing, func(n *channel.AccuracyLine) bool { return n.Cause == "fundamental of the duty" })
	wire := func(x, y float64) float64 { return -closedform.FilamentB(geom.Point{X: 2e-3 - x, Y: 5.5e-3 - y}, 1).X }
	close(t, "heater", heater.ExpandedA, 2/math.Sqrt2*120*math.Sqrt2*math.Abs(wire(-50e-3, 10e-3)-wire(-62e-3, 10e-3))/slope, 2e-3)
}

// Drift of gain and zero follow one temperature, so they add before they are squared
// (JCGM 100:2008, 5.2.2, note 1), in the direction of current where they do.
func TestTemperatureMovesGainAndZeroTogether(t *testing.T) {
	a := accuracyOf(t, winch)
	gain, zero := only(a, "sensitivity over temperature", 500, channel.AfterNothing), only(a, "offset over temperature", 500, channel.AfterNothing)
	both := a.AtOf(500, channel.AfterNothing, func(n *channel.AccuracyLine) bool { return n.Cause == "temperature" })
	close(t, "together", both.ExpandedA, gain+zero, 1e-9)
	if len(both.Ranked) != 1 {
		t.Errorf("%d contributors, want one", len(both.Ranked))
	}
}

// A matrix takes out bars that a sensor reads, and no others.
func TestMatrixTakesOutBarsThatAreRead(t *testing.T) {
	alone := accuracyOf(t, winch)
	before := only(alone, `bar "N", direct`, 500, channel.AfterNothing)
	if before < 1 {
		t.Fatalf("bar N strays by %g A only", before)
	}
	if left := only(alone, `bar "N", direct`, 500, channel.AfterMatrix); math.Abs(left-before) > 1e-9*before {
		t.Errorf("a bar that nothing reads: %g A left of %g A", left, before)
	}
	two := accuracyOf(t, strings.Replace(winch, "parts:", "  SN: {reads: N, at: [45 mm, 11.5 mm], axis: 180 deg, part: wigeon}\nparts:", 1))
	for _, after := range []channel.After{channel.AfterMatrix, channel.AfterMatrixAtFrequency} {
		if left := only(two, `bar "N", direct`, 500, after); left != 0 {
			t.Errorf("%s: %g A left of bar N", after, left)
		}
	}
	close(t, "before", only(two, `bar "N", direct`, 500, channel.AfterTwoPoint), before, 1e-9)
}

// thick is a pair of bars in which 1 kHz crowds the current.
const thick = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 5 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 5 mm}, at: [30 mm, 0 mm], metal: copper}
sensors:
  SA: {reads: A, at: [0 mm, 7 mm], axis: 180 deg, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg}}
  SB: {reads: B, at: [30 mm, 7 mm], axis: 180 deg}
duties:
  run: {kind: continuous, frequency: 1 kHz, currents: {A: {peak: 100 A}, B: {peak: 100 A, phase: 90 deg}}}
`

// What a matrix at direct current leaves at 1 kHz is what decouple.LeftoverOf says of
// the two matrices; a matrix at frequency leaves nothing.
func TestMatrixAtDirectCurrentUsedAtFrequency(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	l := loaded(t, thick)
	m := probe.NewModel(l)
	a, err := channel.AccuracyOf(m, &l.Sensors[0], &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	values := func(hz float64) [][]complex128 {
		c, err := m.Coupling(hz)
		if err != nil {
			t.Fatal(err)
		}
		out := make([][]complex128, 2)
		for i := range out {
			for b := range l.Circuits {
				out[i] = append(out[i], c.PerCircuit[i][b].V)
			}
		}
		return out
	}
	inverse, err := decouple.Inverse(values(0))
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * cmplx.Abs(decouple.LeftoverOf(inverse, values(1000)).E[0][1])
	got := only(a, `bar "B", fundamental`, 100, channel.AfterMatrix)
	if want < 0.01 {
		t.Fatalf("only %g A are left", want)
	}
	close(t, "left over", got, want, 1e-6)
	if e := only(a, `bar "B", fundamental`, 100, channel.AfterMatrixAtFrequency); e != 0 {
		t.Errorf("a matrix at frequency leaves %g A", e)
	}
}

// Every datum that is not given is named, and never counts as nothing; a calibration
// that takes its line away does without it.
func TestAccuracyNamesWhatIsMissing(t *testing.T) {
	for _, tc := range []struct {
		drop, key string
		without   channel.After // first kind that does without it; afters past the last: none
	}{
		{", tolerance: 1.5 %", "parts.wigeon.sensitivity.tolerance", channel.AfterOnePoint},
		{", drift: 150 ppm/K", "parts.wigeon.sensitivity.drift", 9},
		{", life: 0.4 %", "parts.wigeon.sensitivity.life", 9},
		{"    offset: {initial: 15 mV, drift: 0.1 mV/K, life: 3 mV}\n", "parts.wigeon.offset.life", 9},
		{"initial: 15 mV, ", "parts.wigeon.offset.initial", channel.AfterZero},
		{", drift: 0.1 mV/K", "parts.wigeon.offset.drift", 9},
		{"    hysteresis: 30 uT\n", "parts.wigeon.hysteresis", 9},
		{"    non-linearity: 0.2 %\n", "parts.wigeon.non-linearity", 9},
		{"    noise: {density: 4 uV/rtHz}\n", "parts.wigeon.noise", 9},
		{"    temperature: {from: 0 °C, to: 75 °C}\n", "parts.wigeon.temperature", 9},
		{", bits: 10", "readout.converter.bits", 9},
		{", tolerance: 0.5 %, ratiometric", "readout.converter.tolerance", channel.AfterOnePoint},
		{", tolerance: 1 %, place", "readout.divider.tolerance", channel.AfterOnePoint},
		{", tolerance: 0.5 %, offset: 2 mV", "readout.amplifier.tolerance", channel.AfterOnePoint},
		{", tilt: 1.2 deg", "sensors.SP.placement.tilt", 9},
		{", placement: {x: 0.3 mm, y: 0.15 mm, tilt: 1.2 deg}", "sensors.SP.placement.x", 9},
		{", tolerance: 0.2 %", "calibration.all.tolerance", 9},
	} {
		keep := ""
		for _, tail := range []string{", ratiometric", ", place", ", offset: 2 mV"} {
			if strings.HasSuffix(tc.drop, tail) {
				keep = tail
			}
		}
		text := strings.Replace(winch, tc.drop, keep, 1)
		if text == winch {
			t.Fatalf("%q is not in the layout", tc.drop)
		}
		a := accuracyOf(t, text)
		for _, after := range channel.Afters()[:4] {
			o := a.At(500, after)
			named := slices.Contains(o.Missing, tc.key)
			want := after < tc.without && (tc.key != "calibration.all.tolerance" || after >= channel.AfterOnePoint)
			if named != want {
				t.Errorf("without %q, %s: missing %v", tc.key, after, o.Missing)
			}
			if len(o.Missing) > 0 != math.IsNaN(o.TotalA) {
				t.Errorf("without %q, %s: total %g A, missing %v", tc.key, after, o.TotalA, o.Missing)
			}
		}
	}
}

// A first-order filter of 10 Hz passes 1/√1.01 of 1 Hz: 0.496 % low, known. A
// calibration at that frequency takes it out, one at direct current does not.
func TestFrequencyIsAKnownError(t *testing.T) {
	text := strings.NewReplacer("corner: 10 kHz", "corner: 10 Hz", "frequency: 50 Hz, currents: {P: {dc: 400 A}, N: {dc: -400 A}, H: {rms: 120 A}, R: {rms: 120 A, phase: 180 deg}}",
		"frequency: 1 Hz, currents: {H: {peak: 10 A}}", "SP: {reads: P, at: [2 mm, 5.5 mm]", "SP: {reads: H, at: [-50 mm, 20 mm]").Replace(winch)
	for _, tc := range []struct {
		frequency string
		left      float64
	}{{"", 1 - 1/math.Sqrt(1.01)}, {", frequency: 1 Hz", 0}} {
		a := accuracyOf(t, strings.Replace(text, ", current: 200 A", ", current: 200 A"+tc.frequency, 1))
		n := lineOf(t, a, "gain at 1 Hz")
		close(t, "before", only(a, n.Name, 500, channel.AfterZero), 500*(1-1/math.Sqrt(1.01)), 1e-3)
		if got := only(a, n.Name, 500, channel.AfterTwoPoint); math.Abs(got-500*tc.left) > 3e-3 {
			t.Errorf("calibrated%s: %g A left, want %g", tc.frequency, got, 500*tc.left)
		}
	}
}

// Ten turns of ribbon that read −13.5 % against a bar of 20 mm × 3 mm (see
// TestRibbonInPlaceOfBar) set the gain 1/0.865 − 1 high, a round bundle that reads
// +54.3 % sets it 1/1.543 − 1.
func TestCoilSetsTheGain(t *testing.T) {
	l := loaded(t, strings.Replace(winch, "at: [2 mm, 5.5 mm]", "at: [0 mm, 6.5 mm]", 1))
	s := channel.Setup{Conductor: layout.ConductorRibbon, Turns: 10, PitchM: 2.553e-3}
	close(t, "ribbon", coilError(t, &s, l), 1/0.865-1, 2e-3)
	s.Conductor = layout.ConductorBundle
	close(t, "bundle", coilError(t, &s, l), 1/1.543-1, 1e-3)
	s.Conductor = layout.ConductorBar
	if e := coilError(t, &s, l); e != 0 {
		t.Errorf("the bar itself: %g", e)
	}
	s.Conductor, s.PitchM = layout.ConductorRibbon, math.NaN()
	if e := coilError(t, &s, l); !math.IsNaN(e) {
		t.Errorf("a ribbon of unknown pitch: %g", e)
	}
	// The same bar turned and moved, with its sensor, reads alike.
	turned := loaded(t, strings.NewReplacer("P: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm]", "P: {section: {width: 20 mm, thickness: 3 mm}, at: [100 mm, 100 mm], turn: 90 deg",
		"at: [2 mm, 5.5 mm], axis: 180 deg", "at: [93.5 mm, 100 mm], axis: 270 deg").Replace(winch))
	s.Conductor = layout.ConductorBundle
	close(t, "turned", coilError(t, &s, turned), 1/1.543-1, 1e-3)
}

func coilError(t *testing.T, s *channel.Setup, l *layout.Layout) float64 {
	t.Helper()
	e, err := s.CoilError(probe.NewModel(l), &l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsNaN(e.Value) && !(e.Low <= e.Value && e.Value <= e.High) {
		t.Errorf("%v", e)
	}
	return e.Value
}

const coiled = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, -13 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, 6.5 mm], axis: 180 deg}
`

// A round bar and a round bundle in its place are one line of current outside, by Ampère's law and symmetry.
func TestRoundBundleInPlaceOfRoundBar(t *testing.T) {
	l := loaded(t, strings.Replace(coiled, "{width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm]",
		"{diameter: 8 mm}, at: [0 mm, 0 mm]", 1))
	s := channel.Setup{Conductor: layout.ConductorBundle, Turns: 10}
	if e := coilError(t, &s, l); math.Abs(e) > 1e-12 {
		t.Errorf("off by %g", e)
	}
}

// A current in the bar of a series circuit comes back through the other bar, at calibration as in use; a bundle in
// place of the bar does not. The circuit reads A − B, by the closed form of a rectangular bar; the bundle a line. What
// returns the current of the circuit, read by its own sensor, is the same upside down.
func TestCoilInPlaceOfSeriesCircuit(t *testing.T) {
	u := geom.Point{X: -1}
	bar := func(y float64) float64 { return closedform.RectangleB(geom.Point{Y: y}, 20e-3, 3e-3, 1).Dot(u) }
	want := (bar(6.5e-3)-bar(19.5e-3))/closedform.FilamentB(geom.Point{Y: 6.5e-3}, 1).Dot(u) - 1
	text := coiled + "circuits:\n  loop: {series: {A: 1, B: -1}}\n"
	s := channel.Setup{Conductor: layout.ConductorBundle, Turns: 10}
	close(t, "bundle", coilError(t, &s, loaded(t, text)), want, 1e-9)
	close(t, "by the circuit", coilError(t, &s, loaded(t, strings.Replace(text, "reads: A", "reads: loop", 1))), want,
		1e-9)
	close(t, "in place of the return", coilError(t, &s,
		loaded(t, strings.Replace(text, "reads: A, at: [0 mm, 6.5 mm]", "reads: B, at: [0 mm, -19.5 mm]", 1))), want,
		1e-9)
	s.Conductor = layout.ConductorBar
	if e := coilError(t, &s, loaded(t, text)); e != 0 {
		t.Errorf("through the circuit: %g", e)
	}
}

// Over a wide plate of iron a current has its image, as large and as far below the face: image at −16 mm under a
// face at −8 mm (J. D. Jackson, Classical Electrodynamics, 3rd ed., problem 5.17, μ → ∞). It is there in the coil's
// field as in the bar's: −28 % where a layout without the plate has −35 %.
func TestCoilBesideIron(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	text := strings.Replace(coiled,
		"  B: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, -13 mm], metal: copper}\n", "", 1) +
		"shields:\n  K: {form: {plate: {width: 600 mm, thickness: 20 mm}}, at: [0 mm, -18 mm], material: m, depth: long}\n" +
		"materials:\n  m: {relative-permeability: 20000, saturation: 1.9 T}\n"
	u := geom.Point{X: -1}
	bar := func(y float64) float64 { return closedform.RectangleB(geom.Point{Y: y}, 20e-3, 3e-3, 1).Dot(u) }
	line := func(at geom.Point) float64 { return closedform.FilamentB(at, 1).Dot(u) }
	s := channel.Setup{Conductor: layout.ConductorBundle, Turns: 10}
	want := (bar(6.5e-3)+bar(22.5e-3))/(line(geom.Point{Y: 6.5e-3})+line(geom.Point{Y: 22.5e-3})) - 1
	close(t, "bundle", coilError(t, &s, loaded(t, text)), want, 0.01)
	s = channel.Setup{Conductor: layout.ConductorRibbon, Turns: 4, PitchM: 8e-3}
	sum := 0.0
	for _, x := range []float64{-12e-3, -4e-3, 4e-3, 12e-3} {
		sum += line(geom.Point{X: x, Y: 6.5e-3}) + line(geom.Point{X: x, Y: 22.5e-3})
	}
	close(t, "ribbon", coilError(t, &s, loaded(t, text)), (bar(6.5e-3)+bar(22.5e-3))/(sum/4)-1, 0.01)
}

// The table is ranked, holds every kind and level, and its lines stand in columns.
func TestAccuracyTable(t *testing.T) {
	a := accuracyOf(t, winch)
	o := a.At(a.FullA, a.Declared)
	for i := 1; i < len(o.Ranked); i++ {
		if math.Abs(o.Ranked[i].AmountA) > math.Abs(o.Ranked[i-1].AmountA) {
			t.Errorf("%s stands behind %s", o.Ranked[i].Name, o.Ranked[i-1].Name)
		}
	}
	share := 0.0
	for _, c := range o.Ranked {
		share += c.Share
	}
	close(t, "sum of the shares of variance", share, 1, 1e-9)
	if !(o.WorstA > o.TotalA) {
		t.Errorf("worst case %g A, total %g A", o.WorstA, o.TotalA)
	}
	text := strings.Join(a.Table(8), "\n")
	for _, after := range channel.Afters() {
		for _, level := range []string{"full range  ", "10 %        ", "smallest    "} {
			if !strings.Contains(text, level+after.String()) {
				t.Errorf("no line for %q%q", level, after)
			}
		}
	}
}
