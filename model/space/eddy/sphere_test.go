package eddy

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// blocks collects cells given by their corners, joining those of equal place.
type blocks struct {
	m  mesh
	at map[[3]int64]int32
}

func (b *blocks) node(p geom.Point3) int32 {
	key := [3]int64{int64(math.Round(p.X * 1e10)), int64(math.Round(p.Y * 1e10)), int64(math.Round(p.Z * 1e10))}
	if n, ok := b.at[key]; ok {
		return n
	}
	b.at[key] = int32(len(b.m.nodes))
	b.m.nodes = append(b.m.nodes, p)
	return b.at[key]
}

// add fills the unit cube mapped by f with nx × ny × nz cells.
func (b *blocks) add(nx, ny int, z []float64, rho float64, f func(x, y, z float64) geom.Point3) {
	for k := range len(z) - 1 {
		for j := range ny {
			for i := range nx {
				var c [8]int32
				for n := range 8 {
					c[n] = b.node(f(float64(i+n&1)/float64(nx), float64(j+n>>1&1)/float64(ny), z[k+n>>2&1]))
				}
				b.m.cells = append(b.m.cells, c)
				b.m.rho, b.m.piece = append(b.m.rho, rho), append(b.m.piece, 0)
			}
		}
	}
}

// ball returns a sphere of radius a, with a cavity of radius hollow where that is not 0, of n
// cells along a side of the cube that it is mapped from and the given layers below its surface.
func ball(a, hollow, rho float64, n int, layers []float64) *mesh {
	b := &blocks{at: map[[3]int64]int32{}}
	cube := 0.45 * a
	on := func(x float64) float64 { return math.Tan((x - 0.5) * math.Pi / 2) }
	for side := range 6 {
		turn := func(u, v, w float64) geom.Point3 {
			if side%2 == 1 {
				u, w = -u, -w // keeps the sense
			}
			return [3]geom.Point3{{X: w, Y: u, Z: v}, {X: v, Y: w, Z: u}, {X: u, Y: v, Z: w}}[side/2]
		}
		b.add(n, n, layers, rho, func(x, y, z float64) geom.Point3 {
			u, v := on(x), on(y)
			out := turn(u, v, 1)
			outer := out.Scale(a / out.Norm())
			inner := out.Scale(hollow / out.Norm())
			if hollow == 0 {
				// A cube whose sides bulge: half way to the sphere.
				inner = out.Scale(cube).Scale(0.5).Add(out.Scale(0.5 * 1.2 * cube / out.Norm()))
			}
			return inner.Scale(1 - z).Add(outer.Scale(z))
		})
	}
	if hollow == 0 {
		z := make([]float64, n+1)
		for i := range z {
			z[i] = float64(i) / float64(n)
		}
		b.add(n, n, z, rho, func(x, y, z float64) geom.Point3 {
			p := geom.Point3{X: on(x), Y: on(y), Z: on(z)}
			far := math.Max(math.Abs(p.X), math.Max(math.Abs(p.Y), math.Abs(p.Z)))
			if far == 0 {
				return p
			}
			q := p.Scale(cube * 0.5).Add(p.Scale(0.5 * 1.2 * cube * far / p.Norm()))
			return p.Scale(cube * (1 - far)).Add(q.Scale(far))
		})
	}
	b.m.finish()
	volume := 0.0
	for i := range b.m.body {
		volume += b.m.body[i].volume
	}
	swell := math.Cbrt(4 * math.Pi / 3 * (a*a*a - hollow*hollow*hollow) / volume)
	for i := range b.m.nodes { // flat cells lie within the sphere
		b.m.nodes[i] = b.m.nodes[i].Scale(swell)
	}
	b.m.finish()
	return &b.m
}

// uniform returns one tesla along z.
func uniformZ(geom.Point3) geom.Point3 { return geom.Point3{Z: 1} }

func problemOf(coarse, fine *mesh) *Problem {
	return &Problem{levels: [2]*level{newLevel(coarse), newLevel(fine)}}
}

const copper = 58e6

// hzOf returns the frequency at which the skin is deltaM deep.
func hzOf(deltaM, sigma float64) float64 {
	return 1 / (math.Pi * si.Mu0HPerM * sigma * deltaM * deltaM)
}

// A solid sphere in a uniform field B: its moment is
//
//	m = −(2π a³ B/μ0) (1 + 3/x² − 3 coth x/x),   x = (1+j) a/δ
//
// Source: W. R. Smythe, Static and Dynamic Electricity, 3rd ed., chapter X on eddy currents
// (place from memory); both limits were checked: jωσμ0 a²/15 of a weak skin
// effect, 1 of a strong one.
func TestSphere(t *testing.T) {
	const a = 10e-3
	layers := func(n int) []float64 {
		z := make([]float64, n+1)
		for i := range z {
			z[i] = math.Sin(math.Pi / 2 * float64(i) / float64(n))
		}
		return z
	}
	p := problemOf(ball(a, 0, 1/copper, 5, layers(4)), ball(a, 0, 1/copper, 7, layers(6)))
	r, err := p.Respond([]Source{uniformZ}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, delta := range []float64{5, 1, 0.5, 0.2, 1e-3} {
		hz := hzOf(delta*a, copper)
		now := r.At(hz, [][]complex128{{1}})
		x := complex(1/delta, 1/delta)
		coth := (1 + cmplx.Exp(-2*x)) / (1 - cmplx.Exp(-2*x))
		want := complex(-2*math.Pi*a*a*a/si.Mu0HPerM, 0) * (1 + 3/(x*x) - 3*coth/x)
		c, f := now.moment(0, geom.Point3{}, 0)[2], now.moment(1, geom.Point3{}, 0)[2]
		got := f + complex(limitStep, 0)*(f-c)
		t.Logf("skin %g a: coarse %.4f, fine %.4f, limit %.4f of %.4g (n %d, %d vectors)", delta, c/want, f/want, got/want, want, r.parts[1][0].g.y.u.n, len(r.parts[1][0].g.v))
		if !(cmplx.Abs(got/want-1) <= 0.01) {
			t.Errorf("skin %g a: %.4f of %.4g", delta, got/want, want)
		}
	}
}

// A spherical shell in a uniform field: with A_φ = f(r) sin θ,
//
//	f = B_i r/2 in the cavity,  C i1(kr) + D k1(kr) in the metal,  r/2 + m/r² outside,
//
// f and its derivative continuous; i1 and k1 the modified spherical Bessel functions.
//
// Source: W. R. Smythe, Static and Dynamic Electricity, 3rd ed., chapter X (place from memory).
func TestSphericalShell(t *testing.T) {
	const a, hollow = 10e-3, 8e-3
	p := problemOf(ball(a, hollow, 1/copper, 6, crowded(3)), ball(a, hollow, 1/copper, 8, crowded(4)))
	r, err := p.Respond([]Source{uniformZ}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, delta := range []float64{1, 0.3, 0.1} {
		hz := hzOf(delta*a, copper)
		now := r.At(hz, [][]complex128{{1}})
		in, moment := shell(a, hollow, complex(1/delta, 1/delta)/a)
		moment *= 4 * math.Pi / si.Mu0HPerM
		c, f := now.moment(0, geom.Point3{}, 0)[2], now.moment(1, geom.Point3{}, 0)[2]
		got := f + complex(limitStep, 0)*(f-c)
		b, _ := now.B(geom.Point3{X: 1e-3, Y: 2e-3, Z: 1e-3}, 0)
		t.Logf("skin %g a: moment %.4f, %.4f, limit %.4f of %.4g; inside %.5f, want %.5f", delta, c/moment, f/moment, got/moment, moment, b[2]+1, in)
		if !(cmplx.Abs(got/moment-1) <= 0.01) {
			t.Errorf("skin %g a: moment %.4f of %.4g", delta, got/moment, moment)
		}
		if !(cmplx.Abs(b[2]+1-in) <= 0.01) { // of the field applied
			t.Errorf("skin %g a: inside %.5f, want %.5f", delta, b[2]+1, in)
		}
	}
}

// shell returns the field in the cavity and m for one tesla.
func shell(a, b float64, k complex128) (in, m complex128) {
	i1 := func(x complex128) complex128 { return cmplx.Cosh(x)/x - cmplx.Sinh(x)/(x*x) }
	k1 := func(x complex128) complex128 { return cmplx.Exp(-x) * (1/x + 1/(x*x)) }
	diff := func(f func(complex128) complex128, x complex128) complex128 {
		h := 1e-5 * x
		return (f(x+h) - f(x-h)) / (2 * h)
	}
	x, y := k*complex(b, 0), k*complex(a, 0)
	// In the cavity f'/f = 1/b: C (i1' k − i1/b) + D (k1' k − k1/b) = 0.
	ci, ck := diff(i1, x)*k-i1(x)/complex(b, 0), diff(k1, x)*k-k1(x)/complex(b, 0)
	c, d := complex(1, 0), -ci/ck
	f, g := c*i1(y)+d*k1(y), (c*diff(i1, y)+d*diff(k1, y))*k
	// Outside f = s (r/2) + m/r²: scale to s = 1.
	s := (2*f/complex(a, 0) + g) / 1.5
	m = (f - s*complex(a/2, 0)) * complex(a*a, 0)
	in = 2 * (c*i1(x) + d*k1(x)) / complex(b, 0)
	return in / s, m / s
}

// moment returns the magnetic dipole moment ½∫ r × J dV about centre for combination i in A·m².
func (c *Currents) moment(level int, centre geom.Point3, i int) (out vec3) {
	for n := range c.levels[level] {
		f := &c.levels[level][n]
		for k := range f.y.m.body {
			r := f.y.m.body[k].centre.Sub(centre)
			j := f.moments[i][k]
			neg := vec3{-j[0] / 2, -j[1] / 2, -j[2] / 2}
			out.add(&neg, r) // −j × r = r × j
			if f.y.m.mirror {
				o := vec3{neg[0], neg[1], -neg[2]}
				if f.y.p == through {
					o = vec3{-neg[0], -neg[1], neg[2]}
				}
				r.Z = 2*(f.y.m.midM-centre.Z) - r.Z
				out.add(&o, r)
			}
		}
	}
	return out
}
