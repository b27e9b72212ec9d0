package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/probe"
)

// Eddy currents of a bare round bar drive a foreign alternating field out of it
// and past the sensor: 1 - D a²/r² of the field along the surface. D from
// fixtures/reference/analytic-cases.yaml, solid_cylinder_transverse, copper of
// 10 mm radius.
func TestForeignFieldBesideBareBar(t *testing.T) {
	for _, c := range []struct {
		freqHz float64
		d      complex128
	}{
		{50, complex(-0.094530153, -0.249049791)},
		{1000, complex(-0.790282585, -0.186578069)},
		{10000, complex(-0.933895216, -0.063883879)},
	} {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {A: {section: {diameter: 20 mm}, at: [0 mm, 0 mm], metal: m}}
materials: {m: {conductivity: 58 MS/m}}
sensors: {S: {reads: A, at: [0 mm, 12.5 mm], axis: 180 deg}}
duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}
surroundings: {return: far, immunity: {peak: 1000 A/m, frequency: %g Hz}}
`, c.freqHz))
		m := probe.NewModel(l)
		f, err := m.Foreign(&l.Sensors[0], c.freqHz)
		if err != nil {
			t.Fatal(err)
		}
		want := cmplx.Abs(1 - c.d*complex(10*10/(12.5*12.5), 0))
		e := f.X.Abs()
		near(t, fmt.Sprintf("%g Hz", c.freqHz), e.Value, want, 5e-3)
		if !(e.Low <= want && want <= e.High) {
			t.Errorf("%g Hz: %g lies outside %g to %g", c.freqHz, want, e.Low, e.High)
		}
		list, _, err := m.Ambient(&l.Sensors[0])
		if err != nil || len(list) != 2 {
			t.Fatal(list, err)
		}
		if least := want * 4e-7 * math.Pi * 1000 * 0.995; list[1].AxisT < least {
			t.Errorf("%g Hz: immunity level counts %g T, at least %g", c.freqHz, list[1].AxisT, least)
		}
	}
}

// Where the closed form of thin bars holds, its bound covers what eddy currents do.
func TestForeignFieldBesideThinBar(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars: {A: {section: {diameter: 20 mm}, at: [0 mm, 0 mm], metal: m}}
materials: {m: {conductivity: 58 MS/m}}
sensors: {S: {reads: A, at: [0 mm, 12.5 mm], axis: 180 deg}}
`)
	m := probe.NewModel(l)
	coarse, err := m.Foreign(&l.Sensors[0], 12)
	if err != nil {
		t.Fatal(err)
	}
	fine, err := m.Precise().Foreign(&l.Sensors[0], 12)
	if err != nil {
		t.Fatal(err)
	}
	a, b := coarse.X.Abs(), fine.X.Abs()
	if a.High == a.Value || !(a.Low <= b.Low && b.High <= a.High) {
		t.Errorf("closed form %+v, plane field %+v", a, b)
	}
}

// Two wires of opposite currents beside bare bars are one cable, the nearest of those that fit and stand close together; a wire without one stands
// by itself, and so does each beside a shield.
func TestWireReturns(t *testing.T) {
	const wires = `layout: 1
bars: {a: {section: {diameter: 6 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [0 mm, 10 mm], axis: 180 deg}}
surroundings:
  return: far
  wires:
    far: {at: [90 mm, 60 mm], peak: 20 A, frequency: 50 Hz, phase: 180 deg}
    out: {at: [0 mm, 60 mm], peak: 20 A, frequency: 50 Hz}
    direct: {at: [1 mm, 60 mm], dc: 20 A}
    other: {at: [2 mm, 60 mm], peak: 20 A, frequency: 60 Hz, phase: 180 deg}
    more: {at: [3 mm, 60 mm], peak: 21 A, frequency: 50 Hz, phase: 180 deg}
    aslant: {at: [4 mm, 60 mm], peak: 20 A, frequency: 50 Hz, phase: 170 deg}
    back: {at: [5 mm, 60 mm], rms: 14.142135623730951 A, frequency: 50 Hz, phase: 180 deg}
    minus: {at: [50 mm, 60 mm], dc: -7 A}
    plus: {at: [60 mm, 60 mm], dc: 7 A}
    left: {at: [-300 mm, 0 mm], dc: 9 A}
    right: {at: [300 mm, 0 mm], dc: -9 A}
`
	const shield = "shields: {p: {form: {plate: {width: 20 mm, thickness: 2 mm}}, at: [0 mm, -20 mm], material: silicon-steel}}\n"
	if got, want := probe.WireReturns(mustLoad(t, wires)), []int{-1, 6, -1, -1, -1, -1, 1, 8, 7, -1, -1}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := probe.WireReturns(mustLoad(t, wires+shield)); slices.ContainsFunc(got, func(k int) bool { return k >= 0 }) {
		t.Errorf("beside a shield: %v", got)
	}
}

// What an alternating wire puts on a sensor beside bars lies within its bounds of what a bar as thin as the wire does, solved with
// the others by finite elements: eddy currents of thick and of thin bars turn its field on an axis on which it has none by itself.
func TestAlternatingWireBesideBars(t *testing.T) {
	const (
		peakA  = 400
		layout = `layout: 1
bars:
  a: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 20 °C}
  b: {section: {width: 20 mm, thickness: 3 mm}, at: [32 mm, 0 mm], metal: copper, temperature: 20 °C}
%s
sensors: {s: {reads: a, at: [9 mm, 4 mm], axis: 180 deg}}
surroundings:
  return: far
%s
`
	)
	least := math.Inf(1)
	for _, hz := range []float64{50, 400} {
		for _, at := range []geom.Point{{X: 80, Y: 3}, {X: -60, Y: 0}, {X: 10, Y: 60}, {X: -20, Y: -25}, {X: 150, Y: 100}} {
			wire := fmt.Sprintf("  wires: {w: {at: [%g mm, %g mm], peak: %d A, frequency: %g Hz}}", at.X, at.Y, peakA, hz)
			l := mustLoad(t, fmt.Sprintf(layout, "", wire))
			list, _, err := probe.NewModel(l).Ambient(&l.Sensors[0])
			if err != nil {
				t.Fatal(err)
			}
			got := list[len(list)-1]
			perA := got.AxisT / got.DrawnA.Value
			l = mustLoad(t, fmt.Sprintf(layout, fmt.Sprintf("  w: {section: {diameter: 1 mm}, at: [%g mm, %g mm], metal: brass}", at.X, at.Y), ""))
			f, err := probe.NewModel(l).Precise().Field(hz)
			if err != nil {
				t.Fatal(err)
			}
			want := peakA * cmplx.Abs(f.OfBar(&l.Sensors[0], 2).Axis.V)
			low, high := got.DrawnA.Low*perA, got.DrawnA.High*perA
			t.Logf("%g Hz, wire at %v: %.4g uT in [%.4g, %.4g], want %.4g", hz, at, got.AxisT*1e6, low*1e6, high*1e6, want*1e6)
			if !(low <= want && want <= high) {
				t.Errorf("%g Hz, wire at %v: %.4g uT in [%.4g, %.4g], want %.4g", hz, at, got.AxisT*1e6, low*1e6, high*1e6, want*1e6)
			}
			least = math.Min(least, want/(high-low))
		}
	}
	if !(least > 0.2) {
		t.Errorf("a bound as wide as %.2f times the field", 1/least)
	}
}
