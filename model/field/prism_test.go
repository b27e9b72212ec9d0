package field

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/bounded"
)

// openIron is a channel 12 mm deep, one that declares no depth and a plate that is long, the nearest end of a bar at the
// given length from the middle.
func openIron(half string) string {
	return `layout: 1
materials: {m: {relative-permeability: 3000}}
bars:
  A: {section: {width: 18 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, length: ` + half + `}
shields:
  K: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.5 mm}}, at: [0 mm, -4 mm, 5 mm], material: m, depth: 12 mm}
  L: {form: {channel: {opening: 27 mm, leg: 14 mm, wall: 1.5 mm}}, at: [60 mm, -4 mm], material: m}
  M: {form: {plate: {width: 40 mm, thickness: 2 mm}}, at: [0 mm, 40 mm], material: m, depth: long}
sensors: {S: {reads: A, at: [0 mm, 5 mm, 5 mm], axis: 180 deg}}
`
}

// Where open iron begins and ends, by hand from the table at type end: what others take of z is -15 to 15 mm, the largest
// outer width 40 mm, so that reach is 15 + 400 mm to either side. L stands about its own z, M about the middle of the others.
func TestPrisms(t *testing.T) {
	l := loaded(t, openIron("4 m"))
	want := [ends][3]prism{
		nearEnd: {{-0.001, 0.011, false}, {-0.015, 0.015, false}, {-0.2075, 0.2075, true}},
		farEnd:  {{-0.001, 0.011, false}, {-0.415, 0.415, true}, {-0.415, 0.415, true}},
	}
	for e, all := range want {
		for i, got := range prismsOf(l, end(e)) {
			if w := all[i]; math.Abs(got.fromZM-w.fromZM) > 1e-12 || math.Abs(got.toZM-w.toZM) > 1e-12 || got.long != w.long {
				t.Errorf("end %d, shield %d: %+v, want %+v", e, i, got, w)
			}
		}
	}
	// L from 30 to 830 mm, M from 415 to 830: M has more beyond its far end.
	if got := beyondOf(l); math.Abs(got-1) > 1e-12 {
		t.Errorf("beyond %g, want 1", got)
	}
	if why := tooNear(l); why != "" {
		t.Errorf("a bar of 4 m ends too near: %s", why)
	}
	// Six tenths of the way to the end of a bar of 240 mm: the way from L to it is 43.5 mm along x and 120 mm along z, M
	// stands 39 mm above it.
	near := loaded(t, openIron("240 mm"))
	far := prismsOf(near, farEnd)
	for i, acrossM := range map[int]float64{1: 0.045, 2: 0.039} {
		if wantM := 0.6 * math.Hypot(acrossM, 0.120); math.Abs(far[i].toZM-wantM) > 1e-12 {
			t.Errorf("shield %d: to %g, want %g", i, far[i].toZM, wantM)
		}
	}
	if why := tooNear(near); !strings.Contains(why, `"M"`) && !strings.Contains(why, `"L"`) {
		t.Errorf("a bar of 240 mm ends too near, said %q", why)
	}
}

// What falls as one over the depth: v + c/D. The middle of both ends and of the limit holds all three, and goes no farther
// but for the bounds of the ends.
func TestJoined(t *testing.T) {
	const v, c, d, e = 3.0, 0.8, 0.2, 0.5
	beyond := d / (e - d)
	for _, sign := range []float64{1, -1} {
		near, far := v+sign*c/d, v+sign*c/e
		got := joined(Vec{X: complex(near, 0)}, Vec{X: complex(far, 0)}, beyond)
		x := real(got.X)
		for _, in := range []float64{near, far, v} {
			if !(math.Abs(in-x) <= got.Bound*(1+1e-12)) {
				t.Errorf("%g lies outside %g ± %g", in, x, got.Bound)
			}
		}
		if math.Abs(x-(near+v)/2) > 1e-12 || math.Abs(got.Bound-c/d/2) > 1e-12 {
			t.Errorf("%g ± %g, want %g ± %g", x, got.Bound, (near+v)/2, c/d/2)
		}
		one := joinedEstimate(bounded.Exact(math.Max(near, 0)), bounded.Exact(math.Max(far, 0)), beyond)
		low, high := math.Min(math.Max(near, 0), v), math.Max(near, v)
		if sign > 0 && (math.Abs(one.Low-low) > 1e-12 || math.Abs(one.High-high) > 1e-12) {
			t.Errorf("%+v, want from %g to %g", one, low, high)
		}
		// Bounds of the ends come through as the sum that they are part of: (1 + beyond) far − beyond near.
		wide := joined(Vec{X: complex(near, 0), Bound: 0.01}, Vec{X: complex(far, 0), Bound: 0.02}, beyond)
		if want := got.Bound + (1+beyond)*0.02 + beyond*0.01; math.Abs(wide.Bound-want) > 1e-12 {
			t.Errorf("bound %g, want %g", wide.Bound, want)
		}
	}
}

// A bar that comes back 60 mm beside itself puts the field of its other leg on a plate between: of endless legs at the
// distances a and b of a corner, 1 + a/b times its own (J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2).
func TestBendFactor(t *testing.T) {
	l := loaded(t, `layout: 1
materials: {m: {relative-permeability: 3000}}
bars:
  A: {section: {width: 4 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, run: [[0 mm, 0 mm, -10 m], [0 mm, 0 mm, 10 m], [60 mm, 0 mm, 10 m], [60 mm, 0 mm, -10 m]]}
shields:
  K: {form: {plate: {width: 20 mm, thickness: 2 mm}}, at: [30 mm, 10 mm], material: m}
sensors: {S: {reads: A, at: [0 mm, 5 mm], axis: 180 deg}}
`)
	far := math.Hypot(40e-3, 11e-3) / math.Hypot(20e-3, 11e-3)
	near := math.Hypot(40e-3, 9e-3) / math.Hypot(20e-3, 9e-3)
	if got, want := bendFactor(l, 0), 1+math.Max(far, near); math.Abs(got-want) > 1e-4*want {
		t.Errorf("%.6f, want %.6f", got, want)
	}
	straight := loaded(t, strings.Replace(openIron("4 m"), "depth: 12 mm", "depth: long", 1))
	if got := bendFactor(straight, 0); got != 1 {
		t.Errorf("straight bars: %g", got)
	}
}
