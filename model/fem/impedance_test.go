package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

func mustSolve(t *testing.T, p *Problem, freqHz float64) *Solution {
	t.Helper()
	s, err := Solve(p, freqHz, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// impedances returns the whole matrix.
func impedances(s *Solution) [][]complex128 {
	z := make([][]complex128, len(s.bars))
	for i := range z {
		for j := range s.bars {
			z[i] = append(z[i], s.ImpedanceOhmPerM(i, j))
		}
	}
	return z
}

// withinBound fails where got lies further from want than bound, or where bound is
// wider than share of want.
func withinBound(t *testing.T, what string, got, want complex128, bound, share float64) {
	t.Helper()
	diff := cmplx.Abs(got - want)
	size := cmplx.Abs(want)
	t.Logf("%s: %.6g, want %.6g, difference %.1e of it, bound %.1e", what, got, want, diff/size, bound/size)
	if !(diff <= bound && bound <= share*size) {
		t.Errorf("%s = %g, want %g ± %g", what, got, want, bound)
	}
}

// Round wires of radius a far apart: no proximity, so for currents that sum to zero
//
//	Z_ii − Z_ij = R (1 + x⁴/48) + jω μ0/2π (ln(d/a) + (1 − x⁴/96)/4),   x = a/δ
//	Z_ij − Z_ik = jω μ0/2π ln(d_ik/d_ij)
//
// for small x, that is ln(d/a′) with a′ = a e^{−1/4} at first. Sources: the geometric
// mean distance of a disc, F. W. Grover, Inductance Calculations; the series of the
// internal impedance, S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in
// Communication Electronics (both from memory). At 20 Hz x is 0.34, and the next terms
// of the series are of x⁸, 2e-4, with factors below 1/500. Eddies in the field of a
// wire at d go with x² (a/d)², 2e-5. The tolerance takes both.
func TestImpedanceOfWires(t *testing.T) {
	const a, freqHz, sigma = 5e-3, 20.0, 58e6
	x := []float64{0, 0.4, 1.0}
	p := &Problem{}
	for k := range x {
		p.Pieces = append(p.Pieces, Piece{
			Name: "wire", IsBar: true, SigmaSPerM: sigma, Round: &Round{Centre: geom.Point{X: x[k]}, OuterM: a}})
	}
	s := mustSolve(t, p, freqHz)
	z := impedances(s)
	k := complex(0, 2*math.Pi*freqHz*mu0/(2*math.Pi))
	bound := func(i, j, k int) float64 { return s.ImpedanceBoundOhmPerM(i, j) + s.ImpedanceBoundOhmPerM(i, k) }
	for i := range x {
		for j := range x {
			if i == j {
				continue
			}
			x4 := math.Pow(math.Pi*freqHz*mu0*sigma*a*a, 2)
			r, far := (1+x4/48)/(sigma*math.Pi*a*a), math.Log(math.Abs(x[i]-x[j])/a)
			want := complex(r, 0) + k*complex(far+(1-x4/96)/4, 0)
			withinBound(t, "self less mutual", z[i][i]-z[i][j], want, bound(i, i, j)+2e-5*cmplx.Abs(want), 1e-3)
		}
	}
	want := k * complex(math.Log(x[2]/x[1]), 0)
	withinBound(t, "mutual less mutual", z[0][1]-z[0][2], want, bound(0, 1, 2)+2e-5*cmplx.Abs(want), 1e-3)
}

// The voltage of a bar by another's current is that of the other by its own
// (reciprocity: H. A. Lorentz; see J. D. Jackson, Classical Electrodynamics), with
// idle bars, iron and conducting shields about; and its real part on the diagonal is
// the resistance that the losses give.
func TestImpedanceIsSymmetric(t *testing.T) {
	for _, sigma := range []float64{0, 2e6} {
		p := tight(sigma)
		p.Pieces[0].SigmaSPerM = 35e6
		s := mustSolve(t, p, 1000)
		z := impedances(s)
		for i := range z {
			for j := range i {
				bound := s.ImpedanceBoundOhmPerM(i, j) + s.ImpedanceBoundOhmPerM(j, i)
				withinBound(t, "either way", z[i][j], z[j][i], bound, 0.01)
			}
			r := s.Resistance(i)
			if !(math.Abs(real(z[i][i])-r.TotalOhmPerM) <= 1e-12*r.TotalOhmPerM) {
				t.Errorf("bar %d: real part %g, resistance %g", i, real(z[i][i]), r.TotalOhmPerM)
			}
		}
	}
}

// Bars bonded into one group fall by one voltage: that which their insulated
// impedances give for the shares that make their voltages equal. A third bar
// stands beside.
func TestImpedanceOfBonded(t *testing.T) {
	p := &Problem{Pieces: []Piece{mmBar(60, 10, 0, 0), mmBar(30, 10, 0, 20), mmBar(40, 10, 70, 5)}}
	s := mustSolve(t, p, 1000)
	z := impedances(s)
	joined := *p
	joined.Bonded = [][]int{{0, 1}}
	b := mustSolve(t, &joined, 1000)
	y := impedances(b)
	for i := range y {
		if y[0][i] != y[1][i] || y[i][0] != y[i][1] {
			t.Errorf("bonded bars differ in row or column %d", i)
		}
	}
	bound := 0.0
	for i := range z {
		for j := range z {
			bound = max(bound, s.ImpedanceBoundOhmPerM(i, j))
		}
	}
	for column, given := range []int{0, 2} { // one ampere in the group, or in the bar beside
		sum := complex(float64(1-column), 0)
		// Z00 a + Z01 (sum − a) + e = Z10 a + Z11 (sum − a) + f
		e, f := complex128(0), complex128(0)
		if given == 2 {
			e, f = z[0][2], z[1][2]
		}
		a := ((z[1][1]-z[0][1])*sum + f - e) / (z[0][0] - z[0][1] - z[1][0] + z[1][1])
		group := z[0][0]*a + z[0][1]*(sum-a) + e
		beside := z[2][0]*a + z[2][1]*(sum-a)
		if given == 2 {
			beside += z[2][2]
		}
		// Each voltage sums three entries with shares of a few.
		withinBound(t, "group", group, y[0][given], 4*bound+b.ImpedanceBoundOhmPerM(0, given), 0.01)
		withinBound(t, "beside", beside, y[2][given], 4*bound+b.ImpedanceBoundOhmPerM(2, given), 0.01)
	}
}

func TestImpedanceAtDirectCurrent(t *testing.T) {
	p := &Problem{Pieces: []Piece{mmBar(60, 10, 0, 0), mmBar(30, 10, 0, 20), mmBar(40, 10, 70, 5)},
		Bonded: [][]int{{0, 1}}}
	iron := *p
	iron.Pieces = append(append([]Piece(nil), p.Pieces...), Piece{
		Name: "plate", MuRel: 1000, SigmaSPerM: 2e6, Region: mmPoly(-30, -20, 30, -20, 30, -17, -30, -17)})
	for name, p := range map[string]*Problem{"closed form": p, "iron": &iron} {
		s := mustSolve(t, p, 0)
		group, alone := 1/(58e6*900e-6), 1/(58e6*400e-6)
		for i, row := range [][]float64{{group, group, 0}, {group, group, 0}, {0, 0, alone}} {
			for j, want := range row {
				got := s.ImpedanceOhmPerM(i, j)
				if !(cmplx.Abs(got-complex(want, 0)) <= 1e-12*want) || imag(got) != 0 {
					t.Errorf("%s: entry %d, %d is %g, want %g", name, i, j, got, want)
				}
			}
		}
	}
}

// Sheets on edge carry no current along z, so a bar of them has no voltage.
func TestImpedanceOfSheets(t *testing.T) {
	p := &Problem{Pieces: []Piece{mmBar(60, 10, 0, 0), mmBar(30, 10, 0, 20)}}
	p.Pieces[0].SheetM = 1e-3
	s := mustSolve(t, p, 50)
	if z := s.ImpedanceOhmPerM(0, 1); !cmplx.IsNaN(z) || !math.IsNaN(s.ImpedanceBoundOhmPerM(0, 1)) {
		t.Errorf("sheets: %g", z)
	}
	if z := s.ImpedanceOhmPerM(1, 0); cmplx.IsNaN(z) || !(s.ImpedanceBoundOhmPerM(1, 1) > 0) {
		t.Errorf("solid: %g", z)
	}
}
