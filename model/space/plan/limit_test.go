package plan

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// pair returns the difference of By between x = ±1.29 mm at the height y, in mT per kA.
func pair(f func(p geom.Point3) geom.Point3, yMM float64) float64 {
	return (f(mm(1.29, yMM, 0)).Y - f(mm(-1.29, yMM, 0)).Y) * 1e6
}

// Worked from common practice, by the field of endless bars of rectangular section:
// neck 8 × 3, pair ±1.29 mm, 2 mm above the face; and two strips beside a 3 mm slot in
// a bar of 14 × 3.
func TestPairOverLongNeckAndSlot(t *testing.T) {
	plane := func(x, w, i float64) func(geom.Point3) geom.Point3 {
		return func(p geom.Point3) geom.Point3 {
			b := closedform.RectangleB(geom.Point{X: p.X - x*1e-3, Y: p.Y}, w*1e-3, 3e-3, i)
			return geom.Point3{X: b.X, Y: b.Y}
		}
	}
	neck8, neighbour := plane(0, 8, 1), plane(40, 20, 1)
	strips := func(p geom.Point3) geom.Point3 {
		return plane(-4.25, 5.5, 0.5)(p).Add(plane(4.25, 5.5, 0.5)(p))
	}
	near(t, "neck", pair(neck8, 3.5), 18.38, 0.005)
	near(t, "0.3 mm higher", pair(neck8, 3.8)/pair(neck8, 3.5)-1, -0.0716, 5e-5)
	near(t, "neighbour", math.Abs(pair(neighbour, 3.5)/pair(neck8, 3.5)), 0.0182, 5e-5)
	heights, want := []float64{0, 1.5, 2.5, 3.5}, []float64{39.6, 22.4, 5.26, -0.80}
	for i, y := range heights {
		near(t, "strips", -pair(strips, y), want[i], 0.05*math.Pow(10, -float64(i/2)))
	}

	n := solve(t, long(20, 3, neck(0, 200, 8)), Options{})
	s := solve(t, long(14, 3, slot(0, 0, 3, 200)), Options{})
	field := func(f *Flow) func(geom.Point3) geom.Point3 {
		return func(p geom.Point3) geom.Point3 { b, _ := f.B(p); return b }
	}
	t.Logf("neck %d triangles, slot %d", n.Triangles, s.Triangles)
	near(t, "long neck", pair(field(n), 3.5), pair(neck8, 3.5), 5e-4*18.38)
	near(t, "long neck, 0.3 mm higher", pair(field(n), 3.8)/pair(field(n), 3.5)-1, -0.0716, 1e-4)
	for _, y := range heights {
		near(t, "long slot", pair(field(s), y), pair(strips, y), 0.01)
	}
	// The neck is 200 mm of 8 mm between bars of 20 mm: the field itself, not only the
	// difference.
	for _, p := range []geom.Point3{mm(0, 3.5, 0), mm(1.29, 3.5, 0), mm(6, 0, 2), mm(1, 0.5, -3), mm(-4, 1.5, 0)} {
		b, _ := n.B(p)
		if off := b.Sub(neck8(p)).Norm(); off > 5e-4*neck8(p).Norm() {
			t.Errorf("at %v: %v, an endless bar has %v", p, b, neck8(p))
		}
	}
}

// An even bar is a prism: the sum of 40 × 12 filaments by Gauss points, from
// closedform.SegmentB, is an independent way.
func TestEvenBar(t *testing.T) {
	f := solve(t, bar(20, 3, -30, 50), Options{})
	for _, p := range []geom.Point3{mm(3, 6, 10), mm(-14, 2, -20), mm(5, -7, 48), mm(0, 4, 60), mm(200, 50, -90)} {
		got, bound := f.B(p)
		if bound != 0 {
			t.Errorf("bound %g of a closed form", bound)
		}
		var want geom.Point3
		const nx, ny = 60, 20
		for i := range nx {
			for j := range ny {
				x, y := 20*((float64(i)+0.5)/nx-0.5), 3*((float64(j)+0.5)/ny-0.5)
				want = want.Add(closedform.SegmentB(p, mm(x, y, -30), mm(x, y, 50), 1.0/(nx*ny)))
			}
		}
		if off := got.Sub(want).Norm(); off > 2e-4*want.Norm() {
			t.Errorf("%v: %v, filaments %v", p, got, want)
		}
	}
	s, _ := f.Squares()
	near(t, "squares", s, 4, 1e-12)
	// An endless bar has the field of the plane, in the metal and on its corners too.
	f = solve(t, long(20, 3), Options{})
	for _, p := range []geom.Point3{mm(0, 0, 0), mm(4, 1, 5), mm(10, 1.5, 0), mm(10, 0, 0), mm(3, 1.5, 1), mm(12, 8, -3), mm(0, 100, 0)} {
		got, _ := f.B(p)
		w := closedform.RectangleB(geom.Point{X: p.X, Y: p.Y}, 20e-3, 3e-3, 1)
		if off := got.Sub(geom.Point3{X: w.X, Y: w.Y}).Norm(); off > 1e-6*w.Norm()+1e-14 {
			t.Errorf("%v: %v, the plane has %v", p, got, w)
		}
	}
}
