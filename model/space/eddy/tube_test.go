package eddy

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// A long tube of copper in an alternating field along it, which the current round its opening,
// an unknown of its own, keeps out. In the wall of an endless one, a ≤ r ≤ b,
//
//	H″ + H′/r = jωμ0σ H,  H′(a) = jωμ0σ (a/2) H(a)  by Faraday's law round the opening,  H(b) outside
//
// integrated here step by step; at the middle of a tube twenty radii long half a per cent of the
// currents is missing.
//
// Source: W. R. Smythe, Static and Dynamic Electricity, 3rd ed., chapter X (place from memory).
func TestTube(t *testing.T) {
	const a, thick, depth = 10e-3, 0.5e-3, 200e-3
	piece := Piece{Name: "tube", Ring: &Ring{InnerM: a - thick/2, OuterM: a + thick/2}, FromZM: -depth / 2, ToZM: depth / 2, SigmaSPerM: copper}
	p, err := New([]Piece{piece}, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.Respond([]Source{uniformZ}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, hz := range []float64{100, 500, 2000, 20000} {
		want := 1 / tubeWall(a-thick/2, a+thick/2, complex(0, 2*math.Pi*hz*si.Mu0HPerM*copper))
		b, bound := r.At(hz, [][]complex128{{1}}).B(geom.Point3{X: 2e-3, Z: 1e-3}, 0)
		t.Logf("%g Hz: %.5f ± %.5f, want %.5f", hz, b[2]+1, bound, want)
		if !(cmplx.Abs(b[2]+1-want) <= 0.01) { // of the field applied
			t.Errorf("%g Hz: %.5f, want %.5f", hz, b[2]+1, want)
		}
	}
}

// tubeWall returns H(b)/H(a) of a wall with k² = jωμ0σ, by the Runge-Kutta rule of fourth order.
func tubeWall(a, b float64, k2 complex128) complex128 {
	const n = 400
	h := (b - a) / n
	y, d := complex(1, 0), k2*complex(a/2, 0)
	f := func(r float64, y, d complex128) (complex128, complex128) { return d, k2*y - d/complex(r, 0) }
	c := func(x float64) complex128 { return complex(x, 0) }
	for i := range n {
		r := a + float64(i)*h
		y1, d1 := f(r, y, d)
		y2, d2 := f(r+h/2, y+c(h/2)*y1, d+c(h/2)*d1)
		y3, d3 := f(r+h/2, y+c(h/2)*y2, d+c(h/2)*d2)
		y4, d4 := f(r+h, y+c(h)*y3, d+c(h)*d3)
		y += c(h/6) * (y1 + 2*y2 + 2*y3 + y4)
		d += c(h/6) * (d1 + 2*d2 + 2*d3 + d4)
	}
	return y
}
