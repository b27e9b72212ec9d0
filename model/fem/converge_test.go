package fem

import (
	"errors"
	"math"
	"testing"

	"busgauss/model/material"
)

// Newton that may not take the steps it needs says so and hands over its best state,
// whose bound is wider than what is missing.
func TestNotConverged(t *testing.T) {
	p := steelShield(t)
	full, err := SolveSaturating(p, []float64{3000}, [2]float64{}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want, _, _ := full.B(p.Sensors[0])
	_, err = SolveSaturating(p, []float64{3000}, [2]float64{}, Options{MaxSteps: 8})
	var stuck *NotConverged
	if !errors.As(err, &stuck) || stuck.Best == nil || !(stuck.Decrement > stuck.Tolerance) {
		t.Fatalf("few steps: %v", err)
	}
	got, _, bound := stuck.Best.B(p.Sensors[0])
	t.Logf("%v; %g ± %g T, want %g", err, got, bound, want)
	if !(math.Abs(got-want) <= bound) {
		t.Errorf("best state %g ± %g, converged %g", got, bound, want)
	}
}

// The three instants of a three-phase fault, warm started, equal those solved one by
// one; and small currents superpose where large ones do not.
func TestInstants(t *testing.T) {
	curve, err := material.SaturationCurve(2000, 1.6)
	if err != nil {
		t.Fatal(err)
	}
	p := three()
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			p.Pieces[i].Curve, p.Pieces[i].MuRel = curve, 0
		}
	}
	z, err := NewSaturating(p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, deg := range []float64{0, 25, 70} {
		i := func(lag float64) float64 { return 3000 * math.Cos((deg-lag)*math.Pi/180) }
		currents := []float64{i(0), i(120), i(240)}
		warm, err := z.Solve(currents, [2]float64{})
		if err != nil {
			t.Fatal(err)
		}
		cold, err := SolveSaturating(p, currents, [2]float64{}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range p.Sensors {
			a, b, e := warm.B(q)
			c, d, f := cold.B(q)
			if !(math.Hypot(a-c, b-d) <= e+f) {
				t.Errorf("%g° at %v: warm (%g, %g) ± %g, cold (%g, %g) ± %g", deg, q, a, b, e, c, d, f)
			}
		}
		t.Logf("%g°: %d steps warm, %d cold", deg, warm.Steps, cold.Steps)
	}
	at := func(amperes float64) float64 {
		n, err := z.Solve([]float64{amperes, 0, 0}, [2]float64{})
		if err != nil {
			t.Fatal(err)
		}
		bx, _, _ := n.B(p.Sensors[0])
		return bx / amperes
	}
	if small := at(2) / at(1); math.Abs(small-1) > 1e-4 {
		t.Errorf("small currents do not superpose: %g", small)
	}
	if large := at(6000) / at(1); !(large < 0.9) {
		t.Errorf("6 kA leave the sensitivity at %g", large)
	}
	// The small-signal limit is the linear solver's.
	s, err := Solve(p, 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	bx, _, e := s.B(p.Sensors[0], 0)
	if diff := math.Abs(real(bx) - at(1)); diff > e+2e-4*cabs(bx) {
		t.Errorf("linear %g ± %g, small signal %g", bx, e, at(1))
	}
}

// A mesh that may not grow any more serves the next currents as it is: here the memory of its factors is the ceiling,
// which is known once the finer mesh is there.
func TestCeilingLeavesSaturatingAsItWas(t *testing.T) {
	p := steelShield(t)
	stopped := 0
	for bytes := int64(1 << 20); bytes <= 8<<20; bytes = bytes * 3 / 2 {
		z, err := NewSaturating(p, Options{Certainty: 1e-4, MaxBytes: bytes, MaxLevels: 4})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range []float64{3000, 2000, -1000} {
			n, err := z.Solve([]float64{a}, [2]float64{})
			var large *TooLarge
			switch {
			case errors.As(err, &large):
			case err != nil:
				t.Fatalf("%d bytes, %g A: %v", bytes, a, err)
			case n.Levels < 4:
				stopped++
			}
		}
	}
	if stopped < 6 {
		t.Errorf("the ceiling stopped %d solutions", stopped)
	}
}

// steelShield is refShield of built-in steel that saturates.
func steelShield(t *testing.T) *Problem {
	t.Helper()
	steel, _ := material.IronByName("low-carbon-steel")
	curve, err := steel.Curve()
	if err != nil {
		t.Fatal(err)
	}
	p := refShield()
	p.Pieces[1].Curve = curve
	return p
}
