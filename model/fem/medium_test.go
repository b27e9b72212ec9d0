package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// A thin sheet keeps its permeability; a thick one has μ δ (1−j)/d, the flux of the
// skin on both sides. Against quadrature of the field in the sheet, cosh((1+j)y/δ).
func TestSheetPermeability(t *testing.T) {
	c := &Piece{MuRel: 1000, SigmaSPerM: 2e6}
	for _, sheetM := range []float64{0.05e-3, 0.35e-3, 2e-3, 20e-3} {
		c.SheetM = sheetM
		m := mediumOf(c, 1000, false)
		if m.conducts || !m.iron {
			t.Fatal("a sheet is iron and carries no current along z")
		}
		delta := 1 / math.Sqrt(math.Pi*1000*mu0*1000*2e6)
		k := complex(1/delta, 1/delta)
		var mean complex128
		const n = 20000
		for i := range n {
			y := (float64(i)+0.5)/n*sheetM - sheetM/2
			// cosh(ky)/cosh(kd/2) by exponentials that stay small.
			a := complex(math.Abs(y)-sheetM/2, 0)
			mean += cmplx.Exp(k*a) * (1 + cmplx.Exp(-2*k*complex(math.Abs(y), 0))) / (1 + cmplx.Exp(-k*complex(sheetM, 0))) / n
		}
		if got := 1 / m.nu / 1000; cmplx.Abs(got-mean) > 1e-4*cmplx.Abs(mean) {
			t.Errorf("sheet %g mm: μ/μ_dc = %g, want %g", sheetM*1e3, got, mean)
		}
		if imag(m.nu) < 0 {
			t.Errorf("sheet %g mm gains energy: ν = %g", sheetM*1e3, m.nu)
		}
	}
}

// A shield of thin sheets does at frequency what it does at direct current, a solid
// one does not.
func TestSheetShield(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel, p.Pieces[1].SigmaSPerM = 1000, 2e6
	value := func(freq, sheetM float64) complex128 {
		p.Pieces[1].SheetM = sheetM
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, _ := s.B(p.Sensors[0], 0)
		return bx
	}
	ideal := complex(-52.9822e-6, 1.5519e-6) // computed-references.yaml, u_shield, 1 kHz
	thin, thick, solid := value(1000, 0.02e-3), value(1000, 1e-3), value(1000, 0)
	if cmplx.Abs(thin-ideal) > 1e-3*cmplx.Abs(ideal) {
		t.Errorf("thin sheets %g, ideal %g", thin, ideal)
	}
	if !(cmplx.Abs(thick-ideal) > 5*cmplx.Abs(thin-ideal) && cmplx.Abs(solid-ideal) > cmplx.Abs(thick-ideal)) {
		t.Errorf("thick sheets %g, solid %g, ideal %g", thick, solid, ideal)
	}
}

// Without iron and at direct current nothing is discretised.
func TestBareIsExact(t *testing.T) {
	p := &Problem{Pieces: []Piece{mmBar(10, 2, 0, 0)}, Sensors: []geom.Point{{Y: 3e-3}}}
	s, err := Solve(p, 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// rectangular_bar_infinite, case 10x2 mm, 100 A, analytic-cases.yaml.
	bx, _, e := s.B(p.Sensors[0], 0)
	if s.Unknowns != 0 || math.Abs(real(bx)*1e5+4.138664461) > 1e-9 || e > 1e-15 {
		t.Errorf("%g ± %g with %d unknowns", bx, e, s.Unknowns)
	}
}
