package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/model/probe"
)

// ringOf is a ring of n tangential elements of radius 20 mm with the mean of their readings, round a thin wire that
// stands at own millimetres from its centre, and another wire at other.
func ringOf(n int, own, other complex128) string {
	var b strings.Builder
	fmt.Fprintf(&b, `layout: 1
bars:
  A: {section: {diameter: 1 mm}, at: [%.12g mm, %.12g mm], metal: copper}
  B: {section: {diameter: 1 mm}, at: [%.12g mm, %.12g mm], metal: copper}
sensors:
  S:
    reads: A
    at: [0 mm, 0 mm]
    axis: 90 deg
    elements:
`, real(own), imag(own), real(other), imag(other))
	for k := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		fmt.Fprintf(&b, "      - {at: [%.15g mm, %.15g mm], axis: %.15g deg, weight: %.17g}\n", 20*cos, 20*sin,
			90+360*float64(k)/float64(n), 1/float64(n))
	}
	return b.String()
}

// The tangential field on a circle of radius R, of a wire at e < R in the direction φ, is the Fourier series
//
//	B_t(θ) = μ0·I/(2πR)·Σ_{m≥0} (e/R)^m·cos m(θ−φ)
//
// and of one at D > R −μ0·I/(2πR)·Σ_{m≥1} (R/D)^m·cos m(θ−φ): real part of the geometric series of
// 1/(1 − e·exp(j(φ−θ))/R), from the field of a wire in complex form. The mean over n equal steps keeps the orders
// jn, which sum to Re 1/(1 − q·exp(jnφ)): worst in the direction of an element, q/(1−q), q = (e/R)^n or (R/D)^n.
func TestRingOfElements(t *testing.T) {
	const ampere = 2e-7 / 20e-3 // T/A in the mean, all round
	for n := 2; n <= 8; n++ {
		for _, phi := range []float64{0, 0.3, 1.1, math.Pi / float64(n)} {
			const eMM, dMM = 4.0, 55.0
			turn := cmplx.Rect(1, phi)
			l := mustLoad(t, ringOf(n, complex(eMM, 0)*turn, complex(dMM, 0)*turn))
			m, s := probe.NewModel(l), &l.Sensors[0]
			f, err := m.Field(0)
			if err != nil {
				t.Fatal(err)
			}
			series := func(q float64) float64 { // Σ_{j≥1} q^j·cos(jnφ)
				z := complex(q, 0) * cmplx.Rect(1, float64(n)*phi)
				return real(z / (1 - z))
			}
			own := real(f.Own(s).Axis.V)/ampere - 1
			if want := series(math.Pow(eMM/20, float64(n))); math.Abs(own-want) > 1e-8 {
				t.Errorf("%d elements, own wire off centre towards %.2f rad: %.9f, want %.9f", n, phi, own, want)
			}
			foreign := real(f.Beside(s, 1).Axis.V) / ampere
			if want := -series(math.Pow(20/dMM, float64(n))); math.Abs(foreign-want) > 1e-8 {
				t.Errorf("%d elements, wire outside towards %.2f rad: %.9f, want %.9f", n, phi, foreign, want)
			}
			if phi == 0 {
				q := math.Pow(eMM/20, float64(n))
				near(t, "largest error", own, q/(1-q), 1e-5)
			}
			shares, err := m.CircuitShares(s)
			if err != nil || len(shares) != 1 {
				t.Fatalf("%v, %d shares", err, len(shares))
			}
			if want := math.Abs(foreign) / (1 + own); math.Abs(shares[0].Ratio.Value-want) > 1e-8 {
				t.Errorf("%d elements: stray ratio %.9f, want %.9f", n, shares[0].Ratio.Value, want)
			}
		}
	}
}
