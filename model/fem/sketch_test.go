package fem

import (
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// A sketch agrees with the integral over the pieces to a few per cent in air, inside
// the circle and outside it, and its flux density is the curl of its potential: a
// centred difference, at places that lie within one triangle or outside the mesh.
func TestSketchFollowsRough(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel, p.Pieces[1].SigmaSPerM = 1000, 2e6
	for _, hz := range []float64{0, 2000} {
		s, err := Solve(p, hz, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []geom.Point{{Y: 11e-3}, {X: 1e-3, Y: 7.7e-3}, {X: 14e-3, Y: 3e-3}, {X: 30e-3, Y: -1e-3}, {X: 0.2, Y: -0.1}, {X: 2e-3, Y: 6e-3}, {X: 13e-3, Y: 10e-3}} {
			_, x, y := s.Sketch(q, 0)
			bx, by := s.Rough(q, 0)
			size := cmplx.Abs(bx) + cmplx.Abs(by)
			if e := cmplx.Abs(x-bx) + cmplx.Abs(y-by); !(e <= 0.03*size) {
				t.Errorf("%g Hz, %v: sketch (%g, %g), exact (%g, %g): off by %.2g", hz, q, x, y, bx, by, e/size)
			}
			const h = 1e-6
			at := func(dx, dy float64) complex128 {
				a, _, _ := s.Sketch(q.Add(geom.Point{X: dx, Y: dy}), 0)
				return a
			}
			cx, cy := (at(0, h)-at(0, -h))/(2*h), -(at(h, 0)-at(-h, 0))/(2*h)
			if e := cmplx.Abs(cx-x) + cmplx.Abs(cy-y); !(e <= 0.01*size) {
				t.Errorf("%g Hz, %v: curl (%g, %g), flux (%g, %g): off by %.2g", hz, q, cx, cy, x, y, e/size)
			}
		}
	}
}

// Across the circle of the mesh the potential goes on: a jump is below a hundredth
// of the field times the radius, less than the width of a line in a drawing.
func TestSketchAcrossRim(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel = 1000
	s, err := Solve(p, 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	g := s.engine.(*linear[float64]).s.g
	for _, turn := range []float64{0.1, 1, 2.3, 4} {
		on := geom.Point{X: g.d.radiusM}.Rotate(turn)
		in, _, _ := s.Sketch(g.d.centre.Add(on.Scale(1-1e-3)), 0)
		out, x, y := s.Sketch(g.d.centre.Add(on.Scale(1+1e-3)), 0)
		most := 0.01 * g.d.radiusM * (cmplx.Abs(x) + cmplx.Abs(y))
		if d := cmplx.Abs(out - in); !(d <= most) {
			t.Errorf("at %g rad: jump of %g, at most %g", turn, d, most)
		}
	}
}
