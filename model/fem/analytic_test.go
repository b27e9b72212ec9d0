package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/material"
)

func near(t *testing.T, what string, got, want complex128, tol, bound float64) {
	t.Helper()
	diff := cmplx.Abs(got - want)
	t.Logf("%s: %.6g, want %.6g, difference %.1e of it, bound %.1e", what, got, want, diff/cmplx.Abs(want), bound/cmplx.Abs(want))
	if !(diff <= tol*cmplx.Abs(want)) {
		t.Errorf("%s = %g, want %g ± %g", what, got, want, tol*cmplx.Abs(want))
	}
	if !(diff <= bound+3e-6*cmplx.Abs(want)) { // reference digits
		t.Errorf("%s: bound %.2e, difference %.2e", what, bound, diff)
	}
}

// Shielding factor of a shell, exact solution: cylindrical_shell_dc in
// fixtures/reference/analytic-cases.yaml (A. P. Wills 1899). The field inside is
// uniform; a place off the axis is taken.
func TestShellDirect(t *testing.T) {
	few := map[int]bool{1: true, 2: true, 7: true} // of the rows, without -long
	n := 0
	for _, r := range referenceRows(t, "analytic-cases.yaml", "cylindrical_shell_dc", "rows") {
		if len(r) != 4 || n == 8 {
			continue // spheres come last
		}
		n++
		if !*long && !few[n] {
			continue
		}
		p := &Problem{Pieces: []Piece{{Name: "shell", MuRel: r[2], Round: &Round{OuterM: r[1] / 1e3, InnerM: r[0] / 1e3}}},
			Sensors: []geom.Point{{X: 0.3 * r[0] / 1e3, Y: 0.2 * r[0] / 1e3}}}
		s, err := Solve(p, 0, Options{Certainty: 0.005 / uniformSlack})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, bound := s.Uniform(p.Sensors[0], 0)
		near(t, "field inside a shell", bx, complex(1/r[3], 0), 0.005, bound)
		if cmplx.Abs(by) > bound+1e-9 {
			t.Errorf("across: %g, bound %g", by, bound)
		}
	}
	if n != 8 {
		t.Errorf("%d rows", n)
	}
}

// cylindrical_shell_ac: exact Bessel solution.
func TestShellAlternating(t *testing.T) {
	for _, r := range referenceRows(t, "analytic-cases.yaml", "cylindrical_shell_ac", "rows") {
		p := &Problem{Pieces: []Piece{{Name: "shell", SigmaSPerM: r[2], MuRel: r[3], Round: &Round{OuterM: r[1] / 1e3, InnerM: r[0] / 1e3}}},
			Sensors: []geom.Point{{X: 0.3 * r[0] / 1e3, Y: -0.2 * r[0] / 1e3}}}
		s, err := Solve(p, r[4], Options{Certainty: 0.005 / uniformSlack})
		if err != nil {
			t.Fatal(err)
		}
		_, by, bound := s.Uniform(p.Sensors[0], 1)
		near(t, "field inside a shell", by, 1/complex(r[5], r[6]), 0.005, bound)
	}
}

// solid_cylinder_transverse: exact Bessel solution. Outside the field is that of
// the uniform field and a line dipole D a²; on the x axis, B0 along x,
// Bx = B0 (1 + D a²/x²).
func TestCylinderTransverse(t *testing.T) {
	for _, c := range []struct {
		sub          string
		aM, sigma    float64
		mu           float64
		reIdx, imIdx int
	}{{"copper_a10mm_58MS", 0.010, 58e6, 1, 3, 4}, {"steel_a5mm_mur1000_5MS", 0.005, 5e6, 1000, 2, 3}} {
		for _, r := range referenceRows(t, "analytic-cases.yaml", "solid_cylinder_transverse", c.sub) {
			if len(r) < 4 {
				continue
			}
			p := &Problem{Pieces: []Piece{{Name: "cylinder", SigmaSPerM: c.sigma, MuRel: c.mu, Round: &Round{OuterM: c.aM}}},
				Sensors: []geom.Point{{X: 1.5 * c.aM}}}
			s, err := Solve(p, r[0], Options{Certainty: 0.005 / uniformSlack})
			if err != nil {
				t.Fatal(err)
			}
			bx, _, bound := s.Uniform(p.Sensors[0], 0)
			near(t, c.sub, bx, 1+complex(r[c.reIdx], r[c.imIdx])/(1.5*1.5), 0.005, bound)
			if c.mu == 1 && r[0] > 0 && r[0] < 2000 { // on the axis, inside the metal
				x, _, e := s.Uniform(geom.Point{}, 0)
				want := cmplx.Rect(r[1], r[2]*math.Pi/180)
				diff := cmplx.Abs(x - want)
				t.Logf("axis %g: difference %.1e bound %.1e", x, diff, e)
				if !(diff <= 0.005 && diff <= e+3e-6) {
					t.Errorf("%g Hz, on the axis: %g, want %g, bound %g", r[0], x, want, e)
				}
			}
		}
	}
}

// skin-round-wire.csv: exact Bessel solution of R_ac/R_dc, and the field outside
// which does not know of the skin effect.
func TestRoundWireResistance(t *testing.T) {
	const a, sigma = 5e-3, 58e6
	for _, r := range csvRows(t, "skin-round-wire.csv") {
		x := r[0]
		p := &Problem{Pieces: []Piece{{Name: "wire", IsBar: true, SigmaSPerM: sigma, Round: &Round{OuterM: a}}}, Sensors: []geom.Point{{X: 6e-3}}}
		s, err := Solve(p, x*x/(a*a*mu0*sigma)/(2*math.Pi), Options{})
		if err != nil {
			t.Fatal(err)
		}
		z := s.Resistance(0)
		t.Logf("x = %g: R ratio %.6f, want %.6f (%.1e), bound %.1e; own %.6f", x, z.TotalRatio, r[2], z.TotalRatio/r[2]-1, z.RatioBound/r[2], z.OwnRatio)
		if !(math.Abs(z.TotalRatio-r[2]) <= 0.005*r[2] && math.Abs(z.OwnRatio-r[2]) <= 0.005*r[2]) {
			t.Errorf("x = %g: R_ac/R_dc %.6f and %.6f, want %.6f", x, z.TotalRatio, z.OwnRatio, r[2])
		}
		if !(math.Abs(z.TotalRatio-r[2]) <= z.RatioBound+1e-8) {
			t.Errorf("x = %g: bound %g, difference %g", x, z.RatioBound, z.TotalRatio-r[2])
		}
		_, by, bound := s.B(p.Sensors[0], 0)
		near(t, "field outside", by, complex(mu0/(2*math.Pi*6e-3), 0), 1e-4, bound)
	}
}

// line_current_over_permeable_half_space and its conducting twin: the half space is
// a block 800 (80) heights wide and 400 (20) deep. In the conducting one the whole current
// returns, so the block is a bar that carries it.
func TestLineCurrentOverBlock(t *testing.T) {
	const h = 0.010
	wire := Piece{Name: "wire", IsBar: true, SigmaSPerM: 1, Round: &Round{Centre: geom.Point{Y: h}, OuterM: 2e-4}}
	block := Piece{Name: "block", Region: rect(-4, -4, 4, 0)}
	for _, r := range referenceRows(t, "analytic-cases.yaml", "line_current_over_permeable_half_space", "rows") {
		if math.IsInf(r[0], 0) || r[0] == 1 {
			continue
		}
		block.MuRel, block.SigmaSPerM = r[0], 0
		p := &Problem{Pieces: []Piece{wire, block}, Sensors: []geom.Point{{X: r[1] / 1e3, Y: r[2] / 1e3}}}
		s, err := Solve(p, 0, Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, bound := s.B(p.Sensors[0], 0)
		diff := math.Hypot(real(bx)*1e5-r[3], real(by)*1e5-r[4])
		t.Logf("mur %g at (%g, %g): (%.5f, %.5f) mT, want (%.5f, %.5f), bound %.1e", r[0], r[1], r[2], real(bx)*1e5, real(by)*1e5, r[3], r[4], bound*1e5)
		if !(diff <= 0.005*math.Hypot(r[3], r[4])) {
			t.Errorf("mur %g: (%g, %g) mT, want (%g, %g)", r[0], bx*1e5, by*1e5, r[3], r[4])
		}
	}
	n := 0
	for _, r := range referenceRows(t, "analytic-cases.yaml", "line_current_over_conducting_half_space", "rows") {
		if len(r) != 7 || r[0] < 1000 {
			continue // at 50 Hz the currents reach beyond the block
		}
		n++
		block.MuRel, block.SigmaSPerM, block.IsBar, block.Region = 1, 58e6, true, rect(-0.4, -0.2, 0.4, 0)
		p := &Problem{Pieces: []Piece{wire, block}, Sensors: []geom.Point{{X: r[1] / 1e3, Y: r[2] / 1e3}}}
		s, err := Solve(p, r[0], Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, bound := s.B(p.Sensors[0], 0)
		ux, uy, more := s.B(p.Sensors[0], 1)
		bx, by, bound = bx-ux, by-uy, bound+more
		wx, wy := complex(r[3], r[4]), complex(r[5], r[6])
		diff := math.Hypot(cmplx.Abs(bx*1e5-wx), cmplx.Abs(by*1e5-wy))
		t.Logf("%g Hz at (%g, %g): (%.5f, %.5f) mT, want (%.5f, %.5f), bound %.1e; %d unknowns", r[0], r[1], r[2], bx*1e5, by*1e5, wx, wy, bound*1e5, s.Unknowns)
		if !(diff <= 0.005*math.Hypot(cmplx.Abs(wx), cmplx.Abs(wy))) {
			t.Errorf("%g Hz: (%g, %g) mT, want (%g, %g)", r[0], bx*1e5, by*1e5, wx, wy)
		}
	}
	if n < 6 {
		t.Errorf("%d rows of the conducting half space", n)
	}
}

// nonlinear_steel_tube: exact by Ampère's law, curve of TEAM problem 13,
// piecewise linear. The mean over the wall is flux/thickness.
func TestSteelTube(t *testing.T) {
	steel, _ := material.IronByName("low-carbon-steel")
	curve, err := steel.Curve()
	if err != nil {
		t.Fatal(err)
	}
	p := &Problem{Pieces: []Piece{
		{Name: "wire", IsBar: true, SigmaSPerM: 58e6, Round: &Round{OuterM: 2e-3}},
		{Name: "tube", Curve: curve, Round: &Round{OuterM: 12e-3, InnerM: 10e-3}},
	}, Sensors: []geom.Point{{X: 15e-3}, {Y: 6e-3}}}
	for _, r := range referenceRows(t, "analytic-cases.yaml", "nonlinear_steel_tube", "rows") {
		n, err := SolveSaturating(p, []float64{r[0]}, [2]float64{}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		w, err := n.Wall(0)
		if err != nil {
			t.Fatal(err)
		}
		want := r[3] / 2e-3
		t.Logf("%g A: wall %.6f T, want %.6f (%.1e), bound %.1e, %d steps", r[0], w.PeakT, want, w.PeakT/want-1, w.PeakBoundT/want, n.Steps)
		if !(math.Abs(w.PeakT-want) <= 0.005*want) {
			t.Errorf("%g A: mean over the wall %g T, want %g", r[0], w.PeakT, want)
		}
		if !(math.Abs(w.PeakT-want) <= w.PeakBoundT) {
			t.Errorf("%g A: bound %g, difference %g", r[0], w.PeakBoundT, w.PeakT-want)
		}
		// Outside and inside a concentric tube the field is that of the wire alone.
		for _, q := range p.Sensors {
			bx, by, bound := n.B(q)
			b := mu0 * r[0] / (2 * math.Pi * q.Norm())
			if diff := math.Abs(math.Hypot(bx, by) - b); !(diff <= 1e-4*b+bound && bound < 0.005*b) {
				t.Errorf("%g A at %v: %g T, want %g, bound %g", r[0], q, math.Hypot(bx, by), b, bound)
			}
		}
	}
}
