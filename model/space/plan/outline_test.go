package plan

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

func TestOutlineAreas(t *testing.T) {
	rows := []struct {
		name    string
		d       Drawing
		areaMM2 float64
		corners int // of the outer polygon
		holes   int
	}{
		{"full", bar(20, 3, -50, 50), 2000, 4, 0},
		{"neck", bar(20, 3, -50, 50, neck(0, 10, 8)), 2000 - 120, 12, 0},
		{"neck at the end", bar(20, 3, -50, 50, neck(45, 10, 8)), 2000 - 120, 8, 0},
		{"neck over the end", bar(20, 3, -50, 50, neck(50, 10, 8)), 2000 - 60, 8, 0},
		{"neck of the whole length", bar(20, 3, -5, 5, neck(0, 10, 8)), 80, 4, 0},
		{"notch", bar(20, 3, -50, 50, notch(0, 10, 6, -1)), 2000 - 60, 8, 0},
		{"notches flush, other depth", bar(20, 3, -50, 50, notch(0, 10, 6, 1), notch(10, 10, 4, 1)), 2000 - 100, 10, 0},
		{"notches flush, same depth", bar(20, 3, -50, 50, notch(0, 10, 6, 1), notch(10, 10, 6, 1)), 2000 - 120, 8, 0},
		{"notches that face each other", bar(20, 3, -50, 50, notch(0, 10, 6, 1), notch(0, 12, 6, -1)), 2000 - 132, 12, 0},
		{"hole", bar(20, 3, -50, 50, hole(2, 3, 6)), 2000 - math.Pi*9, 4, 1},
		{"slot", bar(20, 3, -50, 50, slot(-2, 3, 4, 20)), 2000 - math.Pi*4 - 16*4, 4, 1},
		{"round slot", bar(20, 3, -50, 50, slot(-2, 3, 4, 4)), 2000 - math.Pi*4, 4, 1},
		{"hole in a neck", bar(20, 3, -50, 50, neck(0, 20, 12), hole(0, 0, 6)), 2000 - 160 - math.Pi*9, 12, 1},
		{"hole and slot", bar(20, 3, -50, 50, slot(5, 3, 4, 20), hole(-4, 0, 9)), 2000 - math.Pi*4 - 64 - math.Pi*20.25, 4, 2},
		{"endless", long(20, 3, neck(0, 10, 8)), 20*(10+2*70) - 120, 12, 0},
	}
	for _, r := range rows {
		o, err := Outline(r.d)
		if err != nil {
			t.Errorf("%s: %v", r.name, err)
			continue
		}
		near(t, r.name+": area", o.AreaM2()*1e6, r.areaMM2, 1e-7*2000)
		if len(o.Outer) != r.corners || len(o.Holes) != r.holes {
			t.Errorf("%s: %d corners, %d holes, want %d and %d", r.name, len(o.Outer), len(o.Holes), r.corners, r.holes)
		}
		if i, j, bad := o.Outer.SelfCrossing(); bad || o.Outer.SignedAreaM2() <= 0 {
			t.Errorf("%s: edges %d and %d cross, or clockwise", r.name, i, j)
		}
	}
}

func TestOutlineErrors(t *testing.T) {
	nan := layout.Num{V: math.NaN()}
	rows := []struct {
		d          Drawing
		cut, other int
		text       string
	}{
		{bar(20, 3, -50, 50, neck(0, 10, 20)), 0, -1, "no narrower than the bar"},
		{bar(20, 3, -50, 50, neck(0, 10, 25)), 0, -1, "25.0 mm"},
		{bar(20, 3, -50, 50, hole(0, 0, 3), notch(0, 10, 20, 1)), 1, -1, "parts the bar"},
		{bar(20, 3, -50, 50, notch(0, 10, 5, 0)), 0, -1, "left or on the right"},
		{bar(20, 3, -50, 50, notch(0, 10, 12, 1), notch(4, 10, 9, -1)), 1, 0, "part the bar"},
		{bar(20, 3, -50, 50, notch(0, 10, 12, 1), notch(10, 10, 8, -1)), 1, 0, "part the bar"},
		{bar(20, 3, -50, 50, notch(0, 10, 5, 1), neck(8, 10, 12)), 0, 1, "overlap"},
		{bar(20, 3, -50, 50, hole(8, 0, 5)), 0, -1, "over the edge"},
		{bar(20, 3, -50, 50, hole(30, 0, 5)), 0, -1, "over the edge"},
		{bar(20, 3, -50, 50, hole(0, 49, 5)), 0, -1, "over the end"},
		{bar(20, 3, -50, 50, slot(0, -45, 3, 20)), 0, -1, "over the end"},
		{bar(20, 3, -50, 50, slot(0, 0, 20, 10)), 0, -1, "shorter than its width"},
		{bar(20, 3, -50, 50, hole(0, 70, 5)), 0, -1, "beyond the end"},
		{bar(20, 3, -50, 50, neck(-55, 10, 8)), 0, -1, "beyond the end"},
		{bar(20, 3, -50, 50, hole(0, 0, 5), hole(3, 3, 5)), 0, 1, "overlap or touch"},
		{bar(20, 3, -50, 50, hole(0, 0, 5), slot(4, 0, 3, 9)), 0, 1, "overlap or touch"},
		{bar(20, 3, -50, 50, neck(0, 10, 8), hole(0, 7, 9)), 1, 0, "another cut"},
		{bar(20, 3, -50, 50, neck(0, 10, 8), hole(7, 0, 3)), 1, 0, "another cut"},
		{bar(20, 3, -50, 50, neck(0, 0, 8)), 0, -1, "above zero"},
		{bar(20, 3, -50, 50, notch(0, 7e-15, 5, 1)), 0, -1, "the notch is smaller than 20.0 nm"},
		{bar(20, 3, -50, 50, notch(0, 7, 1.9e-5, 1)), 0, -1, "smaller"},
		{bar(20, 3, -50, 50, neck(0, 7, 20-3.9e-5)), 0, -1, "smaller"},
		{bar(20, 3, -50, 50, hole(0, 0, 1e-5)), 0, -1, "smaller"},
		{bar(20, 3, -50, 50, slot(0, 0, 1e-5, 9)), 0, -1, "smaller"},
		{bar(20, 3, -50, 50, layout.Cut{Kind: layout.Hole, AcrossM: nan, DiameterM: num(3)}), 0, -1, "not a number"},
		{bar(20, 3, -50, 50, layout.Cut{Kind: layout.Hole, DiameterM: nan}), 0, -1, "above zero"},
		{bar(20, 3, -50, 50, layout.Cut{}), 0, -1, "no known kind"},
	}
	for i, r := range rows {
		_, err := Outline(r.d)
		var c *CutError
		if !errors.As(err, &c) {
			t.Errorf("row %d (%s): error %v", i, r.text, err)
			continue
		}
		if c.Cut != r.cut || c.Other != r.other || !strings.Contains(err.Error(), r.text) {
			t.Errorf("row %d: cut %d, other %d, %q; want %d, %d, %q", i, c.Cut, c.Other, err, r.cut, r.other, r.text)
		}
		if _, err := Solve(r.d, Options{}); err == nil {
			t.Errorf("row %d: Solve has no error", i)
		}
	}
	for _, d := range []Drawing{bar(0, 3, 0, 1), bar(20, -3, 0, 1), bar(20, 3, 1, 1), bar(math.NaN(), 3, 0, 1), bar(20, 3, math.NaN(), 1), bar(20, 3, math.Inf(1), math.Inf(1))} {
		if _, err := Outline(d); err == nil {
			t.Errorf("%v: no error", d)
		}
	}
}

func TestNarrowest(t *testing.T) {
	rows := []struct {
		d             Drawing
		width, lo, hi float64
	}{
		{bar(20, 3, -50, 50), 20, 0, 0},
		{long(20, 3, neck(5, 10, 8)), 8, 5, 5},
		{bar(20, 3, -50, 50, hole(2, 7, 6)), 14, 6.999, 7.001},
		{bar(20, 3, -50, 50, slot(2, 7, 3, 20)), 17, -1.5, 15.5},
		// Two holes side by side, one further along: the chords add up to most half-way,
		// 2·2·√(5²−1²).
		{bar(40, 3, -50, 50, hole(-8, 0, 10), hole(8, 2, 10)), 40 - 4*math.Sqrt(24), 0.99, 1.01},
		{bar(20, 3, -50, 50, neck(0, 20, 12), hole(0, 5, 6)), 6, 4.999, 5.001},
		{bar(20, 3, -50, 50, notch(0, 10, 6, 1), notch(8, 10, 6, -1)), 8, 3, 5},
		// Only the rim of a hole lies in the neck's range.
		{bar(30, 3, -50, 50, notch(0, 10, 8, 1), hole(-3, 7, 10)), 22 - 2*math.Sqrt(25-4), 4.99, 5.01},
	}
	for i, r := range rows {
		f := solve(t, r.d, Options{Certainty: 0.05})
		w, z := f.NarrowestM()
		near(t, "narrowest", w*1e3, r.width, 1e-6)
		if z*1e3 < r.lo || z*1e3 > r.hi {
			t.Errorf("row %d: at %g mm, want %g to %g", i, z*1e3, r.lo, r.hi)
		}
	}
}

func TestContains(t *testing.T) {
	f := solve(t, bar(20, 3, -200, 200, neck(0, 10, 8), hole(0, 30, 6)), Options{Certainty: 0.05})
	for _, r := range []struct {
		x, z float64
		in   bool
	}{
		{0, 0, true}, {5, 0, false}, {9, 6, true}, {0, 30, false}, {3.5, 30, true}, {0, 199, true}, {0, 201, false},
		{10.1, 199, false}, {9, -150, true},
	} {
		if got := f.Contains(r.x*1e-3, r.z*1e-3); got != r.in {
			t.Errorf("(%g, %g) in the metal: %t", r.x, r.z, got)
		}
	}
	if s, _ := solve(t, long(20, 3, neck(0, 10, 8)), Options{}).Squares(); !math.IsInf(s, 1) {
		t.Errorf("an endless bar has %g squares", s)
	}
	if _, err := Solve(bar(20, 3, 0, 50), Options{Certainty: -1}); err == nil {
		t.Error("certainty below zero is accepted")
	}
	if _, err := SolvePlan(Plan{Region: geom.Solid(geom.Rectangle(1, 1)), Entry: 1, Exit: 1, ThicknessM: 1}, Options{}); err == nil {
		t.Error("one edge for both ends is accepted")
	}
}

// randomCut makes a cut of any kind from five numbers, millimetres.
func randomCut(k uint8, x, z, l, w float64) layout.Cut {
	return layout.Cut{Kind: layout.CutKind(k % 6), AlongM: num(z), AcrossM: num(x), LengthM: num(l),
		WidthM: num(w), DepthM: num(w), DiameterM: num(w), Side: math.Copysign(1, x)}
}

// checkOutline fails unless the outline is an error, or simple with the area of the
// bar less those of the cuts. ok says that there is one.
func checkOutline(t *testing.T, d Drawing) (ok bool) {
	t.Helper()
	o, err := Outline(d)
	if err != nil {
		return false
	}
	full := d.WidthM * (d.ToM - d.FromM)
	want := full
	for _, c := range d.Cuts {
		clip := max(0, min(c.AlongM.V+c.LengthM.V/2, d.ToM)-max(c.AlongM.V-c.LengthM.V/2, d.FromM))
		switch r := c.WidthM.V / 2; c.Kind {
		case layout.Neck:
			want -= clip * (d.WidthM - c.WidthM.V)
		case layout.Notch:
			want -= clip * c.DepthM.V
		case layout.Hole:
			want -= math.Pi * r * r
		case layout.Slot:
			want -= math.Pi*r*r + 2*r*(c.LengthM.V-2*r)
		}
	}
	if got := o.AreaM2(); math.Abs(got-want) > 1e-5*full {
		t.Errorf("%+v: area %g, want %g mm²", d.Cuts, got*1e6, want*1e6)
	}
	if i, j, bad := o.Outer.SelfCrossing(); bad {
		t.Errorf("%+v: edges %d and %d meet", d.Cuts, i, j)
	}
	return true
}

// Whatever the cuts: no panic, and either an error or a sound outline.
func FuzzOutline(f *testing.F) {
	f.Add(uint8(1), 0.0, 0.0, 10.0, 8.0, uint8(3), 3.0, 20.0, 6.0, 2.0)
	f.Add(uint8(2), 0.0, 50.0, 10.0, 8.0, uint8(2), -5.0, 60.0, 10.0, 3.0)
	f.Add(uint8(4), 2.0, 1.0, 10.0, 8.0, uint8(4), -7.0, 2.0, 20.0, 2.0)
	f.Add(uint8(2), 0.0, 0.0, 7e-15, 8.0, uint8(3), 0.0, 9.0, 1.0, 3e-5)
	f.Add(uint8(1), 0.0, -50.0, 200.0, 8.0, uint8(3), 0.0, 0.0, 0.0, 6.0)
	f.Fuzz(func(t *testing.T, k1 uint8, x1, z1, l1, w1 float64, k2 uint8, x2, z2, l2, w2 float64) {
		checkOutline(t, bar(20, 3, -50, 50, randomCut(k1, x1, z1, l1, w1), randomCut(k2, x2, z2, l2, w2)))
	})
}

// Cuts of likely sizes on a grid of half millimetres, so that they often touch, sit
// flush or run over the ends; every tenth drawing that is sound is solved.
func TestRandomDrawings(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	grid := func(lo, hi float64) float64 { return math.Round(2*(lo+(hi-lo)*rng.Float64())) / 2 }
	sound, solved := 0, 0
	for range 2000 {
		d := bar(20, 3, -30, 30)
		for range 1 + rng.IntN(4) {
			d.Cuts = append(d.Cuts, randomCut(uint8(1+rng.IntN(4)), grid(-9, 9), grid(-34, 34), grid(0.5, 20), grid(0.5, 15)))
		}
		if !checkOutline(t, d) {
			continue
		}
		sound++
		if sound%10 != 0 || solved >= 25 {
			continue
		}
		solved++
		f := solve(t, d, Options{Certainty: 0.05})
		extra, bound := f.ExtraSquares()
		if w, _ := f.NarrowestM(); extra < -bound || !(w > 0 && w < d.WidthM) {
			t.Errorf("%+v: %g squares more, narrowest %g", d.Cuts, extra, w)
		}
		if b, e := f.B(mm(1, 4, 2)); !(e < 0.05*b.Norm()+2e-7) {
			t.Errorf("%+v: field %g with bound %g", d.Cuts, b.Norm(), e)
		}
	}
	t.Logf("%d sound, %d solved", sound, solved)
	if sound < 300 || solved < 20 {
		t.Error("too few drawings were sound")
	}
}
