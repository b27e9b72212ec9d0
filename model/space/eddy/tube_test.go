package eddy

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// A long tube of copper in an alternating field along it: the current round its opening, an
// unknown of its own, leaves inside
//
//	B/B0 = 1/(cosh kt + (k a/2) sinh kt),  k = (1+j)/δ
//
// for a wall thin against the radius a; at the middle of a tube twenty radii long.
//
// Source: W. R. Smythe, Static and Dynamic Electricity, 3rd ed., chapter X (from memory; the
// limit of a thin wall, 1/(1 + jωμ0σ a t/2), is common practice).
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
		k := complex(1, 1) / complex(1/math.Sqrt(math.Pi*hz*si.Mu0HPerM*copper), 0)
		want := 1 / (cmplx.Cosh(k*thick) + k*a/2*cmplx.Sinh(k*thick))
		b, bound := r.At(hz, [][]complex128{{1}}).B(geom.Point3{X: 2e-3, Z: 1e-3}, 0)
		t.Logf("%g Hz: %.5f ± %.5f, want %.5f", hz, b[2]+1, bound, want)
		if !(cmplx.Abs(b[2]+1-want) <= 0.01) { // of the field applied
			t.Errorf("%g Hz: %.5f, want %.5f", hz, b[2]+1, want)
		}
	}
}
