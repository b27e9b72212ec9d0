package fem

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/sparse"
)

// Over random arrangements the bound that a place takes from the sensor near it is never smaller than that of its own
// adjoint solution, and the value is the same; a place beyond the reach has its own.
func TestNear(t *testing.T) {
	tightest, n := math.Inf(1), 0
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(11, seed))
		p := randomProblem(rng)
		p.Sensors = append(p.Sensors, geom.Point{X: (rng.Float64() - 0.5) * 12e-3, Y: 4e-3 + rng.Float64()*8e-3})
		s, err := Solve(p, []float64{0, 50, 1000, 8000}[rng.IntN(4)], Options{})
		if err != nil {
			t.Fatal(err)
		}
		switch l := s.engine.(type) {
		case *linear[float64]:
			leastOverOwn(t, l, rng, &tightest, &n)
		case *linear[complex128]:
			leastOverOwn(t, l, rng, &tightest, &n)
		}
	}
	t.Logf("least bound over that of a place's own: %.3f of %d", tightest, n)
	if n < 300 {
		t.Errorf("only %d bounds compared", n)
	}
}

func leastOverOwn[T sparse.Scalar](t *testing.T, l *linear[T], rng *rand.Rand, tightest *float64, n *int) {
	for i, c := range l.p.Sensors {
		if l.s.g.d.pieceAt(c) >= 0 {
			continue
		}
		for range 6 {
			f, w := 1.2*nearShare*rng.Float64(), 2*math.Pi*rng.Float64()
			q := c.Add(geom.Point{X: math.Cos(w), Y: math.Sin(w)}.Scale(f * l.clearM[i]))
			got, own := l.at(q), l.value(q, l.duals([]geom.Point{q})[0])
			for j := range got.bound {
				if got.bx[j] != own.bx[j] || got.by[j] != own.by[j] {
					t.Fatalf("the value at %v is %v, %v near a sensor, %v, %v alone", q, got.bx[j], got.by[j], own.bx[j], own.by[j])
				}
				ratio := got.bound[j] / own.bound[j]
				if f > nearShare {
					if _, _, near := l.near(q); !near && ratio != 1 {
						t.Errorf("beyond the reach the bound is %g times its own", ratio)
					}
					continue
				}
				*n++
				*tightest = math.Min(*tightest, ratio)
				if !(ratio >= 1) {
					t.Errorf("at %.2f of the distance to iron the bound is %.3f of its own", f, ratio)
				}
			}
		}
	}
}
