package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/probe"
)

// A bare copper bar of 15 by 4 mm, 58 MS/m, three at 25 mm pitch, neighbours
// idle, reads 20.5 % low and 6.6° late at 2 kHz, 2.5 mm above the face (common
// practice). Tolerance: half a per cent and half a degree.
func TestGainOfABareBar(t *testing.T) {
	m := probe.NewModel(mustLoad(t, `layout: 1
bars:
  A: {section: {width: 15 mm, thickness: 4 mm}, at: [-25 mm, 0 mm], metal: cu}
  B: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: cu}
  C: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: cu}
sensors:
  S: {reads: B, at: [0 mm, 4.5 mm], axis: 180 deg}
materials:
  cu: {conductivity: 58 MS/m}
`)).Precise()
	g, err := m.Gain(&m.Layout.Sensors[0], 2000)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "change", g.Change, -0.205, 0.005)
	within(t, "lag in degrees", g.LagRad.Scale(180/math.Pi), 6.6, 0.5)
}

// A bar of 20 by 3 mm, 58 MS/m: computed fields at 5.5 mm above the middle and at
// (15, 0), as peak phasors in µT/A (fixtures/reference/computed-references.yaml,
// bar_field_versus_frequency; its spread is 2e-4 of the field at rest). The two
// places differ in the sign of both numbers.
func TestGainAgainstReference(t *testing.T) {
	m := probe.NewModel(mustLoad(t, `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: cu}
sensors:
  above: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg}
  beside: {reads: A, at: [15 mm, 0 mm], axis: 90 deg}
materials:
  cu: {conductivity: 58 MS/m}
`)).Precise()
	for _, c := range []struct {
		sensor     int
		freqHz     float64
		still      float64
		wantRe, im float64 // along the field at rest
	}{
		{0, 50, 21.40742, 21.3832, -0.3314},
		{0, 400, 21.40742, 20.2532, -1.9848},
		{0, 1000, 21.40742, 18.3445, -2.1516},
		{0, 2000, 21.40742, 17.3693, -1.5220},
		{0, 10000, 21.40742, 16.5972, -0.5956},
		{1, 1000, 15.95426, 16.8941, 0.8656},
		{1, 10000, 15.95426, 17.9940, 0.3885},
	} {
		g, err := m.Gain(&m.Layout.Sensors[c.sensor], c.freqHz)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("sensor %d at %g Hz", c.sensor, c.freqHz)
		within(t, name+" change", g.Change, math.Hypot(c.wantRe, c.im)/c.still-1, 1e-3)
		within(t, name+" lag", g.LagRad, -math.Atan2(c.im, c.wantRe), 1e-3)
	}
}

// within fails unless e lies within tol of want, and its bounds, no wider than
// tol to each side, meet the reference's own spread of 3e-4.
func within(t *testing.T, name string, e bounded.Estimate, want, tol float64) {
	t.Helper()
	if !(math.Abs(e.Value-want) <= tol) {
		t.Errorf("%s: %.5g, want %.5g within %.2g", name, e.Value, want, tol)
	}
	if !(e.Low <= e.Value && e.Value <= e.High && e.High-e.Low <= 2*max(tol, 2.5e-3)) {
		t.Errorf("%s: %.5g with bounds %.5g to %.5g", name, e.Value, e.Low, e.High)
	}
}

// The bar beside: 20 by 3 mm at 40 mm, idle and with no net current. The share at
// rest is that of analytic-cases.yaml, three_phase_crosstalk (3.34695 %); the one
// at frequency is |Bx| of eddy_currents_in_neighbour_bar over |Bx| of
// bar_field_versus_frequency, both of one bar alone against the same bar (the own
// bar's field is changed by the idle one by less than one per cent of the share).
func TestStrayRiseOfABareBar(t *testing.T) {
	m := probe.NewModel(mustLoad(t, `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: cu}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: cu}
sensors:
  S: {reads: B, at: [40 mm, 5.5 mm], axis: 180 deg}
materials:
  cu: {conductivity: 58 MS/m}
`)).Precise()
	for _, c := range []struct {
		freqHz      float64
		own, beside complex128
	}{
		{50, -21.3832 + 0.3314i, -0.71795 - 0.02114i},
		{400, -20.2532 + 1.9848i, -0.78817 - 0.12998i},
		{1000, -18.3445 + 2.1516i, -0.91395 - 0.14767i},
		{10000, -16.5972 + 0.5956i, -1.0477 - 0.0508i},
	} {
		r, err := m.StrayRise(&m.Layout.Sensors[0], c.freqHz)
		if err != nil {
			t.Fatal(err)
		}
		want := cmplx.Abs(c.beside / c.own)
		name := fmt.Sprintf("share at %g Hz", c.freqHz)
		within(t, name, r.At, want, 1e-3)
		within(t, name+", rise", r.Rise, cmplx.Abs(c.beside/c.own-0.0334695), 1e-3)
		if r.Beside != 0 {
			t.Errorf("%s: circuit %d", name, r.Beside)
		}
	}
}
