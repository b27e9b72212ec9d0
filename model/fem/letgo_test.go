package fem

import (
	"math"
	"testing"

	"busgauss/model/material"
)

// A state of saturating iron that let go answers as one that did not, bounds too, at places that neither was asked for; and the next
// state is found from it.
func TestStateThatLetGo(t *testing.T) {
	curve, err := material.SaturationCurve(2000, 1.6)
	if err != nil {
		t.Fatal(err)
	}
	p := three()
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			p.Pieces[i].Curve, p.Pieces[i].MuRel = curve, 0
		}
	}
	z, err := NewSaturating(p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, amperes := range []float64{6000, -2000} {
		w, err := NewSaturating(p, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if amperes < 0 { // the same way to the second state
			if _, err := w.Solve([]float64{6000, 0, 0}, [2]float64{}); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := w.Solve([]float64{amperes, 0, 0}, [2]float64{})
		if err != nil {
			t.Fatal(err)
		}
		n, err := z.Solve([]float64{amperes, 0, 0}, [2]float64{})
		if err != nil {
			t.Fatal(err)
		}
		n.LetGo()
		if n.l.est != nil || n.l.s.factor != nil || n.z.fixed != nil {
			t.Error("nothing was let go")
		}
		for _, q := range p.Sensors {
			q.Y += 2e-3 // beyond what the value at a sensor serves
			a, b, e := n.B(q)
			c, d, f := kept.B(q)
			// The matrix of a factor that is made again is summed in another order.
			size := math.Hypot(c, d)
			if !(math.Hypot(a-c, b-d) <= 1e-9*size) || !(math.Abs(e-f) <= 1e-6*f) || !(f > 0) {
				t.Errorf("%g A at %v: (%g, %g) ± %g, where nothing was let go (%g, %g) ± %g", amperes, q, a, b, e, c, d, f)
			}
		}
		if n.l.est == nil {
			t.Error("no place asked for the estimator")
		}
	}
}
