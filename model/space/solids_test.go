package space

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Metal and distance of a bar with one bend up, worked by hand: 20 × 4 mm, along z to
// the corner at the origin, then along +y. The mitre plane is y = z... seen from the side the
// outer faces are y = −2 and z = 2, the inner ones y = 2 and z = −2.
func TestContainsDistance(t *testing.T) {
	c := conductor(t, runOf(flat(0.020, 0.004), mm(0, 0, -50), mm(0, 0, 0), mm(0, 40, 0)))
	for _, r := range []struct {
		p    geom.Point3
		want float64 // mm
	}{
		{mm(0, 0, -20), 0}, {mm(10, 2, -50), 0}, {mm(0, -1.9, 1.9), 0}, {mm(9, 30, -1.9), 0},
		{mm(0, 5, -20), 3}, {mm(13, 6, -20), 5}, {mm(0, 5, -5), 3}, {mm(0, -5, 6), 5},
		{mm(0, 0, -53), 3}, {mm(0, 44, 5), 5}, {mm(-22, 20, 0), 12},
	} {
		if got := c.DistanceM(r.p); math.Abs(got-1e-3*r.want) > 1e-12 || c.Contains(r.p) != (r.want == 0) {
			t.Errorf("%v: distance %g, contains %v, want %g mm", r.p, got, c.Contains(r.p), r.want)
		}
	}
	solids := c.Solids()
	if len(solids) != 2 || geom.OverlapConvex(solids[0], solids[1]) || geom.GapConvexM(solids[0], solids[1]) != 0 {
		t.Errorf("%d solids; the two legs should touch along the mitre and not overlap", len(solids))
	}
	// A bar 7 mm beside the first leg, and one through it.
	beside := flat(0.020, 0.004)
	beside.At, beside.LengthM = layout.Place{X: num(0), Y: num(-0.011)}, num(0.03)
	if g := geom.GapConvexM(conductor(t, beside).Solids()[0], solids[0]); math.Abs(g-0.007) > 1e-12 {
		t.Errorf("gap %g, want 7 mm", g)
	}
	through := flat(0.004, 0.004)
	if !geom.OverlapConvex(conductor(t, through).Solids()[0], solids[0]) {
		t.Error("a long bar through the leg does not overlap")
	}
	if d := conductor(t, through).DistanceM(mm(5, 6, 700)); math.Abs(d-0.005) > 1e-12 {
		t.Errorf("long bar: distance %g, want 5 mm", d)
	}
}

// A round bar is round: distance to the mantle, exact, though its solids are polygons.
func TestRoundDistance(t *testing.T) {
	b := flat(0, 0)
	b.Section = layout.Section{Kind: layout.Round, DiameterM: num(0.010)}
	long := conductor(t, b)
	run := conductor(t, runOf(b, mm(0, 0, -50), mm(0, 0, 0), mm(60, 0, 0)))
	s, c := math.Sincos(0.7)
	for _, r := range []struct{ at, want float64 }{{9, 4}, {5.0001, 1e-4}, {4.9999, 0}, {0, 0}} {
		for _, k := range []*Conductor{long, run} {
			p := mm(-r.at*c, r.at*s, -20)
			if got := k.DistanceM(p); math.Abs(got-1e-3*r.want) > 1e-12 {
				t.Errorf("%g mm from the axis: distance %g, want %g mm", r.at, got, r.want)
			}
		}
	}
}

// Parts of an outline that is not convex: convex, apart, and of its area; random places
// are in a part when they are in the outline.
func TestConvexParts(t *testing.T) {
	comb := geom.Polygon{{X: 0, Y: 0}, {X: 8, Y: 0}, {X: 8, Y: 5}, {X: 7, Y: 5}, {X: 7, Y: 1}, {X: 5, Y: 1}, {X: 4.5, Y: 6}, {X: 4, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 5}, {X: 0, Y: 5}}
	arrow := geom.Polygon{{X: 0, Y: 0}, {X: 4, Y: 4}, {X: 0, Y: 1}, {X: -4, Y: 4}}
	r := rand.New(rand.NewPCG(3, 1))
	for _, p := range []geom.Polygon{comb, arrow, geom.Channel(4, 3, 1)} {
		area := 0.0
		parts := convexParts(p)
		for i, a := range parts {
			area += a.SignedAreaM2()
			for _, b := range parts[:i] {
				if geom.OverlapRegions(geom.Solid(a), geom.Solid(b)) {
					t.Errorf("parts overlap: %v %v", a, b)
				}
			}
		}
		if len(parts) < 2 || math.Abs(area-p.AreaM2()) > 1e-12 {
			t.Errorf("%d parts of %g, want %g", len(parts), area, p.AreaM2())
		}
		for range 300 {
			q := geom.Point{X: 14*r.Float64() - 5, Y: 8*r.Float64() - 1}
			in := false
			for _, a := range parts {
				in = in || a.Contains(q)
			}
			if in != p.Contains(q) {
				t.Errorf("%v in a part: %v", q, in)
			}
		}
	}
	if len(convexParts(geom.Rectangle(2, 1))) != 1 {
		t.Error("a rectangle is split")
	}
}
