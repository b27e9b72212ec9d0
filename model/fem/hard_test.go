package fem

import (
	"errors"
	"math"
	"testing"
	"time"

	"busgauss/model/geom"
)

// A 0.05 mm insulation between a 2 mm bar and a steel plate, direct and alternating.
func TestThinGap(t *testing.T) {
	for _, freq := range []float64{0, 1000} {
		p := &Problem{Pieces: []Piece{
			mmBar(20, 2, 0, 1.05),
			{Name: "plate", MuRel: 500, SigmaSPerM: 4e6, Region: mmPoly(-20, -2, 20, -2, 20, 0, -20, 0)},
		}, Sensors: []geom.Point{{Y: 6e-3}}}
		t0 := time.Now()
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, by, e := s.B(p.Sensors[0], 0)
		t.Logf("%g Hz: %d unknowns, %d meshes, %v: %.5g %.5g ± %.1e", freq, s.Unknowns, s.Levels, time.Since(t0), bx, by, e/cabs(bx))
		if !(e <= 0.005*cabs(bx)) {
			t.Errorf("%g Hz: bound %g of %g", freq, e, bx)
		}
	}
}

// Two hundred bars over a plate: an answer within the ceiling, or TooLarge with the
// size needed; never a crash.
func TestManyBars(t *testing.T) {
	p := &Problem{Pieces: []Piece{{Name: "plate", MuRel: 1000, Region: mmPoly(-260, -20, 260, -20, 260, -18, -260, -18)}}}
	for k := range 200 {
		p.Pieces = append(p.Pieces, mmBar(15, 3, float64(k%20)*25-240, float64(k/20)*12))
	}
	p.Sensors = []geom.Point{{X: 10e-3, Y: -6e-3}, {X: 11e-3, Y: 18e-3}}
	for _, freq := range []float64{0, 1000} {
		t0 := time.Now()
		s, err := Solve(p, freq, Options{})
		var large *TooLarge
		switch {
		case errors.As(err, &large):
			t.Logf("%g Hz: %v", freq, err)
			if large.NeededUnknowns == 0 {
				t.Error("TooLarge without the size needed")
			}
		case err != nil:
			t.Error(err)
		default:
			bx, by, e := s.B(p.Sensors[0], 7)
			t.Logf("%g Hz: %d unknowns, %v: %g %g ± %g", freq, s.Unknowns, time.Since(t0), bx, by, e)
		}
	}
}

// Sizes a million apart: a wire of 2 µm beside a plate of 2 m.
func TestSizeRatio(t *testing.T) {
	p := &Problem{Pieces: []Piece{
		{Name: "wire", IsBar: true, SigmaSPerM: 58e6, Round: &Round{Centre: geom.Point{Y: 10e-3}, OuterM: 1e-6}},
		{Name: "plate", MuRel: 1000, Region: rect(-1, -10e-3, 1, 0)},
	}, Sensors: []geom.Point{{Y: 5e-3}}}
	for _, freq := range []float64{0, 1000} {
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, e := s.B(p.Sensors[0], 0)
		// Image law for a half space (line_current_over_permeable_half_space); the plate
		// is one height thick.
		want := mu0 / (2 * math.Pi) * (1/5e-3 - (999.0/1001)/15e-3)
		t.Logf("%g Hz: %d unknowns: %g, half space %g, ± %g", freq, s.Unknowns, bx, want, e)
		if !(e <= 0.005*cabs(bx)) || math.Abs(real(bx)/want-1) > 0.01 {
			t.Errorf("%g ± %g, half space %g", bx, e, want)
		}
	}
}

func TestBadInput(t *testing.T) {
	shield := Piece{Name: "K", MuRel: 100, Region: mmPoly(-20, -2, 20, -2, 20, 0, -20, 0)}
	for _, c := range []struct {
		name string
		p    Problem
		freq float64
	}{
		{"gigahertz", Problem{Pieces: []Piece{mmBar(10, 2, 0, 5), shield}}, 1e9},
		{"negative frequency", Problem{Pieces: []Piece{shield}}, -1},
		{"frequency not a number", Problem{Pieces: []Piece{shield}}, math.NaN()},
		{"shield crosses bar", Problem{Pieces: []Piece{mmBar(10, 2, 0, 0.5), shield}}, 1000},
		{"permeability below one", Problem{Pieces: []Piece{{Name: "K", MuRel: 0.5, Region: shield.Region}}}, 0},
		{"permeability not a number", Problem{Pieces: []Piece{{Name: "K", MuRel: math.NaN(), Region: shield.Region}}}, 0},
		{"negative conductivity", Problem{Pieces: []Piece{{Name: "K", MuRel: 2, SigmaSPerM: -1, Region: shield.Region}}}, 0},
		{"no area", Problem{Pieces: []Piece{{Name: "K", MuRel: 2}}}, 0},
		{"bonded twice", Problem{Pieces: []Piece{mmBar(10, 2, 0, 5)}, Bonded: [][]int{{0}, {0}}}, 0},
		{"sensor nowhere", Problem{Pieces: []Piece{shield}, Sensors: []geom.Point{{X: math.NaN()}}}, 0},
	} {
		_, err := Solve(&c.p, c.freq, Options{})
		var bad *InputError
		if !errors.As(err, &bad) {
			t.Errorf("%s: %v", c.name, err)
		}
		t.Log(err)
	}
	var large *TooLarge
	if _, err := Solve(three(), 0, Options{MaxUnknowns: 500}); !errors.As(err, &large) || large.NeededUnknowns < 500 {
		t.Errorf("ceiling on unknowns: %v", err)
	}
	if _, err := Solve(three(), 0, Options{MaxBytes: 1 << 16}); !errors.As(err, &large) || large.NeededBytes < 1<<16 {
		t.Errorf("ceiling on memory: %v", err)
	}
}

// Pieces that touch: a bar lying on a shield, a round filling a ring, two shields end
// to end. Merging two equal shields changes nothing.
func TestTouching(t *testing.T) {
	bar := mmBar(10, 2, 0, 5)
	whole := &Problem{Pieces: []Piece{bar, {Name: "K", MuRel: 500, Region: mmPoly(-20, -2, 20, -2, 20, 0, -20, 0)}}, Sensors: []geom.Point{{Y: 10e-3}}}
	halves := &Problem{Pieces: []Piece{bar, {Name: "L", MuRel: 500, Region: mmPoly(-20, -2, 0, -2, 0, 0, -20, 0)},
		{Name: "R", MuRel: 500, Region: mmPoly(0, -2, 20, -2, 20, 0, 0, 0)}}, Sensors: whole.Sensors}
	a, err := Solve(whole, 0, Options{Certainty: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Solve(halves, 0, Options{Certainty: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	x, _, e1 := a.B(whole.Sensors[0], 0)
	y, _, e2 := b.B(whole.Sensors[0], 0)
	if !(cabs(x-y) <= e1+e2) {
		t.Errorf("whole %g ± %g, halves %g ± %g", x, e1, y, e2)
	}
	// Different materials end to end, against the same with a gap that closes.
	halves.Pieces[2].MuRel = 5
	if b, err = Solve(halves, 0, Options{Certainty: 0.001}); err != nil {
		t.Fatal(err)
	}
	y, _, e2 = b.B(whole.Sensors[0], 0)
	halves.Pieces[2].Region = mmPoly(0.0005, -2, 20, -2, 20, 0, 0.0005, 0)
	c, err := Solve(halves, 0, Options{Certainty: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	z, _, e3 := c.B(whole.Sensors[0], 0)
	t.Logf("touching %g, 0.5 µm apart %g", y, z)
	if !(cabs(y-z) <= e2+e3+1e-4*cabs(y)) {
		t.Errorf("touching %g ± %g, 0.5 µm apart %g ± %g", y, e2, z, e3)
	}
	onShield := &Problem{Pieces: []Piece{mmBar(10, 2, 0, 1), {Name: "K", MuRel: 500, SigmaSPerM: 4e6, Region: mmPoly(-20, -2, 20, -2, 20, 0, -20, 0)}}, Sensors: whole.Sensors}
	if _, err := Solve(onShield, 400, Options{}); err != nil {
		t.Error(err)
	}
	filled := &Problem{Pieces: []Piece{
		{Name: "core", MuRel: 30, SigmaSPerM: 1.6e6, Round: &Round{OuterM: 20e-3}},
		{Name: "sleeve", SigmaSPerM: 3.72e7, Round: &Round{OuterM: 30e-3, InnerM: 20e-3}}}, Sensors: []geom.Point{{X: 40e-3}}}
	if _, err := Solve(filled, 60, Options{}); err != nil {
		t.Error(err)
	}
}

// B inside pieces: continuous normal component of B across a face of iron.
func TestInside(t *testing.T) {
	p := &Problem{Pieces: []Piece{mmBar(10, 2, 0, 5), {Name: "K", MuRel: 50, Region: mmPoly(-20, -4, 20, -4, 20, 0, -20, 0)}}, Sensors: []geom.Point{{Y: 10e-3}}}
	s, err := Solve(p, 0, Options{Certainty: 0.0005})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{3e-3, 8e-3} {
		_, below, e1 := s.B(geom.Point{X: x, Y: -1e-5}, 0)
		_, above, e2 := s.B(geom.Point{X: x, Y: 1e-5}, 0)
		t.Logf("x = %g: below %g ± %.1e, above %g ± %.1e", x, below, e1, above, e2)
		if !(cabs(below-above) <= 0.02*cabs(above)) {
			t.Errorf("normal component below %g, above %g", below, above)
		}
	}
}
