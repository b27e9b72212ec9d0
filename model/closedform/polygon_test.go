package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// PolygonB of a rectangle is RectangleB: two formulas that share no code.
func TestPolygonIsRectangle(t *testing.T) {
	rng := newRand()
	worst := 0.0
	for range 3000 {
		w := between(rng, 1e-3, 0.1)
		th := w * between(rng, 1e-2, 1e2)
		r := max(w, th) * between(rng, 1e-2, 1e6)
		p := geom.Point{X: r}.Rotate(2 * math.Pi * rng.Float64())
		poly := geom.Rectangle(w, th)
		e := relErr(PolygonB(p, poly, 1), RectangleB(p, w, th, 1))
		worst = max(worst, e)
		if !(e <= 1e-12) {
			t.Errorf("seed %d: %g x %g at %v: off by %.2g", seed, w, th, p, e)
		}
		poly[1], poly[3] = poly[3], poly[1]
		if relErr(PolygonB(p, poly, 1), RectangleB(p, w, th, 1)) > 1e-12 {
			t.Error("clockwise corners change the field")
		}
	}
	t.Logf("largest relative difference %.2g", worst)
	const w, th = 0.020, 0.003
	poly := geom.Rectangle(w, th)
	for _, x := range []float64{-w / 2, 0, w / 4, w / 2, w/2 + 1e-15, w} {
		for _, y := range []float64{-th / 2, 0, th / 4, th / 2, th/2 - 1e-15, th} {
			p := geom.Point{X: x, Y: y}
			if p != (geom.Point{}) {
				sameField(t, "on sides and corners", PolygonB(p, poly, 1), RectangleB(p, w, th, 1), 1e-13)
			}
		}
	}
}

// At the distance where the series takes over both forms agree.
func TestPolygonCrossover(t *testing.T) {
	for _, poly := range []geom.Polygon{
		geom.Rectangle(0.020, 0.003).Place(mm(50, 20), 0.3), geom.Channel(0.008, 0.006, 0.002),
		{mm(0, 0), mm(40, 0), mm(0, 1)}, geom.Circle(0.01, 7),
	} {
		c, radius := centroidAndRadius(poly)
		for k := range 24 {
			dir := geom.Point{X: 1}.Rotate(float64(k) * math.Pi / 12)
			lo := PolygonB(c.Add(dir.Scale(farRatio*radius*(1-1e-12))), poly, 1)
			hi := PolygonB(c.Add(dir.Scale(farRatio*radius*(1+1e-12))), poly, 1)
			sameField(t, "crossover", hi, lo, 5e-12)
		}
	}
}

// The whole is the sum of its parts, the parts sharing the current by area.
func TestPolygonSubdivided(t *testing.T) {
	rng := newRand()
	for range 100 {
		n := 4 + rng.IntN(6)
		poly := make(geom.Polygon, n)
		for i := range poly {
			poly[i] = geom.Point{X: 0.004 + 0.010*rng.Float64()}.Rotate(2 * math.Pi * float64(i) / float64(n))
		}
		k := 2 + rng.IntN(n-3)
		// Cut from corner 0 to corner k through the origin, which lies inside.
		left := append(append(geom.Polygon{}, poly[:k+1]...), geom.Point{})
		right := append(append(geom.Polygon{}, poly[k:]...), poly[0], geom.Point{})
		p := geom.Point{X: 0.02 * rng.NormFloat64(), Y: 0.02 * rng.NormFloat64()}
		area := left.SignedAreaM2() + right.SignedAreaM2()
		sum := PolygonB(p, left, left.SignedAreaM2()/area).Add(PolygonB(p, right, right.SignedAreaM2()/area))
		sameField(t, "parts", sum, PolygonB(p, poly, 1), 1e-12)
		// The field is the same from any corner on.
		sameField(t, "shifted", PolygonB(p, append(append(geom.Polygon{}, poly[k:]...), poly[:k]...), 1), PolygonB(p, poly, 1), 1e-12)
	}
}

// Polygons of the circle's own area tend to the round bar. Outside, the n-fold
// symmetry leaves only the moment of order n, so the error falls faster than
// any power; on the bar's surface it falls as n^-2: order 2 is checked.
func TestPolygonTendsToCircle(t *testing.T) {
	const a = 0.010
	surface := geom.Point{X: a}.Rotate(0.3)
	inside := geom.Point{X: 0.4 * a}.Rotate(0.3)
	errAt := func(n int) float64 {
		worst := 0.0
		for k := range 64 { // the largest over the surface
			p := geom.Point{X: a}.Rotate(2 * math.Pi * (float64(k) + 0.1) / 64 / float64(n))
			worst = max(worst, relErr(PolygonB(p, geom.CircleSameArea(a, n), 1), CircleB(p, a, 1)))
		}
		return worst
	}
	for _, n := range []int{8, 16, 32, 64} {
		order := math.Log2(errAt(n) / errAt(2*n))
		if !(order > 1.8 && order < 2.2) {
			t.Errorf("from %d to %d corners the order is %.3f, want 2 ± 0.2", n, 2*n, order)
		}
	}
	if e := errAt(128); !(e < 3e-4) {
		t.Errorf("128 corners: %g on the surface", e)
	}
	poly := geom.CircleSameArea(a, 64)
	sameField(t, "outside", PolygonB(surface.Scale(1.5), poly, 1), CircleB(surface.Scale(1.5), a, 1), 1e-10)
	sameField(t, "inside", PolygonB(inside, poly, 1), CircleB(inside, a, 1), 1e-10)
}

func TestPolygonDomain(t *testing.T) {
	for _, poly := range []geom.Polygon{nil, {mm(0, 0), mm(1, 0)}, {mm(0, 0), mm(1, 0), mm(2, 0)}, {mm(0, 0), mm(1, 0), {X: math.NaN()}}} {
		if b := PolygonB(mm(1, 1), poly, 1); !math.IsNaN(b.X) || !math.IsNaN(b.Y) {
			t.Errorf("%v: %v", poly, b)
		}
		if a := PolygonAWbPerM(mm(1, 1), poly, 1); !math.IsNaN(a) {
			t.Errorf("%v: A %v", poly, a)
		}
	}
}

// FuzzPolygonB: any polygon of millimetres with some area gives a finite field
// at any point, on its edges too, and one that no bar of its area can exceed.
func FuzzPolygonB(f *testing.F) {
	f.Add(0.0, 3.0, -10.0, -1.5, 10.0, -1.5, 10.0, 1.5, -10.0, 1.5)
	f.Add(10.0, 1.5, -10.0, -1.5, 10.0, -1.5, 10.0, 1.5, -10.0, 1.5)
	f.Add(5.0, -1.0, 0.0, 0.0, 4.0, 0.0, 4.0, 4.0, 2.0, 1.0)
	f.Add(1e5, -1e5, 0.0, 0.0, 4.0, 0.0, 4.0, 4.0, 2.0, 1.0)
	f.Fuzz(func(t *testing.T, x, y, x0, y0, x1, y1, x2, y2, x3, y3 float64) {
		for _, v := range []float64{x, y, x0, y0, x1, y1, x2, y2, x3, y3} {
			if !(math.Abs(v) <= 1e6) || v != 0 && math.Abs(v) < 1e-6 {
				t.Skip("not a drawing in millimetres")
			}
		}
		poly := geom.Polygon{mm(x0, y0), mm(x1, y1), mm(x2, y2), mm(x3, y3)}
		for i := range poly {
			for _, p := range []geom.Point{mm(x, y), poly[i], poly[i].Add(poly[(i+1)%4]).Scale(0.5)} {
				b := PolygonB(p, poly, 1)
				size := poly.Box().Size().Norm()
				if _, _, crosses := poly.SelfCrossing(); crosses || poly.AreaM2() < 1e-6*size*size {
					continue // no panic is all that is asked
				}
				if math.IsNaN(b.X) || math.IsInf(b.X, 0) || math.IsNaN(b.Y) || math.IsInf(b.Y, 0) {
					t.Fatalf("%v at %v: %v", poly, p, b)
				}
				// |∫∫ dA/(z−z')| is largest for the disc about p: 2π √(A/π).
				most := mu0Over2Pi * 2 * math.Sqrt(math.Pi/poly.AreaM2())
				if b.Norm() > most*(1+1e-6) {
					t.Fatalf("%v at %v: %v above the bound %g", poly, p, b, most)
				}
			}
		}
	})
}

func BenchmarkRectangleB(b *testing.B) {
	p := mm(4, 5.5)
	for b.Loop() {
		sink = RectangleB(p, 0.020, 0.003, 1000)
	}
}

func BenchmarkPolygonB(b *testing.B) {
	u := geom.Channel(0.020, 0.015, 0.002)
	b.Run("near, 8 corners", func(b *testing.B) {
		p := mm(4, 5.5)
		for b.Loop() {
			sink = PolygonB(p, u, 1000)
		}
	})
	b.Run("far, 8 corners", func(b *testing.B) {
		p := mm(90, 80)
		for b.Loop() {
			sink = PolygonB(p, u, 1000)
		}
	})
}

// sink keeps the compiler from dropping the benchmarked call; no code reads it.
var sink geom.Point
