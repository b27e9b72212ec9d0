package channel_test

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/probe"
)

// trio is three bars of a poor conductor 40 mm apart; channel SV has a filter of its own, of 50 Hz.
const trio = `layout: 1
materials:
  m: {conductivity: 0.1 MS/m}
bars:
  U: {section: {width: 12 mm, thickness: 3 mm}, at: [-40 mm, 0 mm], metal: m}
  V: {section: {width: 12 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: m}
  W: {section: {width: 12 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: m}
sensors:
  SU: {reads: U, at: [-40 mm, 5.5 mm], axis: 180 deg, part: wigeon}
  SV: {reads: V, at: [0 mm, 5.5 mm], axis: 180 deg, part: wigeon}
  SW: {reads: W, at: [40 mm, 5.5 mm], axis: 180 deg, part: wigeon}
parts:
  wigeon: {linear-range: 20 mT, sensitivity: 100 mV/mT, bandwidth: 1 MHz, delay: 0 us}
readout:
  converter: {low: 0 V, high: 3.3 V, bits: 12}
  sampling: {rate: 1 MHz, delay: 0 us}
  channels: {SV: {filter: {corner: 50 Hz, tolerance: 10 %}}}
duties:
  run: {kind: continuous, frequency: 5 Hz, three-phase: {bars: [W, V, U], peak: 100 A}}
phase-sums:
  - {channels: [SU, SV, W], measured: two}
`

func TestPhasesOfLayout(t *testing.T) {
	l := loaded(t, trio)
	x := channel.TriosOf(l, &l.PhaseSums[0], &l.Duties[0])[0]
	if x.AmplitudeA != 100 || x.Derived != 0 || x.Sensors[0] != nil || x.Sensors[1].ID != "SV" ||
		x.Sensors[2].ID != "SU" {
		t.Fatalf("the set runs W, V, U and W is not measured: %+v", x)
	}
	p, unknown, err := x.Phases(probe.NewModel(l), 5, channel.AfterNothing)
	if err != nil || len(unknown) > 0 {
		t.Fatal(err, unknown)
	}
	// f/f_c = 0.1 behind the filter of SV: 1/√1.01, −5.71°.
	filter := 1 / complex(1, 0.1)
	b := func(dx float64) float64 { return closedform.RectangleB(geom.Point{X: dx, Y: 5.5e-3}, 12e-3, 3e-3, 1).X }
	cross := complex(b(40e-3)/b(0), 0)
	for _, tc := range []struct {
		what string
		k, j int
		want complex128
	}{
		{"SU itself", 2, 2, 0},
		{"SV itself", 1, 1, filter - 1},
		{"V into SU", 2, 1, cross},
		{"U into SV", 1, 2, cross * filter},
		{"a phase that is not measured", 0, 0, 0},
	} {
		if got := p.Gain[tc.k][tc.j]; cmplx.Abs(got-tc.want) > 2e-4 {
			t.Errorf("%s: %v, want %v", tc.what, got, tc.want)
		}
	}
	// No bar is left out by a matrix where one has no sensor of its own: all three do.
	all := strings.Replace(trio, "[SU, SV, W], measured: two", "[SU, SV, SW], measured: three", 1)
	l = loaded(t, all)
	x = channel.TriosOf(l, &l.PhaseSums[0], &l.Duties[0])[0]
	for _, after := range []channel.After{channel.AfterMatrix, channel.AfterMatrixAtFrequency} {
		p, _, err := x.Phases(probe.NewModel(l), 5, after)
		if err != nil {
			t.Fatal(err)
		}
		if c := cmplx.Abs(p.Gain[2][1]); c > 1e-6 {
			t.Errorf("%s: crosstalk of %g", after, c)
		}
		want := filter - 1
		if after == channel.AfterMatrixAtFrequency {
			want = 0
		}
		if got := p.Gain[1][1]; cmplx.Abs(got-want) > 2e-5 {
			t.Errorf("%s: SV itself %v, want %v", after, got, want)
		}
	}
	of, err := channel.Of(probe.NewModel(l), x.Sensors[1])
	if err != nil {
		t.Fatal(err)
	}
	// Corners 45 and 55 Hz: half of atan(5/45) − atan(5/55).
	if got, want := of.Chain.Timing.LagTol(5), (math.Atan(5./45)-math.Atan(5./55))/2; math.Abs(got-want) > 1e-9 {
		t.Errorf("lag within the tolerance %g, want %g", got, want)
	}
}
