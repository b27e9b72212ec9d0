package channel_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/probe"
	"busgauss/schema/load"
)

func sensed(t *testing.T, yaml string) (*channel.Sensed, error) {
	t.Helper()
	l, problems := load.Load("layout.yaml", []byte(yaml))
	if l == nil {
		t.Fatalf("layout does not load: %v", problems)
	}
	return channel.Of(probe.NewModel(l), &l.Sensors[0])
}

const oneBar = `layout: 1
bars: {A: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, 4.5 mm], axis: 180 deg, part: plover}}
parts: {plover: {linear-range: 20 mT, sensitivity: 100 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}}
readout: {converter: {low: 0 V, high: 5 V, bits: 12}}
`

// above is the closed form of the field of 1 A on an axis at 180 deg, T.
func above(yM float64) float64 {
	return -closedform.RectangleB(geom.Point{Y: yM}, 15e-3, 4e-3, 1).X
}

func TestOfTakesTheFieldWithItsSign(t *testing.T) {
	x, err := sensed(t, oneBar)
	if err != nil {
		t.Fatal(err)
	}
	within := func(what string, got, want, rel float64) {
		t.Helper()
		if !(math.Abs(got-want) <= rel*math.Abs(want)) {
			t.Errorf("%s is %.6g, want %.6g", what, got, want)
		}
	}
	within("field per ampere", x.PerA.Value, above(4.5e-3), x.Certainty+1e-9)
	within("slope", x.Chain.Element.SlopeTPerA, above(4.5e-3), x.Certainty+1e-9)
	if x.Placement != 0 || x.Chain.Element.SlopeTol != x.Certainty || !(x.Certainty < 1e-3) {
		t.Errorf("placement %g, certainty %g, tolerance %g", x.Placement, x.Certainty, x.Chain.Element.SlopeTol)
	}
	y, err := sensed(t, strings.Replace(oneBar, "180 deg", "0 deg", 1))
	if err != nil {
		t.Fatal(err)
	}
	within("turned round", y.PerA.Value, -above(4.5e-3), x.Certainty+1e-9)
	if !(y.PerA.Low <= y.PerA.Value && y.PerA.Value <= y.PerA.High && y.PerA.High < 0) {
		t.Errorf("bounds %+v", y.PerA)
	}
	// The swing of 2 V at 100 V/T: the bounds of the field go over to the current.
	clip := x.Bounded(func(c *channel.Chain) float64 { return channel.FirstClip(c.Stages(), true).CurrentA })
	within("clips at", clip.Value, 2/(100*above(4.5e-3)), 1e-3)
	if !(clip.Low <= clip.Value && clip.Value <= clip.High) || x.Certainty > 0 && !(clip.Low < clip.High) {
		t.Errorf("bounds %+v", clip)
	}
	if e := x.Bounded(func(*channel.Chain) float64 { return math.NaN() }); !math.IsNaN(e.Low) || !math.IsNaN(e.High) {
		t.Errorf("unknown: %+v", e)
	}
	if _, err := sensed(t, strings.Replace(oneBar, "180 deg", "90 deg", 1)); err == nil {
		t.Error("an axis across the field has a slope")
	}
}

// Height tolerance: the field at 4.3 mm over that at 4.5 mm, less one. A pair reads the
// difference of two places, and each of its elements has its own field.
func TestOfPlacementAndPair(t *testing.T) {
	x, err := sensed(t, strings.Replace(oneBar, "part: plover}", "part: plover, placement: {x: 0 mm, y: 0.2 mm, tilt: 0 deg}}", 1))
	if err != nil {
		t.Fatal(err)
	}
	want := above(4.3e-3)/above(4.5e-3) - 1
	if math.Abs(x.Placement-want) > 1e-4 || x.Chain.Element.SlopeTol != x.Certainty+x.Placement {
		t.Errorf("placement %g, want %g", x.Placement, want)
	}
	x, err = sensed(t, strings.Replace(oneBar, "part: plover}", "part: plover, pair: {spacing: 2 mm, along: 90 deg}}", 1))
	if err != nil {
		t.Fatal(err)
	}
	far, near := above(5.5e-3), above(3.5e-3)
	each := x.Chain.Element.EachTPerA
	if len(each) != 2 || math.Abs(each[0]-far) > 1e-3*far || math.Abs(each[1]-near) > 1e-3*near || math.Abs(x.PerA.Value-(far-near)) > 1e-3*near {
		t.Errorf("elements %g, reading %g, want %g, %g, %g", each, x.PerA.Value, far, near, far-near)
	}
}

func TestOpenNamesTails(t *testing.T) {
	x, err := sensed(t, strings.Replace(oneBar, ", bits: 12", "", 1))
	if err != nil {
		t.Fatal(err)
	}
	key := func(tails ...string) string {
		var out []string
		for _, m := range x.Open(tails...) {
			out = append(out, m.Key)
		}
		return strings.Join(out, " ")
	}
	for tails, want := range map[string]string{
		"converter.bits": "readout.converter.bits", "noise": "parts.plover.noise", "converter.": "readout.converter.bits", "converter.high": "",
		"sampling.": "readout.sampling.rate readout.sampling.delay",
	} {
		if got := key(tails); got != want {
			t.Errorf("%s: %q, want %q", tails, got, want)
		}
	}
	y := x.Edited(func(c *channel.Chain) { c.Output.ZeroV, c.Converter.HighV = 1, 9 })
	if x.Chain.Output.ZeroV != 2.5 || x.Chain.Converter.HighV != 5 || y.Chain.Output.ZeroV != 1 || y.Chain.Converter.HighV != 9 {
		t.Error("an edit reaches the chain that it was copied from")
	}
}

// A triangle's first harmonics, cos x + cos(3x)/9, peak at 10/9 in phase and at 8/9 against it
// (derivative −(4/3) sin³x in the second case). A ripple stands at any phase. A fault from no current whose
// direct component has not decayed reaches twice its peak, either way (κ = 2; IEC 60909-0, 8.1, from memory).
func TestOwnSwing(t *testing.T) {
	for _, c := range []struct {
		duty           string
		low, high, tol float64
	}{
		{"{kind: peak, currents: {A: {dc: -40 A}}}", -40, -40, 0},
		{"{kind: peak, frequency: 50 Hz, currents: {A: {rms: 10 A}}}", -10 * math.Sqrt2, 10 * math.Sqrt2, 1e-12},
		{"{kind: peak, currents: {A: {dc: 40 A}}, ripple: {frequency: 8 kHz, peak: 3 A}}", 37, 43, 1e-12},
		{"{kind: peak, frequency: 50 Hz, currents: {A: {dc: 5 A, peak: 9 A}}}", -4, 14, 1e-12},
		{"{kind: peak, frequency: 50 Hz, currents: {A: {peak: 9 A}}, harmonics: [{order: 3, peak: 1 A}]}", -10, 10,
			1e-5},
		{"{kind: peak, frequency: 50 Hz, currents: {A: {peak: 9 A}}, harmonics: [{order: 3, peak: 1 A, phase: 180 deg}]}", -8, 8, 1e-5},
		{"{kind: fault, frequency: 50 Hz, currents: {A: {peak: 9 A}}, asymmetry: {peak-factor: 2}}", -18, 18, 1e-12},
	} {
		l, problems := load.Load("layout.yaml", []byte(oneBar+"duties: {d: "+c.duty+"}\n"))
		if l == nil {
			t.Fatal(problems)
		}
		low, high := channel.OwnSwing(probe.NewModel(l), &l.Sensors[0], &l.Duties[0])
		// The ends may lie beyond the peaks by what lies between samples, and never within.
		if !(c.low-c.tol <= low && low <= c.low+1e-12 && c.high-1e-12 <= high && high <= c.high+c.tol) {
			t.Errorf("%s: %g to %g", c.duty, low, high)
		}
	}
}
