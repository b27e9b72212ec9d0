package fem

import (
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// Rough is the value of B without its bound, at places near and far, in air and in
// metal: another order of the same sums.
func TestRoughEqualsB(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel, p.Pieces[1].SigmaSPerM = 1000, 2e6
	for _, hz := range []float64{0, 2000} {
		s, err := Solve(p, hz, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []geom.Point{{Y: 11e-3}, {X: 1e-3, Y: 7.7e-3}, {X: 14e-3, Y: 3e-3}, {X: 0.2, Y: -0.1}, {X: 2e-3, Y: 6e-3}, {X: 13e-3, Y: 10e-3}} {
			same := func(what string, ax, ay, bx, by complex128) {
				t.Helper()
				if size := cmplx.Abs(bx) + cmplx.Abs(by); cmplx.Abs(ax-bx)+cmplx.Abs(ay-by) > 1e-12*size || size == 0 {
					t.Errorf("%g Hz, %v, %s: rough (%g, %g), exact (%g, %g)", hz, q, what, ax, ay, bx, by)
				}
			}
			rx, ry := s.Rough(q, 0)
			ux, uy := s.RoughUniform(q, 1)
			bx, by, _ := s.B(q, 0)
			same("bar", rx, ry, bx, by)
			bx, by, _ = s.Uniform(q, 1)
			same("uniform", ux, uy, bx, by)
		}
	}
}
