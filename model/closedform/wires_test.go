package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// fixtures/reference/analytic-cases.yaml, straight_wire_segment: "B = mu0 I/(4 pi d)
// (sin a2 - sin a1), any electromagnetics text".
func TestSegmentReference(t *testing.T) {
	p := mm3(10, 0, 0)
	for _, c := range []struct{ z1, z2, mT float64 }{{-50, 50, 1.961161351}, {0, 100, 0.995037190}} {
		b := SegmentB(p, mm3(0, 0, c.z1), mm3(0, 0, c.z2), 100).Scale(1e3)
		near(t, "segment By", b.Y, c.mT, lastDigit)
		near(t, "segment Bx, Bz", math.Hypot(b.X, b.Z), 0, 1e-15)
	}
	near(t, "infinite By", FilamentB(mm(10, 0), 100).Y*1e3, 2, 1e-14)
	near(t, "infinite Bx above", FilamentB(mm(0, 10), 100).X*1e3, -2, 1e-14)
	// Very long: 2h = 2 km.
	long := SegmentB(p, geom.Point3{Z: -1e3}, geom.Point3{Z: 1e3}, 100)
	near(t, "long segment", long.Y*1e3, 2, 2e-10) // (d/h)²/2 = 5e-11
}

func TestSegmentAnywhere(t *testing.T) {
	rng := newRand()
	point := func() geom.Point3 {
		return geom.Point3{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
	}
	for range 200 {
		p, a, b := point(), point(), point()
		got := SegmentB(p, a, b, 3)
		// Biot-Savart by quadrature along the wire.
		l := b.Sub(a)
		part := func(pick func(geom.Point3) float64) float64 {
			return integral(func(s float64) float64 {
				r := p.Sub(a.Add(l.Scale(s)))
				n := r.Norm()
				return pick(l.Cross(r)) / (n * n * n)
			}, 0, 1, 64) * 1e-7 * 3
		}
		want := geom.Point3{
			X: part(func(q geom.Point3) float64 { return q.X }),
			Y: part(func(q geom.Point3) float64 { return q.Y }),
			Z: part(func(q geom.Point3) float64 { return q.Z }),
		}
		if e := got.Sub(want).Norm() / want.Norm(); !(e < 1e-6) {
			t.Errorf("seed %d: %v from %v to %v: %v, want %v", seed, p, a, b, got, want)
		}
		// The two halves add up to the whole, to the last digits.
		m := a.Add(b).Scale(0.5)
		halves := SegmentB(p, a, m, 3).Add(SegmentB(p, m, b, 3))
		if e := halves.Sub(got).Norm() / got.Norm(); !(e < 1e-12) {
			t.Errorf("seed %d: halves differ by %g", seed, e)
		}
	}
	a, b := mm3(0, 0, -50), mm3(0, 0, 50)
	for _, p := range []geom.Point3{a, b, {}, mm3(0, 0, 20)} {
		if g := SegmentB(p, a, b, 1); !math.IsNaN(g.X) {
			t.Errorf("on the wire: %v", g)
		}
	}
	if g := SegmentB(mm3(0, 0, 60), a, b, 1); g != (geom.Point3{}) {
		t.Errorf("on the prolongation: %v", g)
	}
	// A nanometre beside the middle the wire looks infinite.
	near(t, "close", SegmentB(geom.Point3{X: 1e-9}, a, b, 1).Y/FilamentB(geom.Point{X: 1e-9}, 1).Y, 1, 1e-14)
}

func TestGoReturn(t *testing.T) {
	g, r := mm(-10, 1), mm(12, -3)
	for _, p := range []geom.Point{mm(0, 0), mm(3, 40), mm(-50, 2)} {
		want := FilamentB(p.Sub(g), 100).Add(FilamentB(p.Sub(r), -100))
		sameField(t, "pair", GoReturnB(p, g, r, 100), want, 1e-13)
	}
	// Side by side 2e: on the line between them at the middle both add.
	near(t, "middle", GoReturnB(geom.Point{}, mm(-10, 0), mm(10, 0), 100).Y*1e3, 4, 1e-14)
	// Far away a dipole: μ0 I d/(2π r²).
	b := GoReturnB(geom.Point{X: 1e4}, mm(-10, 0), mm(10, 0), 100)
	near(t, "far pair", b.Y/(-2e-7*100*0.020/1e8), 1, 1e-11)
}

// fixtures/reference/analytic-cases.yaml, circular_sensor_array: N tangential
// sensors on the radius 20 mm, by direct sum of filaments.
func TestSensorArrayReference(t *testing.T) {
	mean := func(n int, line geom.Point) float64 {
		sum := 0.0
		for k := range n {
			s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			b := FilamentB(geom.Point{X: 0.020 * c, Y: 0.020 * s}.Sub(line), 1)
			sum += -s*b.X + c*b.Y
		}
		return sum / float64(n) * 2 * math.Pi * 0.020 / (4e-7 * math.Pi)
	}
	for _, c := range []struct {
		n            int
		err, outside float64
	}{
		{2, 0.0666666667, -0.125}, {4, 0.0039215686, -0.0125}, {6, 0.0002442002, -0.0013736264}, {8, 0.0000152590, -0.0001524390},
	} {
		near(t, "R20_r5_phi0_error", mean(c.n, mm(5, 0))-1, c.err, 6e-11)
		near(t, "external_line_at_60mm", mean(c.n, mm(60, 0)), c.outside, 6e-11)
	}
}

func TestUniform(t *testing.T) {
	b := UniformB(50e-6, math.Pi/3)
	near(t, "x", b.X, 25e-6, 1e-20)
	near(t, "y", b.Y, 50e-6*math.Sqrt(3)/2, 1e-19)
}

// fixtures/reference/analytic-cases.yaml, circular_loop, case_a20mm_100A
// ("complete elliptic integrals; equals Biot-Savart quadrature to 8 digits").
func TestLoopReference(t *testing.T) {
	for _, c := range []struct{ rho, z, brho, bz, tol float64 }{
		{0, 0, 0, 3.141592654, lastDigit}, {0, 10, 0, 2.247940714, lastDigit}, {0, 20, 0, 1.110720735, lastDigit},
		{10, 5, 0.76232301, 3.24095985, 6e-9}, {10, 10, 0.80844542, 2.17292447, 6e-9},
		{30, 0, 0, -0.89455946, 6e-9}, {30, 10, 0.63994184, -0.21713576, 6e-9},
	} {
		r, z := LoopB(c.rho*1e-3, c.z*1e-3, 0.020, 100)
		near(t, "Brho", r*1e3, c.brho, c.tol)
		near(t, "Bz", z*1e3, c.bz, c.tol)
		r, z = LoopB(c.rho*1e-3, -c.z*1e-3, 0.020, 100)
		near(t, "Brho below", r*1e3, -c.brho, c.tol)
		near(t, "Bz below", z*1e3, c.bz, c.tol)
	}
	// 10⁴ radii away a dipole of moment I π a² (next term 1e-8).
	r, z := LoopB(120, 160, 0.020, 100)
	want := dipoleB(geom.Point3{X: 120, Z: 160}, geom.Point3{Z: 4e-7 * math.Pi}, 100*math.Pi*4e-4)
	sameField3(t, "far loop", geom.Point3{X: r, Z: z}, want, 5e-8)
	if r, z := LoopB(0.020, 0, 0.020, 1); !math.IsNaN(r) || !math.IsNaN(z) {
		t.Error("on the filament")
	}
	if r, _ := LoopB(-1, 0, 1, 1); !math.IsNaN(r) {
		t.Error("negative radius")
	}
}

// The loop as a polygon of straight wires: 4000 sides deviate by (π/n)² or so.
func TestLoopIsManySegments(t *testing.T) {
	const n, a = 4000, 0.020
	corner := func(k int) geom.Point3 {
		s, c := math.Sincos(2 * math.Pi * float64(k) / n)
		return geom.Point3{X: a * c, Y: a * s}
	}
	for _, p := range []geom.Point3{mm3(7, 0, 3), mm3(25, 0, -8), mm3(0, 0, 4), mm3(1, 0, 30)} {
		var sum geom.Point3
		for k := range n {
			sum = sum.Add(SegmentB(p, corner(k), corner(k+1), 100))
		}
		r, z := LoopB(p.X, p.Z, a, 100)
		d := geom.Point3{X: r, Z: z}.Sub(sum)
		if e := d.Norm() / sum.Norm(); !(e < 5e-6) {
			t.Errorf("%v: loop %g, %g, wires %v", p, r, z, sum)
		}
	}
}
