package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/internal/check"
)

// The bound against a mesh ten times finer, at random places in and about the bar
// (seed fixed). Also what the default certainty is worth.
func TestBoundHolds(t *testing.T) {
	drawings := []Drawing{
		bar(20, 3, -50, 50, neck(0, 10, 8)),
		bar(20, 1, -50, 50, neck(0, 2, 4)),
		bar(30, 5, -80, 80, notch(0, 8, 20, 1), notch(12, 6, 18, -1)),
		bar(20, 3, -60, 60, hole(5, 0, 6), slot(-4, 10, 3, 14)),
		bar(14, 3, -60, 60, slot(0, 0, 3, 20)),
	}
	if testing.Short() {
		drawings = drawings[:2]
	}
	rng := rand.New(rand.NewPCG(7, 1))
	for k, d := range drawings {
		fine := solve(t, d, Options{Certainty: 6e-5, MaxTriangles: 9000})
		for _, certainty := range []float64{2e-2, 1e-3} {
			f := solve(t, d, Options{Certainty: certainty})
			worst, beside := 0.0, 0.0
			for range 60 {
				p := geom.Point3{X: d.WidthM * (1.6*rng.Float64() - 0.8), Y: d.ThicknessM * (3*rng.Float64() - 1.5), Z: d.WidthM * (2*rng.Float64() - 1)}
				b, e := f.B(p)
				w, we := fine.B(p)
				ratio := (b.Sub(w).Norm() - we) / e
				worst = max(worst, ratio)
				if math.Abs(p.Y) > 1.4*d.ThicknessM {
					beside = max(beside, e/b.Norm())
				}
			}
			a, ea := f.Squares()
			s, es := fine.Squares()
			t.Logf("drawing %d, certainty %g: %d triangles, error/bound %.2f, bound a thickness away %.1e; squares %.5f ± %.5f, fine ± %.6f",
				k, certainty, f.Triangles, worst, beside, a, ea, es)
			if worst > 1 {
				t.Errorf("drawing %d: error %g times the bound", k, worst)
			}
			if beside > 1.5*certainty {
				t.Errorf("drawing %d: bound %g of the field at certainty %g", k, beside, certainty)
			}
			if math.Abs(a-s) > ea+es {
				t.Errorf("drawing %d: squares %g ± %g and %g ± %g", k, a, ea, s, es)
			}
		}
	}
}

// Order of convergence. At a corner of 270° the flow is as ρ^(−1/3), so the distance of
// the two energies falls as h^(4/3) on meshes refined evenly (G. Strang, G. J. Fix, An
// Analysis of the Finite Element Method, chapter 8; from memory) and, as for a
// smooth flow with quadratic elements, as N^(−2) on those refined where the error is.
func TestOrder(t *testing.T) {
	p, _ := elbow(1, 0.1, 2, math.Pi/2)
	var h, gap []float64
	for levels := 1; levels <= 3; levels++ {
		f, err := SolvePlan(p, Options{uniform: true, levels: levels})
		if err != nil {
			t.Fatal(err)
		}
		h, gap = append(h, 1/math.Sqrt(float64(f.Triangles))), append(gap, f.upper-f.lower)
	}
	t.Logf("even: %v, orders %v", gap, check.Orders(h, gap))
	if !check.IsOrder(h, gap, 4.0/3, 0.25) {
		t.Errorf("orders %v, want 4/3", check.Orders(h, gap))
	}
	h, gap = nil, nil
	for _, c := range []float64{3e-4, 3e-5, 3e-6} {
		f, err := SolvePlan(p, Options{Certainty: c, MaxTriangles: 40_000})
		if err != nil {
			t.Fatal(err)
		}
		h, gap = append(h, 1/math.Sqrt(float64(f.Triangles))), append(gap, f.upper-f.lower)
	}
	t.Logf("adapted: %v, orders %v", gap, check.Orders(h, gap))
	if !check.IsOrder(h, gap, 4, 0.6) {
		t.Errorf("orders %v, want 4", check.Orders(h, gap))
	}
}
