package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The hull of a square with points inside and on its sides is the square; of points
// on a line it has no area.
func TestHull(t *testing.T) {
	h := Hull([]Point{{0, 0}, {1, 1}, {0.5, 0}, {1, 0}, {0, 1}, {0.3, 0.4}, {0, 0.5}, {1, 1}})
	if len(h) != 4 || math.Abs(h.SignedAreaM2()-1) > 1e-15 {
		t.Errorf("square: %v, area %g", h, h.SignedAreaM2())
	}
	if h := Hull([]Point{{0, 0}, {2, 2}, {1, 1}}); len(h) > 2 {
		t.Errorf("line: %v", h)
	}
}

// Every point lies in the hull, every corner of it is one of the points, and it turns
// left at each.
func TestHullHoldsAll(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for range 50 {
		points := make([]Point, 3+r.IntN(30))
		for i := range points {
			points[i] = Point{r.NormFloat64(), r.NormFloat64()}
		}
		h := Hull(points)
		for i := range h {
			if h.turnAt(i) <= 0 {
				t.Fatalf("corner %d turns right: %v", i, h)
			}
		}
		for _, p := range points {
			if !h.Contains(p) {
				t.Fatalf("%v lies outside %v", p, h)
			}
		}
	}
}
