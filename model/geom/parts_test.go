package geom

import (
	"math"
	"testing"
)

// Convex parts are convex, counter-clockwise, lie in the shape, do not overlap and
// have its area.
func TestConvexParts(t *testing.T) {
	comb := Polygon{{0, 0}, {9, 0}, {9, 5}, {8, 5}, {8, 1}, {6, 1}, {6, 5}, {5, 5}, {5, 1}, {3, 1}, {3, 5}, {2, 5}, {2, 1}, {0, 1}}
	spiral := Polygon{}
	for i := range 40 {
		s, c := math.Sincos(0.3 * float64(i))
		spiral = append(spiral, Point{c, s}.Scale(1+0.1*float64(i)))
	}
	for i := 39; i >= 0; i-- {
		s, c := math.Sincos(0.3 * float64(i))
		spiral = append(spiral, Point{c, s}.Scale(0.8+0.1*float64(i)))
	}
	for name, c := range map[string]struct {
		region Region
		most   int // parts
	}{
		"rectangle": {Solid(Rectangle(20, 3)), 1}, "circle": {Solid(Circle(4, 128)), 1}, "channel": {Solid(Channel(20, 14, 1)), 6},
		"ring": {Ring(26, 4, 0, 128), 128}, "slit ring": {Ring(26, 4, 2, 128), 260}, "comb": {Solid(comb), 12},
		"spiral": {Solid(spiral.Normal()), 78}, "flat corner": {Solid(Polygon{{0, 0}, {1, 0}, {2, 0}, {2, 2}, {1, 1}, {0, 2}}), 4},
	} {
		parts := c.region.ConvexParts()
		sum := 0.0
		for i, p := range parts {
			if p.SignedAreaM2() <= 0 {
				t.Errorf("%s: part %d has area %g", name, i, p.SignedAreaM2())
			}
			for k := range p {
				if p.turnAt(k) < -1e-12 {
					t.Errorf("%s: part %d is not convex", name, i)
				}
			}
			if !c.region.Contains(p.Centroid()) {
				t.Errorf("%s: part %d lies outside", name, i)
			}
			for j := range i {
				if OverlapRegions(Solid(p), Solid(parts[j])) {
					t.Errorf("%s: parts %d and %d overlap", name, i, j)
				}
			}
			sum += p.AreaM2()
		}
		if want := c.region.AreaM2(); len(parts) > c.most || math.Abs(sum-want) > 1e-12*want {
			t.Errorf("%s: %d parts of %g, want %g", name, len(parts), sum, want)
		}
	}
}
