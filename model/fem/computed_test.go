package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// refShield is the bar in its U of fixtures/reference/computed-references.yaml, u_shield.
func refShield() *Problem {
	return &Problem{Pieces: []Piece{
		{Name: "bar", IsBar: true, SigmaSPerM: 58e6, Region: mmPoly(-8, 4.5, 8, 4.5, 8, 7.5, -8, 7.5)},
		{Name: "U", Region: mmPoly(-13.5, 0, 13.5, 0, 13.5, 20, 12, 20, 12, 1.5, -12, 1.5, -12, 20, -13.5, 20)},
	}, Sensors: []geom.Point{{Y: 11e-3}}}
}

// u_shield, linear: two independent methods; tolerance of each row and ours.
func TestShieldLinear(t *testing.T) {
	rows := referenceRows(t, "computed-references.yaml", "u_shield", "rows:")
	for _, r := range rows {
		if len(r) != 6 {
			continue
		}
		p := refShield()
		p.Pieces[1].MuRel = r[0]
		s, err := Solve(p, 0, Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, e := s.B(p.Sensors[0], 0)
		near(t, "own field", bx*1e6, complex(r[1], 0), 0.002, e*1e6+r[2])
		ux, _, e := s.Uniform(p.Sensors[0], 0)
		near(t, "stray factor x", ux, complex(r[3], 0), 0.005, e+r[5]*r[3])
		_, uy, e := s.Uniform(p.Sensors[0], 1)
		near(t, "stray factor y", uy, complex(r[4], 0), 0.005, e+r[5]*r[4])
	}
}

// u_shield, saturating. The reference ends at 0.4 m with the potential of a line
// current, worth up to 1.5e-4 by its own account; here its last digits differ by
// up to 4e-4 of what three of our meshes agree on.
func TestShieldSaturating(t *testing.T) {
	p := steelShield(t)
	z, err := NewSaturating(p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range referenceRows(t, "computed-references.yaml", "u_shield", "nonlinear_team13_steel") {
		if len(r) != 4 {
			continue
		}
		n++
		f, err := z.Solve([]float64{r[0]}, [2]float64{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, e := f.B(p.Sensors[0])
		near(t, "own field", complex(bx*1e3, 0), complex(r[1], 0), 0.002, e*1e3+5e-4*math.Abs(r[1]))
		w, err := f.Wall(0)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%g A: %d unknowns, %d meshes, %d steps", r[0], f.Unknowns, f.Levels, f.Steps)
		// The middle of the base carries the most.
		near(t, "base", complex(w.PeakT, 0), complex(r[3], 0), 0.003, w.PeakBoundT+1e-3*r[3])
	}
	if n != 12 {
		t.Errorf("%d rows", n)
	}
}

// u_shield with eddy currents: solid iron without net current, and ideal sheet.
func TestShieldAlternating(t *testing.T) {
	n := 0
	for _, r := range referenceRows(t, "computed-references.yaml", "u_shield", "time_harmonic_mur1000") {
		if len(r) != 11 {
			continue
		}
		n++
		tol := 1e-4 // of the reference
		if r[0] >= 5000 {
			tol = 5e-4
		}
		if r[0] >= 10000 {
			tol = 2e-3
		}
		p := refShield()
		p.Pieces[1].MuRel = 1000
		s, err := Solve(p, r[0], Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, e := s.B(p.Sensors[0], 0)
		near(t, "ideal sheet, own field", bx*1e6, complex(r[4], r[5]), 0.002, e*1e6+tol*math.Abs(r[4]))
		ratio(t, "ideal sheet, resistance", s.Resistance(0).TotalRatio, r[6], 0.003)
		p.Pieces[1].SigmaSPerM = 2e6
		if s, err = Solve(p, r[0], Options{}); err != nil {
			t.Fatal(err)
		}
		t.Logf("%g Hz: %d unknowns", r[0], s.Unknowns)
		bx, _, e = s.B(p.Sensors[0], 0)
		near(t, "solid, own field", bx*1e6, complex(r[1], r[2]), 0.002, e*1e6+tol*math.Abs(r[1]))
		ratio(t, "solid, resistance", s.Resistance(0).TotalRatio, r[3], 0.003)
		ux, _, e := s.Uniform(p.Sensors[0], 0)
		near(t, "solid, stray x", ux, complex(r[7], r[8]), 0.005, e+5*tol*cmplx.Abs(complex(r[7], r[8])))
		_, uy, e := s.Uniform(p.Sensors[0], 1)
		near(t, "solid, stray y", uy, complex(r[9], r[10]), 0.005, e+5*tol*cmplx.Abs(complex(r[9], r[10])))
	}
	if n != 6 {
		t.Errorf("%d rows", n)
	}
}

func ratio(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	t.Logf("%s: %.6g, want %.6g (%.1e)", what, got, want, got/want-1)
	if !(math.Abs(got-want) <= tol*want) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, tol*want)
	}
}

func mmBar(w, h, x, y float64) Piece {
	return Piece{Name: "bar", IsBar: true, SigmaSPerM: 58e6, Region: mmPoly(x-w/2, y-h/2, x+w/2, y-h/2, x+w/2, y+h/2, x-w/2, y+h/2)}
}

// bar_ac_resistance and bar_field_versus_frequency, neighbours: integral equation.
func TestBarsAlternating(t *testing.T) {
	n := 0
	for _, r := range dashRows(t, "bar_ac_resistance") {
		n++
		p := &Problem{Pieces: []Piece{mmBar(r[0], r[1], 0, 0)}, Sensors: []geom.Point{{Y: (r[1]/2 + 3) / 1e3}}}
		s, err := Solve(p, r[2], Options{})
		if err != nil {
			t.Fatal(err)
		}
		z := s.Resistance(0)
		ratio(t, "R_ac/R_dc", z.TotalRatio, r[3], 0.003)
		ratio(t, "its own loss", z.OwnRatio, r[3], 0.003)
	}
	if n != 24 {
		t.Errorf("%d rows of resistance", n)
	}
	n = 0
	for _, r := range dashRows(t, "bar_field_versus_frequency") {
		n++
		p := &Problem{Pieces: []Piece{mmBar(20, 3, 0, 0)}, Sensors: []geom.Point{{X: r[1] / 1e3, Y: r[2] / 1e3}}}
		s, err := Solve(p, r[0], Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, e := s.B(p.Sensors[0], 0)
		vector(t, "field beside a bar", bx, by, complex(r[3], r[4]), complex(r[5], r[6]), e, 3e-4)
	}
	if n != 13 {
		t.Errorf("%d rows of fields", n)
	}
	for _, r := range referenceRows(t, "computed-references.yaml", "eddy_currents_in_neighbour_bar", "rows") {
		if len(r) != 5 {
			continue
		}
		p := &Problem{Pieces: []Piece{mmBar(20, 3, 0, 0), mmBar(20, 3, 40, 0)}, Sensors: []geom.Point{{X: 40e-3, Y: 5.5e-3}}}
		s, err := Solve(p, r[0], Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, e := s.B(p.Sensors[0], 0)
		vector(t, "field over an idle neighbour", bx, by, complex(r[1], r[2]), complex(r[3], r[4]), e, 3e-4)
	}
	// bar_pair_ac_resistance: each bar's share with both carrying current.
	for _, c := range []struct {
		a, b   Piece
		sign   float64
		ratios map[float64]float64
	}{
		{mmBar(10, 2, -10, 0), mmBar(10, 2, 10, 0), -1, map[float64]float64{50: 1.00030, 1000: 1.0910, 10000: 2.070}},
		{mmBar(20, 2, 0, 2), mmBar(20, 2, 0, -2), -1, map[float64]float64{50: 1.00014, 1000: 1.0509, 10000: 2.338}},
		{mmBar(20, 2, 0, 2), mmBar(20, 2, 0, -2), 1, map[float64]float64{50: 1.00215, 1000: 1.3526, 10000: 3.368}},
	} {
		for _, f := range []float64{50, 1000, 10000} {
			s, err := Solve(&Problem{Pieces: []Piece{c.a, c.b}, Sensors: []geom.Point{{Y: 10e-3}}}, f, Options{})
			if err != nil {
				t.Fatal(err)
			}
			loss := s.LossesWPerM([]complex128{1, complex(c.sign, 0)})
			ratio(t, "pair", 2*loss[0]/s.Resistance(0).DCOhmPerM, c.ratios[f], 0.003)
		}
	}
}

func vector(t *testing.T, what string, bx, by, wx, wy complex128, bound, tol float64) {
	t.Helper()
	bx, by, bound = bx*1e6, by*1e6, bound*1e6
	size := math.Hypot(cmplx.Abs(wx), cmplx.Abs(wy))
	diff := math.Hypot(cmplx.Abs(bx-wx), cmplx.Abs(by-wy))
	t.Logf("%s: difference %.1e, bound %.1e", what, diff/size, bound/size)
	if !(diff <= 0.002*size) {
		t.Errorf("%s: (%g, %g), want (%g, %g)", what, bx, by, wx, wy)
	}
	if !(diff <= bound+tol*size) {
		t.Errorf("%s: bound %.1e, difference %.1e", what, bound/size, diff/size)
	}
}

// dashRows returns the rows of a block of computed-references.yaml without the
// numbers given elsewhere in it.
func dashRows(t *testing.T, key string) [][]float64 {
	t.Helper()
	return referenceRows(t, "computed-references.yaml", key, "rows:")
}
