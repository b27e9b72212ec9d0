package channel_test

import (
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/probe"
)

// apart is a pair of bars of a poor conductor, so that its current stays even, whose currents stand a quarter period apart, behind a filter that
// takes 3 % of 10 Hz.
const apart = `layout: 1
materials:
  m: {conductivity: 0.2 MS/m}
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: m}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: m}
sensors:
  SA: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg, part: wigeon, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg}}
parts:
  wigeon: {linear-range: 40 mT, sensitivity: {set: 100 mV/mT, tolerance: 0 %}, bandwidth: 1 MHz, delay: 0 us}
readout:
  filter: {corner: 40 Hz, tolerance: 0 %}
  converter: {low: 0 V, high: 3.3 V, bits: 16}
  sampling: {rate: 1 MHz, delay: 0 us}
duties:
  run: {kind: continuous, frequency: 10 Hz, currents: {A: {peak: 400 A}, B: {peak: 400 A, phase: PHASE}}}
`

// A gain that is low and a stray a quarter period away do not cancel: √(g² + s²), as with
// -12.4 A and 13.1 A, which are 18.0 A off and not 0.7 A. In phase they do. The
// filter passes 1/√(1+(f/f_c)²) (first order), the stray is that of closedform.RectangleB.
func TestKnownErrorsAddAsPhasors(t *testing.T) {
	damped := 1 / math.Hypot(1, 10./40)
	b := func(dx float64) float64 { return closedform.RectangleB(geom.Point{X: dx, Y: 5.5e-3}, 20e-3, 3e-3, 1).X }
	gain := 400 * (damped - 1)
	stray := 400 * b(-40e-3) / b(0) * damped
	if !(gain < -11 && stray > 12) {
		t.Fatalf("gain %g A, stray %g A", gain, stray)
	}
	known := func(n *channel.AccuracyLine) bool { return n.Known }
	for phase, want := range map[string]float64{
		"90 deg": math.Hypot(gain, stray), "0 deg": math.Abs(gain + stray), "180 deg": math.Abs(gain - stray),
		"60 deg": cmplx.Abs(complex(gain, 0) + cmplx.Rect(stray, math.Pi/3)),
	} {
		a := accuracyOf(t, strings.Replace(apart, "PHASE", phase, 1))
		o := a.AtOf(400, channel.AfterNothing, known)
		close(t, "known at "+phase, math.Abs(o.KnownA), want, 2e-3)
		sum := 0.0
		for _, c := range o.Ranked {
			sum += c.AmountA
		}
		close(t, "sum of the contributors at "+phase, math.Abs(sum), want, 2e-3)
	}
	// A constant error adds its size to that of a turning one.
	a := accuracyOf(t, strings.Replace(strings.Replace(apart, "PHASE", "90 deg", 1), "A: {peak: 400 A}, B: {",
		"A: {peak: 400 A}, B: {dc: 100 A, ", 1))
	close(t, "with direct current", math.Abs(a.AtOf(400, channel.AfterNothing, known).KnownA),
		math.Hypot(gain, stray)+100*b(-40e-3)/b(0), 2e-3)
}

// twin has two legs, joined at both ends, under one sensor.
const twin = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [300 mm, 0 mm], metal: copper}
circuits: {pair: FORM}
sensors:
  SA: {reads: READS, at: [0 mm, 5.5 mm], axis: 180 deg, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg}}
duties:
  run: {kind: continuous, currents: {pair: {dc: 800 A}}}
surroundings: {return: far}
`

// The share of one of two equal legs whose resistance is 3 % larger is 1/2.03: 1.478 % less
// than a half; that of the other 1.478 % more. Each is rectangular, and the two are independent:
// 2/√3·√2·1.478 %. A sensor on the circuit that stands at one leg, and one on the leg, are
// alike but for what little the far leg gives. Declared shares divide as conductances.
func TestLegsAreNotAlike(t *testing.T) {
	want := 2 / math.Sqrt(3) * math.Sqrt2 * (0.5 - 1/2.03) / 0.5
	legs := func(n *channel.AccuracyLine) bool { return strings.HasPrefix(n.Name, "resistance of leg") }
	for name, c := range map[string]struct {
		form, reads string
		rel         float64
	}{
		"the leg":                 {"{parallel: [A, B], spread: 3 %}", "A", 1e-3},
		"the circuit at a leg":    {"{parallel: [A, B], spread: 3 %}", "pair", 0.01},
		"the leg, shares given":   {"{parallel: {A: 50 %, B: 50 %}, spread: 3 %}", "A", 1e-3},
		"the circuit, shares too": {"{parallel: {A: 50 %, B: 50 %}, spread: 3 %}", "pair", 0.01},
	} {
		text := strings.NewReplacer("FORM", c.form, "READS", c.reads).Replace(twin)
		a := accuracyOf(t, text)
		close(t, name, a.AtOf(1, channel.AfterNothing, legs).ExpandedA, want, c.rel)
		if left := a.AtOf(1, channel.AfterOnePoint, legs).ExpandedA; left != 0 {
			t.Errorf("%s: a current in the bars leaves %g", name, left)
		}
		missing := accuracyOf(t, strings.Replace(text, ", spread: 3 %", "", 1)).At(400, channel.AfterNothing).Missing
		if !slices.Contains(missing, "circuits.pair.spread") {
			t.Errorf("%s: without a spread missing are %v", name, missing)
		}
	}
}

// At 1 kHz the legs divide by their inductances too, so the same spread moves less.
func TestLegsAtFrequency(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	legs := func(n *channel.AccuracyLine) bool { return strings.HasPrefix(n.Name, "resistance of leg") }
	text := strings.NewReplacer("FORM", "{parallel: [A, B], spread: 3 %}", "READS", "A", "300 mm",
		"40 mm").Replace(twin)
	still := accuracyOf(t, text).AtOf(1, channel.AfterNothing, legs).ExpandedA
	moving := accuracyOf(t, strings.Replace(text, "currents: {pair: {dc: 800 A}}",
		"frequency: 1 kHz, currents: {pair: {peak: 800 A}}", 1)).AtOf(1, channel.AfterNothing, legs).ExpandedA
	if !(moving > 0 && moving < still/2) {
		t.Errorf("%g at 1 kHz, %g at rest", moving, still)
	}
}

// Three channels with parallel axes and the same field per ampere read the same of the
// Earth: E·3/slope of false sum, no ripple. With axes at 120° to one another, no sum, and
// the ripple of a vector of the size E/slope that turns: (2/3)·(3/2)·E/slope.
func TestEarthIsOneFieldOverThreeChannels(t *testing.T) {
	bars := func(at [3][2]string, axes [3]string) string {
		text := "layout: 1\nbars:\n"
		for i, id := range []string{"U", "V", "W"} {
			text += "  " + id + ": {section: {diameter: 10 mm}, at: [" + at[i][0] + "], metal: copper}\n"
		}
		text += "sensors:\n"
		for i, id := range []string{"U", "V", "W"} {
			text += "  S" + id + ": {reads: " + id + ", at: [" + at[i][1] + "], axis: " + axes[i] + "}\n"
		}
		return text + "duties: {run: {kind: continuous, frequency: 5 Hz, three-phase: {bars: [U, V, W], peak: 100 A, dc: 2 A}}}\nphase-sums: [{channels: [SU, SV, SW], measured: three}]\n"
	}
	slope := 2e-7 / 10e-3
	e := probe.EarthT / slope
	beside := func(text string) channel.Beside {
		l := loaded(t, text)
		x := channel.TriosOf(l, &l.PhaseSums[0], &l.Duties[0])[0]
		if x.AmplitudeA != 100 {
			t.Errorf("amplitude %g A beside a direct current of 2 A", x.AmplitudeA)
		}
		b, err := x.Beside(probe.NewModel(l), &l.Duties[0], channel.AfterNothing)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	alike := beside(bars([3][2]string{{"0 mm, 0 mm", "0 mm, 10 mm"}, {"500 mm, 0 mm", "500 mm, 10 mm"},
		{"1000 mm, 0 mm", "1000 mm, 10 mm"}}, [3]string{"180 deg", "180 deg", "180 deg"}))
	close(t, "sum of parallel axes", alike.FieldSumA, 3*e, 1e-3)
	if !(alike.FieldOnceA < 1e-6*e) {
		t.Errorf("ripple of parallel axes %g A", alike.FieldOnceA)
	}
	star := beside(bars([3][2]string{{"0 mm, 0 mm", "0 mm, 10 mm"}, {"500 mm, 0 mm", "491.33975 mm, -5 mm"},
		{"1000 mm, 0 mm", "1008.66025 mm, -5 mm"}}, [3]string{"180 deg", "300 deg", "60 deg"}))
	close(t, "ripple of a star", star.FieldOnceA, e, 1e-3)
	if !(star.FieldSumA < 1e-5*e) {
		t.Errorf("sum of a star %g A", star.FieldSumA)
	}
}
