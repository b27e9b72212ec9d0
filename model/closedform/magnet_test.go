package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

func sameField3(t *testing.T, what string, got, want geom.Point3, rel float64) {
	t.Helper()
	if e := got.Sub(want).Norm() / want.Norm(); !(e <= rel) {
		t.Errorf("%s = %.15g, want %.15g: off by %.2g, allowed %.1g", what, got, want, e, rel)
	}
}

// A disc magnet of 6 mm x 2 mm, remanence 1.2 T, on its axis: the published
// distances count from the face, not from the centre. Common practice; the
// formula on the axis, Br/2 [(z+h)/√((z+h)²+a²) − z/√(z²+a²)], is in any text.
func TestDiscOnAxis(t *testing.T) {
	for _, c := range []struct{ mm, mT float64 }{{10, 7.39}, {20, 1.136}, {30, 0.358}, {50, 0.081}} {
		b := DiscMagnetB(mm3(0, 0, c.mm+1), geom.Point3{Z: 1}, 0.006, 0.002, 1.2)
		if e := math.Abs(b.Z*1e3/c.mT - 1); !(e <= 0.005) {
			t.Errorf("%g mm from the face: %.5f mT, want %g within 0.5 %%", c.mm, b.Z*1e3, c.mT)
		}
	}
	for _, z := range []float64{-20, -1, -0.5, 0, 0.4, 1, 3, 9, 31, 64, 300} {
		h, a := 2.0, 3.0
		z1, z2 := z+h/2, z-h/2
		want := 0.6 * (z1/math.Hypot(z1, a) - z2/math.Hypot(z2, a))
		got := DiscMagnetB(mm3(0, 0, z), geom.Point3{Z: 1}, 0.006, 0.002, 1.2)
		near(t, "axis", got.Z/want, 1, 1e-8)
		near(t, "across", math.Hypot(got.X, got.Y), 0, 1e-15)
	}
}

// The disc is a stack of current loops: Br/μ0 amperes a metre along the mantle.
func TestDiscIsLoops(t *testing.T) {
	const a, h, br = 0.003, 0.002, 1.2
	per := br / (4e-7 * math.Pi)
	for _, p := range []geom.Point3{mm3(1, 0, 0.3), mm3(2, 0, 4), mm3(0.01, 0, 2), mm3(3.2, 0, 0.5), mm3(3, 0, 1.5), mm3(6, 0, -1), mm3(10, 0, 12), mm3(0, 0, 1)} {
		part := func(axial bool) float64 {
			return integral(func(s float64) float64 {
				r, z := LoopB(p.X, p.Z-s, a, per)
				if axial {
					return z
				}
				return r
			}, -h/2, h/2, 24)
		}
		sameField3(t, "disc", DiscMagnetB(p, geom.Point3{Z: 1}, 2*a, h, br), geom.Point3{X: part(false), Z: part(true)}, 1e-9)
	}
}

// On the mantle the mean of both sides, on the rim NaN.
func TestDiscMantle(t *testing.T) {
	at := func(x float64) geom.Point3 { return DiscMagnetB(mm3(x, 0, 0.3), geom.Point3{Z: 1}, 0.006, 0.002, 1.2) }
	in, on, out := at(3*(1-1e-9)), at(3), at(3*(1+1e-9))
	sameField3(t, "mean", on, in.Add(out).Scale(0.5), 1e-7)
	near(t, "step of Bz is Br", in.Z-out.Z, 1.2, 1e-7)
	if b := DiscMagnetB(mm3(3, 0, 1), geom.Point3{Z: 1}, 0.006, 0.002, 1.2); !math.IsNaN(b.Z) {
		t.Errorf("rim: %v", b)
	}
	for _, b := range []geom.Point3{
		DiscMagnetB(mm3(1, 2, 3), geom.Point3{}, 1, 1, 1), DiscMagnetB(mm3(1, 2, 3), geom.Point3{X: 1}, 0, 1, 1),
		DiscMagnetB(geom.Point3{X: math.NaN()}, geom.Point3{X: 1}, 1, 1, 1), BlockMagnetB(mm3(1, 2, 3), geom.Point3{X: 1, Y: 1}, geom.Point3{Z: 1}),
	} {
		if !math.IsNaN(b.X) || !math.IsNaN(b.Y) || !math.IsNaN(b.Z) {
			t.Errorf("want NaN, got %v", b)
		}
	}
}

// A turned disc: the length of the axis vector does not count, its sign does.
func TestDiscAxis(t *testing.T) {
	z := DiscMagnetB(mm3(4, 5, 6), geom.Point3{Z: 1}, 0.006, 0.002, 1.2)
	x := DiscMagnetB(mm3(6, 4, 5), geom.Point3{X: 3}, 0.006, 0.002, 1.2)
	sameField3(t, "axis x", x, geom.Point3{X: z.Z, Y: z.X, Z: z.Y}, 1e-13)
	sameField3(t, "reversed", DiscMagnetB(mm3(4, 5, 6), geom.Point3{Z: -1}, 0.006, 0.002, 1.2), z.Scale(-1), 1e-13)
}

// The block is a stack of rectangular current loops of straight wires.
func TestBlockIsWires(t *testing.T) {
	const a, b, c, br = 0.008, 0.005, 0.003, 1.1
	per := br / (4e-7 * math.Pi)
	corner := [4]geom.Point3{{X: -a / 2, Y: -b / 2}, {X: a / 2, Y: -b / 2}, {X: a / 2, Y: b / 2}, {X: -a / 2, Y: b / 2}}
	for _, p := range []geom.Point3{
		mm3(1, 0.5, 0.3), mm3(2, -1, 4), mm3(-6, 1, 0.5), mm3(1, 4, -2), mm3(10, -12, 15), mm3(3, 2, 2),
		mm3(5, 0, 0), mm3(0, 0, 0), mm3(4.5, 2.5, 2), mm3(4, 0, 5), {X: 0.004, Y: 0.004, Z: 0.0015},
	} {
		loop := func(s float64) geom.Point3 {
			var sum geom.Point3
			for k := range corner {
				up := geom.Point3{Z: s}
				sum = sum.Add(SegmentB(p, corner[k].Add(up), corner[(k+1)%4].Add(up), per))
			}
			return sum
		}
		want := geom.Point3{
			X: integral(func(s float64) float64 { return loop(s).X }, -c/2, c/2, 24),
			Y: integral(func(s float64) float64 { return loop(s).Y }, -c/2, c/2, 24),
			Z: integral(func(s float64) float64 { return loop(s).Z }, -c/2, c/2, 24),
		}
		size := geom.Point3{X: a, Y: b, Z: c}
		got := BlockMagnetB(p, size, geom.Point3{Z: br})
		sameField3(t, "along z", got, want, 1e-9)
		// The same magnet with its axes renamed.
		sameField3(t, "along x", BlockMagnetB(cycle(cycle(p)), cycle(cycle(size)), geom.Point3{X: br}), cycle(cycle(want)), 1e-9)
		sameField3(t, "along y", BlockMagnetB(cycle(p), cycle(size), geom.Point3{Y: br}), cycle(want), 1e-9)
	}
}

// In the middle of a cube the demagnetising factor is 1/3 by symmetry, so
// B = 2/3 Br in any direction.
func TestCubeCentre(t *testing.T) {
	br := geom.Point3{X: 0.3, Y: -0.5, Z: 1}
	sameField3(t, "cube", BlockMagnetB(geom.Point3{}, geom.Point3{X: 1, Y: 1, Z: 1}, br), br.Scale(2.0/3), 1e-14)
}

func TestBlockFacesAndEdges(t *testing.T) {
	size, br := mm3(8, 5, 3), geom.Point3{Z: 1}
	// Bz goes through the pole face without a step; at the side the outside counts.
	on := BlockMagnetB(mm3(1, 1, 1.5), size, br)
	sameField3(t, "pole face", on, BlockMagnetB(mm3(1, 1, 1.5+1e-9), size, br), 1e-8)
	near(t, "through the pole face", BlockMagnetB(mm3(1, 1, 1.5-1e-9), size, br).Z, on.Z, 1e-8)
	side := BlockMagnetB(mm3(4, 1, 0.5), size, br)
	sameField3(t, "side", side, BlockMagnetB(mm3(4+1e-9, 1, 0.5), size, br), 1e-8)
	near(t, "step at the side", BlockMagnetB(mm3(4-1e-9, 1, 0.5), size, br).Z-side.Z, 1, 1e-8)
	// Beside an edge the field grows as (Br/2π) ln(1/d), d the distance, also when
	// d is so small that a naive logarithm has no digits left.
	beside := func(d float64) float64 {
		return BlockMagnetB(geom.Point3{X: size.X/2 + d, Y: 0.001, Z: size.Z / 2}, size, br).X
	}
	near(t, "growth at an edge", beside(1e-13)-beside(1e-11), math.Log(100)/(2*math.Pi), 1e-3)
	near(t, "growth at an edge", beside(1e-9)-beside(1e-7), math.Log(100)/(2*math.Pi), 1e-4)
	if b := BlockMagnetB(geom.Point3{X: size.X / 2, Z: size.Z / 2}, size, br); !math.IsNaN(b.X) {
		t.Errorf("edge: %v", b)
	}
}

// Where the spread dipoles take over there is no step; very far a dipole is left.
func TestMagnetFar(t *testing.T) {
	size, br := mm3(8, 5, 3), geom.Point3{X: 0.2, Y: 0.9, Z: -0.4}
	limit := magnetFarRatio * size.Norm() / 2
	disc := magnetFarRatio * math.Hypot(0.003, 0.001)
	u := geom.Point3{X: 2, Y: 1, Z: 2}.Scale(1.0 / 3)
	const e = 1e-12
	sameField3(t, "block", BlockMagnetB(u.Scale(limit*(1+e)), size, br), BlockMagnetB(u.Scale(limit*(1-e)), size, br), 1e-9)
	axis := geom.Point3{X: 1, Y: 3, Z: 2}
	sameField3(t, "disc", DiscMagnetB(u.Scale(disc*(1+e)), axis, 0.006, 0.002, 1.2), DiscMagnetB(u.Scale(disc*(1-e)), axis, 0.006, 0.002, 1.2), 1e-9)
	// The flattest and the longest for which the error is promised.
	for _, h := range []float64{0.0003, 0.03} {
		d := magnetFarRatio * math.Hypot(0.003, h/2)
		for _, v := range []geom.Point3{u, {Z: 1}, {X: 1}, {X: 0.6, Z: 0.8}} {
			sameField3(t, "disc", DiscMagnetB(v.Scale(d*(1+e)), geom.Point3{Z: 1}, 0.006, h, 1), DiscMagnetB(v.Scale(d*(1-e)), geom.Point3{Z: 1}, 0.006, h, 1), 1e-9)
			b := geom.Point3{X: 0.006, Y: 0.006, Z: max(h, 0.0006)}
			d := magnetFarRatio * b.Norm() / 2
			sameField3(t, "block", BlockMagnetB(v.Scale(d*(1+e)), b, geom.Point3{Z: 1}), BlockMagnetB(v.Scale(d*(1-e)), b, geom.Point3{Z: 1}), 1e-9)
		}
	}
	sameField3(t, "far block", BlockMagnetB(u.Scale(100), size, br), dipoleB(u.Scale(100), br, 8*5*3*1e-9), 1e-8)
	want := dipoleB(u.Scale(100), axis.Scale(1.2/axis.Norm()), math.Pi*9*2*1e-9)
	sameField3(t, "far disc", DiscMagnetB(u.Scale(100), axis, 0.006, 0.002, 1.2), want, 1e-8)
	// On the axis of a dipole: μ0 m/(2π r³) = Br V/(2π r³).
	near(t, "dipole", dipoleB(geom.Point3{Z: 2}, geom.Point3{Z: 3}, 5).Z, 15/(2*math.Pi*8), 1e-16)
}

// cel against its integral, and K(k), E(k) of A&S table 17.1: m = 0.5.
func TestCel(t *testing.T) {
	near(t, "K(0.5)", cel(math.Sqrt(0.5), 1, 1, 1), 1.854074677301372, 1e-15)
	near(t, "E(0.5)", cel(math.Sqrt(0.5), 1, 1, 0.5), 1.350643881047675, 1e-15)
	rng := newRand()
	for range 100 {
		kc, p := between(rng, 0.05, 3), between(rng, 0.05, 3)
		a, b := rng.NormFloat64(), rng.NormFloat64()
		want := integral(func(f float64) float64 {
			s, c := math.Sincos(f)
			return (a*c*c + b*s*s) / (c*c + p*s*s) / math.Sqrt(c*c+kc*kc*s*s)
		}, 0, math.Pi/2, 16)
		near(t, "cel", cel(kc, p, a, b), want, 1e-12*(1+math.Abs(a)+math.Abs(b))/(kc*p))
	}
	if !math.IsNaN(cel(0, 1, 1, 1)) || !math.IsNaN(cel(1, 0, 1, 1)) || !math.IsNaN(cel(math.NaN(), 1, 1, 1)) {
		t.Error("outside its domain cel must be NaN")
	}
}
