package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.17g, want %.17g ± %g", what, got, want, tol)
	}
}

func TestRotate(t *testing.T) {
	p := Point{3, 4}
	for k, want := range []Point{{3, 4}, {-4, 3}, {-3, -4}, {4, -3}, {3, 4}} {
		if got := p.Rotate(float64(k) * math.Pi / 2); got != want {
			t.Errorf("%d quarter turns: %v, want %v exactly", k, got, want)
		}
	}
	got := Point{1, 0}.Rotate(math.Pi / 6)
	near(t, "cos 30°", got.X, math.Sqrt(3)/2, 1e-15)
	near(t, "sin 30°", got.Y, 0.5, 1e-15)
	if (Point{1, 0}).Cross(Point{0, 1}) != 1 || (Point3{X: 1}).Cross(Point3{Y: 1}) != (Point3{Z: 1}) {
		t.Error("x × y is not +z")
	}
}

// Areas and centroids by hand.
func TestAreaCentroid(t *testing.T) {
	channel := Channel(0.020, 0.015, 0.002)
	for _, c := range []struct {
		name string
		p    Polygon
		area float64
		at   Point
	}{
		{"rectangle", Rectangle(0.02, 0.003), 6e-5, Point{}},
		{"triangle, centroid is the mean of its corners", Polygon{{0, 0}, {3, 0}, {0, 6}}, 9, Point{1, 2}},
		// Floor 24 x 2 at y = -1, two legs 2 x 15 at y = 7.5 (mm).
		{"channel", channel, 24*2e-6 + 2*2*15e-6, Point{0, (24*2*-1 + 60*7.5) / 108e3}},
	} {
		near(t, c.name+" area", c.p.AreaM2(), c.area, 1e-15)
		if c.p.SignedAreaM2() <= 0 {
			t.Errorf("%s is not counter-clockwise", c.name)
		}
		g := c.p.Centroid()
		near(t, c.name+" x", g.X, c.at.X, 1e-15)
		near(t, c.name+" y", g.Y, c.at.Y, 1e-15)
		if _, _, ok := c.p.SelfCrossing(); ok {
			t.Errorf("%s crosses itself", c.name)
		}
	}
	// Far away the digits must stay.
	far := Rectangle(0.02, 0.003).Place(Point{1000, -2000}, 0)
	near(t, "far area", far.AreaM2(), 6e-5, 6e-5*1e-9)
	back := Polygon{{0, 1}, {1, 1}, {1, 0}, {0, 0}}
	if n := back.Normal(); n.SignedAreaM2() != 1 || n[0] != back[0] || back.SignedAreaM2() != -1 {
		t.Errorf("Normal: %v", n)
	}
}

func TestCircleAndRing(t *testing.T) {
	c := Circle(0.01, 128)
	near(t, "inscribed area", c.AreaM2(), 64*1e-4*math.Sin(2*math.Pi/128), 1e-18)
	near(t, "same area", CircleSameArea(0.01, 7).AreaM2(), math.Pi*1e-4, 1e-18)
	ring := Ring(0.02, 0.002, 0, 64)
	if len(ring.Holes) != 1 || !ring.Contains(Point{0, 0.011}) || ring.Contains(Point{}) {
		t.Error("closed ring")
	}
	near(t, "ring area", ring.AreaM2(), 32*math.Sin(2*math.Pi/64)*(144e-6-100e-6), 1e-18)
	slit := Ring(0.02, 0.002, 0.001, 256)
	if len(slit.Holes) != 0 || slit.Contains(Point{0, 0.011}) || !slit.Contains(Point{0, -0.011}) {
		t.Error("slit ring: the slit must be on +y")
	}
	if slit.Contains(Point{0.00049, 0.011}) || !slit.Contains(Point{0.00051, 0.011}) {
		t.Error("slit ring: the slit must be 1 mm wide with parallel sides")
	}
	if _, _, ok := slit.Outer.SelfCrossing(); ok || slit.Outer.SignedAreaM2() <= 0 {
		t.Error("slit ring is not a simple counter-clockwise polygon")
	}
	// Full ring less a slit of 1 mm x 2 mm, in the limit of many corners.
	near(t, "slit ring area", slit.AreaM2(), math.Pi*44e-6-2e-6, 2e-8)
	if len(Ring(0.02, 0.002, 0.02, 64).Outer) != 0 {
		t.Error("a slit as wide as the hole must give an empty region")
	}
}

func TestContainsDistance(t *testing.T) {
	u := Channel(0.020, 0.015, 0.002)
	for _, c := range []struct {
		q    Point
		in   bool
		dist float64
	}{
		{Point{0, 0.005}, false, 0.005}, // 5 mm above the inner floor
		{Point{0, -0.001}, true, 0},
		{Point{0.010, 0.007}, true, 0}, // on the inner face of a leg
		{Point{0.012, 0.015}, true, 0}, // corner
		{Point{0.012, 0.0150001}, false, 1e-7},
		{Point{0.011, 0.014}, true, 0},
		{Point{0.015, 0.019}, false, 0.005}, // 3-4-5 from the corner
		{Point{0, 0.015}, false, 0.010},     // the mouth
		{Point{-0.009, 0.002}, false, 0.001},
	} {
		for _, turn := range []float64{0, 0.3, math.Pi / 2, 4} {
			at := Point{0.1, -0.2}
			p, q := u.Place(at, turn), c.q.Rotate(turn).Add(at)
			if p.Contains(q) != c.in {
				t.Errorf("turn %g: Contains(%v) = %v", turn, c.q, !c.in)
			}
			near(t, "distance", p.DistanceM(q), c.dist, 1e-15)
		}
	}
}

func TestSelfCrossing(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Polygon
		i, j int
		ok   bool
	}{
		{"triangle", Polygon{{0, 0}, {1, 0}, {0, 1}}, 0, 0, false},
		{"square", Rectangle(1, 1), 0, 0, false},
		{"bow tie", Polygon{{0, 0}, {1, 1}, {1, 0}, {0, 1}}, 0, 2, true},
		{"corner on an edge", Polygon{{0, 0}, {4, 0}, {4, 2}, {2, 0}, {0, 2}}, 0, 2, true},
		{"spike", Polygon{{0, 0}, {2, 0}, {2, 1}, {2, 0.5}, {0, 1}}, 1, 2, true},
		{"spike at the last corner", Polygon{{0, 0}, {2, 0}, {2, 1}, {1, 0}}, 0, 2, true},
		{"repeated corner", Polygon{{0, 0}, {1, 0}, {1, 0}, {0, 1}}, 1, 2, true},
		{"closing corner repeated", Polygon{{0, 0}, {1, 0}, {0, 1}, {0, 0}}, 0, 3, true},
		{"flat", Polygon{{0, 0}, {2, 0}, {1, 0}}, 0, 1, true},
		{"straight corner", Polygon{{0, 0}, {1, 0}, {2, 0}, {0, 1}}, 0, 0, false},
	} {
		i, j, ok := c.p.SelfCrossing()
		if ok != c.ok || ok && (i != c.i || j != c.j) {
			t.Errorf("%s: %d, %d, %v", c.name, i, j, ok)
		}
	}
}

func TestOverlapAndGap(t *testing.T) {
	bar := Rectangle(0.02, 0.003)
	u := Channel(0.024, 0.015, 0.002)
	for _, c := range []struct {
		name    string
		a, b    Polygon
		overlap bool
		gap     float64
	}{
		{"face to face", bar, bar.Place(Point{0, 0.005}, 0), false, 0.002},
		{"diagonal", bar, bar.Place(Point{0.023, 0.007}, 0), false, 0.005},
		{"touching faces", bar, bar.Place(Point{0, 0.003}, 0), false, 0},
		{"touching corners", bar, bar.Place(Point{0.02, 0.003}, 0), false, 0},
		{"the same", bar, bar, true, 0},
		{"crossed, no corner inside", bar, bar.Place(Point{}, math.Pi/2), true, 0},
		{"one in the other", bar, bar.Place(Point{0.001, 0}, 0).scaled(0.1), true, 0},
		{"shifted along its own edges", bar, bar.Place(Point{0.01, 0}, 0), true, 0},
		{"bar in a channel", bar.Place(Point{0, 0.005}, 0), u, false, 0.002},
		{"bar through a leg", bar.Place(Point{0.005, 0.005}, 0), u, true, 0},
	} {
		for _, turn := range []float64{0, 0.7, math.Pi / 2} {
			at := Point{0.3, 0.1}
			a, b := c.a.Place(at, turn), c.b.Place(at, turn)
			for range 2 {
				if got := OverlapRegions(Solid(a), Solid(b)); got != c.overlap {
					t.Errorf("%s, turn %g: Overlap %v", c.name, turn, got)
				}
				d, pa, pb := GapM(a, b)
				near(t, c.name+" gap", d, c.gap, 1e-15)
				if c.gap == 0 && d != 0 {
					t.Errorf("%s, turn %g: gap %g, want 0 exactly", c.name, turn, d)
				}
				near(t, c.name+" points", pa.Sub(pb).Norm(), c.gap, 1e-12)
				if !a.Contains(pa) || !b.Contains(pb) {
					t.Errorf("%s: points off the shapes", c.name)
				}
				a, b = b, a
			}
		}
	}
	// The tolerance: 1e-12 of the largest coordinate, here 3e-13 m.
	for _, c := range []struct{ apart, gap float64 }{{1e-13, 0}, {-1e-13, 0}, {1e-9, 1e-9}} {
		d, _, _ := GapM(bar.Place(Point{0.3, 0}, 0), bar.Place(Point{0.3, 0.003 + c.apart}, 0))
		near(t, "gap at the tolerance", d, c.gap, 1e-16*c.gap/1e-9)
	}
	overlaps := func(upM float64) bool { return OverlapRegions(Solid(bar), Solid(bar.Place(Point{0, upM}, 0))) }
	if overlaps(0.003-1e-15) || !overlaps(0.003-1e-9) {
		t.Error("overlap at the tolerance")
	}
	ring := Ring(0.03, 0.002, 0, 64)
	if OverlapRegions(ring, Solid(bar)) || !OverlapRegions(Solid(ring.Outer), Solid(bar)) {
		t.Error("a bar in the hole of a ring does not overlap the ring")
	}
	d, _, _ := GapRegionsM(ring, Solid(bar))
	if want := 0.015*math.Cos(math.Pi/64) - math.Hypot(0.01, 0.0015); d < want || d > 0.015-math.Hypot(0.01, 0.0015) {
		t.Errorf("bar to ring %g", d)
	}
	if !OverlapRegions(ring, Solid(Rectangle(0.04, 0.04))) || !OverlapRegions(ring, ring) {
		t.Error("a plate over the ring overlaps it")
	}
}

func (p Polygon) scaled(f float64) Polygon {
	out := make(Polygon, len(p))
	for i, q := range p {
		out[i] = q.Scale(f)
	}
	return out
}

// Overlap and gap against brute force: stars round random centres, sampled.
func TestOverlapRandom(t *testing.T) {
	const seed = 7
	rng := rand.New(rand.NewPCG(seed, 0))
	star := func() Polygon {
		n := 3 + rng.IntN(7)
		p := make(Polygon, n)
		for i := range p {
			p[i] = Point{0.2 + rng.Float64(), 0}.Rotate(2 * math.Pi * float64(i) / float64(n))
		}
		return p.Place(Point{2 * rng.Float64(), 2 * rng.Float64()}, rng.Float64())
	}
	overlaps, gaps := 0, 0
	for range 300 {
		a, b := star(), star()
		if !a.Contains(a.interiorPoint()) {
			t.Fatalf("seed %d: inner point of %v outside", seed, a)
		}
		shared := 0
		box := a.Box().Join(b.Box())
		const n = 60
		for k := range n * n {
			s := box.Size()
			q := box.Min.Add(Point{s.X * (float64(k%n) + .5) / n, s.Y * (float64(k/n) + .5) / n})
			if a.Contains(q) && b.Contains(q) {
				shared++
			}
		}
		d, _, _ := GapM(a, b)
		if OverlapRegions(Solid(a), Solid(b)) {
			overlaps++
			if d != 0 {
				t.Fatalf("seed %d: overlap with gap %g", seed, d)
			}
			continue
		}
		gaps++
		if shared > 0 || d <= 0 {
			t.Fatalf("seed %d: %d shared samples, gap %g, no overlap reported\n%v\n%v", seed, shared, d, a, b)
		}
		// No pair of boundary samples is nearer than the gap, and some pair is
		// hardly further.
		best := math.Inf(1)
		for i := range a {
			p0, p1 := a.Edge(i)
			for k := range 200 {
				best = min(best, b.BoundaryDistanceM(p0.Add(p1.Sub(p0).Scale(float64(k)/200))))
			}
		}
		if best < d-1e-12 || best > d+0.01 {
			t.Fatalf("seed %d: gap %g, sampled %g", seed, d, best)
		}
	}
	if overlaps < 50 || gaps < 50 {
		t.Errorf("seed %d: one-sided sample, %d overlaps, %d gaps", seed, overlaps, gaps)
	}
}

func TestBox(t *testing.T) {
	if !EmptyBox().Empty() || EmptyBox().Meets(Box{}) {
		t.Error("the empty box holds nothing")
	}
	b := Rectangle(2, 1).Box().Extend(Point{3, 0})
	if b != (Box{Point{-1, -0.5}, Point{3, 0.5}}) || b.Centre() != (Point{1, 0}) || b.Size() != (Point{4, 1}) {
		t.Errorf("%v", b)
	}
	if !b.Contains(Point{3, 0.5}) || b.Contains(Point{3.1, 0}) || !b.Grow(0.2).Contains(Point{3.1, 0}) {
		t.Error("edges belong to the box")
	}
	if d := (Polygon{}).DistanceM(Point{}); !math.IsInf(d, 1) {
		t.Errorf("distance to nothing %g", d)
	}
}

// Two corners stand in the triangle at the lowest corner; only the way to the
// lower one stays inside.
func TestInteriorPoint(t *testing.T) {
	p := Polygon{{0, -10}, {10, 0}, {-1, -2}, {0, -9}, {-5, -4.5}, {-10, 0}}
	if q := p.interiorPoint(); !p.encloses(q) {
		t.Errorf("%v lies outside", q)
	}
	ring := Ring(0.03, 0.0001, 0, 64)
	if q := innerPoint(ring); !ring.deepInside(q, 0) {
		t.Errorf("ring: %v lies outside", q)
	}
}
