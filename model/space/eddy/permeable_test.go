package eddy

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// permeableShell returns the field in the cavity and m of a sphere in one tesla: A_φ = f(r) sin θ as in shell, and the
// permeability divides (1/r) d(rf)/dr in the metal. Without cavity in is nought.
//
// Source: J. R. Wait, Geophysics 16 (1951) 666 (the solid sphere; from memory).
func permeableShell(a, b float64, k complex128, mu float64) (in, m complex128) {
	i1 := func(x complex128) complex128 { return cmplx.Cosh(x)/x - cmplx.Sinh(x)/(x*x) }
	k1 := func(x complex128) complex128 { return cmplx.Exp(-x) * (1/x + 1/(x*x)) }
	diff := func(f func(complex128) complex128, x complex128) complex128 {
		h := 1e-5 * x
		return (f(x+h) - f(x-h)) / (2 * h)
	}
	y := k * complex(a, 0)
	c, d := complex(1, 0), complex(0, 0)
	if b > 0 {
		x, per := k*complex(b, 0), complex((2*mu-1)/b, 0)
		d = -(diff(i1, x)*k - i1(x)*per) / (diff(k1, x)*k - k1(x)*per)
	}
	f, g := c*i1(y), c*diff(i1, y)*k
	if d != 0 {
		f, g = f+d*k1(y), g+d*diff(k1, y)*k
	}
	g = (g + f/complex(a, 0)) / complex(mu, 0)
	s := (f/complex(a, 0) + g) / 1.5
	m = (f - s*complex(a/2, 0)) * complex(a*a, 0) * 4 * math.Pi / si.Mu0HPerM
	if b > 0 {
		x := k * complex(b, 0)
		in = 2 * (c*i1(x) + d*k1(x)) / complex(b, 0)
	}
	return in / s, m / s
}

// total returns the moment of iron, steady and moving, of source 0 on one mesh.
func (r *Response) total(level int, c *Currents) (sum complex128) {
	for n, p := range r.parts[level] {
		for k, m := range c.levels[level][n].moments[0] {
			sum += m[2] + complex(p.still[0][3*k+2], 0)
		}
		for k := range p.g.y.iron.sides {
			side := &p.g.y.iron.sides[k]
			q := slices.Clone(c.levels[level][n].leaves[0])
			for o, v := range p.still[0][3*len(c.levels[level][n].moments[0]):] {
				q[o] += complex(v, 0)
			}
			sum += p.g.y.iron.at(side, q) * complex(side.areaM2*side.centre.Z, 0)
		}
	}
	return sum
}

// A sphere and a shell that conduct and are permeable in a uniform alternating field: their moment within 1 %, the field
// in the cavity within 1 % of the field applied.
func TestPermeableSphere(t *testing.T) {
	const a, sigma = 10e-3, 6e6
	for _, hollow := range []float64{0, 8e-3} {
		for _, mu := range []float64{1, 20, 500} {
			if mu == 20 && !*long {
				continue // seconds
			}
			var p *Problem
			if hollow > 0 {
				p = problemOf(ball(a, hollow, 1/sigma, 6, crowded(4)), ball(a, hollow, 1/sigma, 9, crowded(6)))
			} else {
				p = problemOf(ball(a, 0, 1/sigma, 5, crowdedOut(4)), ball(a, 0, 1/sigma, 7, crowdedOut(6)))
			}
			r, err := p.RespondIron([]float64{mu}, []Source{uniformZ}, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, delta := range []float64{5, 1, 0.3, 0.1} {
				hz := hzOf(delta*a, sigma*mu)
				now := r.At(hz, [][]complex128{{1}})
				in, want := permeableShell(a, hollow, complex(1/delta, 1/delta)/a, mu)
				c, f := r.total(0, now), r.total(1, now)
				got := f + complex(limitStep, 0)*(f-c)
				t.Logf("hollow %g, mu %g, skin %g a: coarse %.4f, fine %.4f, limit %.4f of %.4g (%d vectors); inside %.4g", hollow, mu, delta, c/want, f/want, got/want, want, len(r.parts[1][0].g.v), in)
				if !(cmplx.Abs(got/want-1) <= 0.01) {
					t.Errorf("moment %.4f of %.4g", got/want, want)
				}
				if hollow == 0 {
					continue
				}
				// Within, of the field applied: steady and moving, beside no iron.
				none, err := p.RespondIron([]float64{1}, []Source{uniformZ}, nil)
				if err != nil {
					t.Fatal(err)
				}
				b, _ := r.Against(none, hz, [][]complex128{{1}}).B(geom.Point3{X: 1e-3, Y: 2e-3, Z: 1e-3}, 0)
				if !(cmplx.Abs(b[2]+1-in) <= 0.01) {
					t.Errorf("inside %.4f, want %.4f", b[2]+1, in)
				}
			}
		}
	}
}

// crowdedOut are layers that grow thinner towards 1.
func crowdedOut(n int) []float64 {
	z := make([]float64, n+1)
	for i := range z {
		z[i] = math.Sin(math.Pi / 2 * float64(i) / float64(n))
	}
	return z
}

// The field of a magnetised cell is the slope of its potential, near and far.
func TestDyad(t *testing.T) {
	x := [8]geom.Point3{{}, {X: 1}, {Y: 1.2}, {X: 1.1, Y: 1.2}, {Z: 0.7}, {X: 1, Z: 0.7}, {X: 0.1, Y: 1.2, Z: 0.7}, {X: 1.1, Y: 1.2, Z: 0.7}}
	b := bodyOf(&x)
	for _, r := range []geom.Point3{{X: 1.5, Y: 0.3, Z: 0.4}, {X: -0.4, Y: 1.5, Z: -0.2}, {X: 2, Y: 3, Z: -1}, {X: -4, Y: 6, Z: 5}} {
		along := b.dyad(r)
		for k, u := range [3]geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
			// the potential of one A·m² along u is surface·u/4π
			const h = 1e-4
			var want geom.Point3
			for _, v := range [3]geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
				slope := (b.surface(r.Add(v.Scale(h))).Dot(u) - b.surface(r.Add(v.Scale(-h))).Dot(u)) / (2 * h) / (4 * math.Pi)
				want = want.Sub(v.Scale(slope))
			}
			if !(along[k].Sub(want).Norm() <= 2e-3*want.Norm()) {
				t.Errorf("%v, along %v: %v, want %v", r, u, along[k], want)
			}
		}
	}
}
