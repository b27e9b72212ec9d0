package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

// box returns the box between two corners, carried by move.
func box(low, high Point3, move func(Point3) Point3) Convex {
	var from, to []Point3
	for _, c := range [][2]float64{{low.X, low.Y}, {high.X, low.Y}, {high.X, high.Y}, {low.X, high.Y}} {
		from = append(from, move(Point3{c[0], c[1], low.Z}))
		to = append(to, move(Point3{c[0], c[1], high.Z}))
	}
	return Prism(from, to)
}

func stay(p Point3) Point3 { return p }

// turned returns a random motion: a rotation about a random axis (O. Rodrigues'
// formula) and a shift.
func turned(r *rand.Rand) func(Point3) Point3 {
	k := Point3{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
	k = k.Scale(1 / k.Norm())
	s, c := math.Sincos(2 * math.Pi * r.Float64())
	shift := Point3{r.Float64(), r.Float64(), r.Float64()}
	return func(p Point3) Point3 {
		return p.Scale(c).Add(k.Cross(p).Scale(s)).Add(k.Scale(k.Dot(p) * (1 - c))).Add(shift)
	}
}

// Boxes along the axes: the gap is √Σ max(0, distance along each axis)², they
// overlap when the shadows on all three axes do; the same after any motion of both.
func TestConvexBoxes(t *testing.T) {
	const seed = 4
	r := rand.New(rand.NewPCG(seed, 1))
	overlaps := 0
	for range 400 {
		var low, high [2]Point3
		for i := range 2 {
			low[i] = Point3{2 * r.Float64(), 2 * r.Float64(), 2 * r.Float64()}
			high[i] = low[i].Add(Point3{0.01 + r.Float64(), 0.01 + r.Float64(), 0.01 + r.Float64()})
		}
		apart := func(l0, h0, l1, h1 float64) float64 { return math.Max(l1-h0, l0-h1) }
		d := [3]float64{apart(low[0].X, high[0].X, low[1].X, high[1].X), apart(low[0].Y, high[0].Y, low[1].Y, high[1].Y),
			apart(low[0].Z, high[0].Z, low[1].Z, high[1].Z)}
		want, overlap := 0.0, true
		for _, x := range d {
			want = math.Hypot(want, math.Max(0, x))
			overlap = overlap && x < 0
		}
		if overlap {
			overlaps++
		}
		for _, move := range []func(Point3) Point3{stay, turned(r)} {
			a, b := box(low[0], high[0], move), box(low[1], high[1], move)
			gap, back := GapConvexM(a, b), GapConvexM(b, a)
			if math.Abs(gap-want) > 1e-11 || math.Abs(gap-back) > 1e-12 {
				t.Fatalf("seed %d: gap %g and %g, want %g: %v %v", seed, gap, back, want, low, high)
			}
			if OverlapConvex(a, b) != overlap || OverlapConvex(b, a) != overlap {
				t.Fatalf("seed %d: overlap %v, want %v: %v %v", seed, !overlap, overlap, low, high)
			}
		}
	}
	if overlaps < 20 || overlaps > 380 {
		t.Errorf("%d of 400 overlap: the sample says nothing", overlaps)
	}
}

// A point's distance from a box, worked by axis; inside it is 0.
func TestConvexPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	low, high := Point3{-0.3, -0.1, 0}, Point3{0.3, 0.1, 0.8}
	move := turned(r)
	for _, m := range []func(Point3) Point3{stay, move} {
		c := box(low, high, m)
		for range 300 {
			p := Point3{2*r.Float64() - 1, 2*r.Float64() - 1, 2*r.Float64() - 0.6}
			out := func(x, l, h float64) float64 { return math.Max(0, math.Max(l-x, x-h)) }
			dx, dy, dz := out(p.X, low.X, high.X), out(p.Y, low.Y, high.Y), out(p.Z, low.Z, high.Z)
			want := math.Sqrt(dx*dx + dy*dy + dz*dz)
			if got := c.DistanceM(m(p)); math.Abs(got-want) > 1e-12 || c.Contains(m(p)) != (want == 0) {
				t.Fatalf("%v: distance %g, contains %v, want %g", p, got, c.Contains(m(p)), want)
			}
		}
	}
}

// Touching is not overlap, a micrometre is; face on face, edge on face, corner on face,
// edge across edge.
func TestConvexTouch(t *testing.T) {
	cube := box(Point3{}, Point3{1, 1, 1}, stay)
	h := math.Sqrt(0.5)
	onEdge := func(lift float64) Convex { // a cube on its edge, over the first
		return box(Point3{}, Point3{1, 1, 1}, func(p Point3) Point3 {
			return Point3{p.X, 0.5 + h*(p.Y-p.Z), 1 + lift + h*(p.Y+p.Z)}
		})
	}
	across := func(lift float64) Convex { // its edge across an edge of a cube that stands on its own
		return box(Point3{}, Point3{1, 1, 1}, func(p Point3) Point3 {
			return Point3{0.1 + h*(p.X-p.Z), p.Y - 0.4, lift + h*(p.X+p.Z)} // centres not over each other
		})
	}
	under := box(Point3{}, Point3{1, 1, 1}, func(p Point3) Point3 { return Point3{p.X - 0.5, h * (p.Y - p.Z), -h * (p.Y + p.Z)} })
	for _, c := range []struct {
		name string
		a    Convex
		b    func(lift float64) Convex
	}{
		{"face", cube, func(l float64) Convex { return box(Point3{0.3, 0.3, 1 + l}, Point3{2, 2, 2}, stay) }},
		{"edge on face", cube, onEdge},
		{"edge across edge", under, across},
	} {
		if OverlapConvex(c.a, c.b(0)) || GapConvexM(c.a, c.b(0)) != 0 {
			t.Errorf("%s: touching overlaps or has a gap %g", c.name, GapConvexM(c.a, c.b(0)))
		}
		if !OverlapConvex(c.a, c.b(-1e-6)) {
			t.Errorf("%s: 1 µm into it does not overlap", c.name)
		}
		if g := GapConvexM(c.a, c.b(1e-6)); math.Abs(g-1e-6) > 1e-12 {
			t.Errorf("%s: gap %g, want 1e-6", c.name, g)
		}
	}
	for _, z := range []float64{1e-9, -1e-9} {
		if p := (Point3{0.5, 0.5, 1 + z}); cube.Contains(p) != (z < 0) {
			t.Errorf("%g m over the face: contains %v", z, z > 0)
		}
	}
	if OverlapConvex(cube, Convex{}) || !math.IsInf(GapConvexM(cube, Convex{}), 1) {
		t.Error("an empty solid overlaps or is near")
	}
}

// A prism cut by two slanted planes that meet in a corner edge: the face and
// the edges of no size are left out, and inside stays inside.
func TestConvexWedge(t *testing.T) {
	from := []Point3{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}}
	to := []Point3{{0, 0, 0}, {1, 0, 1}, {1, 1, 1}, {0, 1, 0}}
	c := Prism(from, to)
	if len(c.faces) != 5 || len(c.edges) != 9+1 { // the ridge twice, once from each polygon
		t.Errorf("%d faces, %d edges", len(c.faces), len(c.edges))
	}
	if !c.Contains(Point3{0.9, 0.5, 0.5}) || c.Contains(Point3{0.5, 0.5, 0.6}) {
		t.Error("inside and outside of the wedge")
	}
	if d := c.DistanceM(Point3{0.5, 0.5, 1.5}); math.Abs(d-math.Sqrt(0.5)) > 1e-12 {
		t.Errorf("distance %g from the slope, want √½", d)
	}
}

// Round prisms of 128 corners, crossing at right angles: gap and touch known.
func TestConvexRound(t *testing.T) {
	rod := func(at Point3, turn bool) Convex {
		var from, to []Point3
		for _, c := range Circle(0.005, 128) {
			f, g := Point3{c.X, c.Y, -0.05}, Point3{c.X, c.Y, 0.05}
			if turn { // axis along x
				f, g = Point3{f.Z, f.X, f.Y}, Point3{g.Z, g.X, g.Y}
			}
			from, to = append(from, f.Add(at)), append(to, g.Add(at))
		}
		return Prism(from, to)
	}
	a := rod(Point3{}, false)
	if g := GapConvexM(a, rod(Point3{Y: 0.013}, true)); math.Abs(g-0.003) > 1e-12 {
		t.Errorf("gap %g, want 3 mm", g)
	}
	if OverlapConvex(a, rod(Point3{Y: 0.01}, true)) || !OverlapConvex(a, rod(Point3{Y: 0.00999}, true)) {
		t.Error("touch or overlap of crossing rods")
	}
}

func BenchmarkGapConvex(b *testing.B) {
	p, q := box(Point3{}, Point3{1, 1, 1}, stay), box(Point3{1.5, 0.2, 0}, Point3{3, 1, 1}, stay)
	for range b.N {
		GapConvexM(p, q)
	}
}
