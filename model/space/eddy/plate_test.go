package eddy

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/si"
)

// A circular coil of one turn over a plate of copper three diameters wide. Over an endless
// plate of thickness c, its face at z = 0 and the coil of radius a at the height h,
//
//	ΔL = πμ0 a² ∫ J1(αa)² e^(−2αh) Γ dα
//	Bz = (μ0 a/2) ∫ α J1(αa) J0(αr) e^(−α(z+h)) Γ dα             above
//	Γ  = (α²−β²)(1−e^(−2βc)) / ((α+β)² − (α−β)² e^(−2βc)),  β² = α² + jωμ0σ
//
// and below the plate the whole field is that of e^(−α(h−z−c)) 4αβ e^(−βc)/((α+β)² − …).
//
// Source: C. V. Dodd, W. E. Deeds, Analytical solutions to eddy-current probe-coil problems,
// J. Appl. Phys. 39 (1968) 2829-2838 (a coil over two conductors, here the limit of a thin coil
// over one of finite thickness; from memory, its limits checked: a perfect plate gives the image).
func TestCoilOverPlate(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	const a, h, thick, sigma = 10e-3, 5e-3, 2e-3, 58e6
	side := 3 * 2 * a
	plate := Piece{Name: "plate", Section: geom.Solid(geom.Rectangle(side, side)), FromZM: -thick, SigmaSPerM: sigma}
	above, below := geom.Point3{X: 1e-3, Z: h / 2}, geom.Point3{X: 2e-3, Y: 1e-3, Z: -thick - 4e-3}
	p, err := New([]Piece{plate}, []geom.Point3{above}, Options{MaxCells: 6000})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(p.Cells())
	coil := func(q geom.Point3) geom.Point3 {
		rho := math.Max(math.Hypot(q.X, q.Y), 1e-12)
		radial, axial := closedform.LoopB(rho, q.Z-h, a, 1)
		return geom.Point3{X: radial * q.X / rho, Y: radial * q.Y / rho, Z: axial}
	}
	r, err := p.Respond([]Source{coil}, nil)
	if err != nil {
		t.Fatal(err)
	}
	integral := func(hz float64, f func(alpha float64, beta, bottom complex128) complex128) (sum complex128) {
		const n = 20000
		top := 12 / h
		for i := range n {
			alpha := (float64(i) + 0.5) * top / n
			beta := cmplx.Sqrt(complex(alpha*alpha, 2*math.Pi*hz*si.Mu0HPerM*sigma))
			s, d := complex(alpha, 0)+beta, complex(alpha, 0)-beta
			sum += f(alpha, beta, s*s-d*d*cmplx.Exp(-2*thick*beta)) * complex(top/n, 0)
		}
		return sum
	}
	for _, hz := range []float64{500, 1000, 5000, 50000} {
		gamma := func(alpha float64, beta, bottom complex128) complex128 {
			return (complex(alpha*alpha, 0) - beta*beta) * (1 - cmplx.Exp(-2*thick*beta)) / bottom
		}
		wantL := integral(hz, func(alpha float64, beta, bottom complex128) complex128 {
			j := math.J1(alpha * a)
			return complex(math.Pi*si.Mu0HPerM*a*a*j*j*math.Exp(-2*alpha*h), 0) * gamma(alpha, beta, bottom)
		})
		wantUp := integral(hz, func(alpha float64, beta, bottom complex128) complex128 {
			return complex(si.Mu0HPerM*a/2*alpha*math.J1(alpha*a)*math.J0(alpha*above.X)*math.Exp(-alpha*(above.Z+h)), 0) * gamma(alpha, beta, bottom)
		}) + complex(coil(above).Z, 0)
		wantDown := integral(hz, func(alpha float64, beta, bottom complex128) complex128 {
			rho := math.Hypot(below.X, below.Y)
			f := si.Mu0HPerM * a / 2 * alpha * math.J1(alpha*a) * math.J0(alpha*rho) * math.Exp(-alpha*(h-below.Z-thick))
			return complex(f*4*alpha, 0) * beta * cmplx.Exp(-thick*beta) / bottom
		})
		now := r.At(hz, [][]complex128{{1}})
		l := linkage(r, hz)
		up, upBound := now.B(above, 0)
		down, _ := now.B(below, 0)
		up[2] += complex(coil(above).Z, 0)
		down[2] += complex(coil(below).Z, 0)
		source := complex(coil(below).Z, 0)
		t.Logf("%g Hz: ΔL %.4f of %.4g; above %.4f ± %.4f of %.4g; below %.4f, want %.4f of the source's", hz, l/wantL, wantL,
			up[2]/wantUp, upBound/cmplx.Abs(wantUp), wantUp, down[2]/source, wantDown/source)
		if !(cmplx.Abs(l/wantL-1) <= 0.01) || !(cmplx.Abs(up[2]/wantUp-1) <= 0.01) || !(cmplx.Abs(down[2]-wantDown) <= 0.01*cmplx.Abs(source)) {
			t.Errorf("%g Hz: off by more than a hundredth", hz)
		}
	}
}

// linkage returns the flux that the eddy currents of the only source make through it, in Wb per unit of it: −jω times it
// adds to its voltage. Extrapolated from both meshes.
func linkage(r *Response, hz float64) complex128 {
	var at [2]complex128
	for l := range r.parts {
		for _, p := range r.parts[l] {
			n := p.takes[decade(hz)]
			for j, v := range p.g.solveAt(hz, n, [][]complex128{{1}})[0] {
				x := v * complex(p.g.c[j][0], 0)
				if p.g.y.m.mirror {
					x *= 2
				}
				at[l] += x
			}
		}
	}
	return at[1] + (at[1]-at[0])*complex(limitStep, 0)
}
