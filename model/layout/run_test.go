package layout

import (
	"errors"
	"math"
	"strings"
	"testing"

	"busgauss/model/geom"
)

func at(x, y, z float64) Place { return Place{X: given(x), Y: given(y), Z: given(z)} }

// runBar is a bar 20 x 3 mm at (5, 0), in millimetres, with a run.
func runBar(points ...Place) *Bar {
	return &Bar{Section: Section{Kind: Rectangle, WidthM: given(20), ThicknessM: given(3)}, At: Place{X: given(5), Y: given(0)}, Run: points}
}

// How runs pass the place (5, 0), seen along z.
func TestSectionPass(t *testing.T) {
	for _, c := range []struct {
		name string
		bar  *Bar
		leg  int
		near geom.Point3
		off  float64
	}{
		{"through it", runBar(at(5, 0, -50), at(5, 0, 50)), 1, geom.Point3{X: 5}, 0},
		{"beside it", runBar(at(2, 4, -50), at(2, 4, 50)), 1, geom.Point3{X: 2, Y: 4}, 5},
		{"above the section", runBar(at(5, 0, 30), at(5, 0, 50)), 1, geom.Point3{X: 5, Z: 30}, 0},
		{"bent at the section", runBar(at(60, 0, 0), at(5, 0, 0), at(5, 0, 50)), 2, geom.Point3{X: 5}, 0},
		{"there and back", runBar(at(5, 0, 90), at(5, 0, 40), at(80, 0, 40), at(80, 0, -10)), 1, geom.Point3{X: 5, Z: 40}, 0},
		{"twice through it", runBar(at(5, 0, 300), at(5, 0, 100), at(50, 0, 100), at(50, 0, 50), at(5, 0, 50), at(5, 0, -50)), 5, geom.Point3{X: 5}, 0},
		{"never along z", runBar(at(-50, 8, 0), at(50, 8, 0)), 1, geom.Point3{X: 5, Y: 8}, 8},
		{"a piece of no length", runBar(at(5, 0, 0), at(5, 0, 0), at(5, 0, 50)), 2, geom.Point3{X: 5}, 0},
	} {
		leg, near, off := c.bar.SectionPass()
		if leg != c.leg || near.Sub(c.near).Norm() > 1e-12 || math.Abs(off-c.off) > 1e-12 {
			t.Errorf("%s: piece %d, %v, %g off; want %d, %v, %g", c.name, leg, near, off, c.leg, c.near, c.off)
		}
	}
	if leg, _, off := runBar().SectionPass(); leg != 0 || !math.IsInf(off, 1) {
		t.Errorf("no run: piece %d, %g off", leg, off)
	}
}

// A bend in the plane of the width takes half the width at each end, one across it
// half the thickness: 10 and 1.5 mm here, at 90 degrees.
func TestFullZ(t *testing.T) {
	for _, c := range []struct {
		name      string
		bar       *Bar
		low, high float64
	}{
		{"long", runBar(), math.Inf(-1), math.Inf(1)},
		{"on edge", runBar(at(5, 0, -50), at(5, 0, 50), at(60, 0, 50)), -50, 40},
		{"laid flat", runBar(at(5, 0, -50), at(5, 0, 50), at(5, 60, 50)), -50, 48.5},
		{"against the current", runBar(at(5, 60, 50), at(5, 0, 50), at(5, 0, -50)), -50, 48.5},
	} {
		low, high, err := c.bar.FullZ()
		if err != nil || math.Abs(low-c.low) > 1e-9 && low != c.low || math.Abs(high-c.high) > 1e-9 && high != c.high {
			t.Errorf("%s: %g to %g, %v", c.name, low, high, err)
		}
	}
	straight := runBar()
	straight.LengthM = given(60)
	if low, high, _ := straight.FullZ(); low != -30 || high != 30 {
		t.Errorf("straight: %g to %g", low, high)
	}
}

// The error of a run names its point, counted as the run lists it.
func TestRunErrorPoint(t *testing.T) {
	for _, c := range []struct {
		name, want string
		bar        *Bar
		point      int
	}{
		{"tight", "bent tighter", runBar(at(5, 0, -50), at(5, 0, 50), at(20, 0, 50), at(20, 0, 90), at(20, 0, 150)), 2},
		{"tight, listed backwards", "bent tighter", runBar(at(20, 0, 150), at(20, 0, 90), at(20, 0, 50), at(5, 0, 50), at(5, 0, -50)), 3},
		{"back", "straight back", runBar(at(5, 0, -50), at(5, 0, 50), at(5, 0, 20)), 1},
		{"back, listed backwards", "straight back", runBar(at(80, 0, 90), at(80, 0, 120), at(80, 0, 60), at(5, 0, 60), at(5, 0, -50)), 1},
		{"leaning", "not along z", runBar(at(5, 0, -50), at(9, 0, 50)), 0},
	} {
		var bad *RunError
		if _, err := c.bar.Legs(); !errors.As(err, &bad) || bad.Point != c.point || !strings.Contains(bad.Error(), c.want) {
			t.Errorf("%s: %v, want %q at index %d", c.name, err, c.want, c.point)
		}
	}
}
