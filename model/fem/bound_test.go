package fem

import (
	"flag"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
)

// randomProblem returns one or two bars beside shields of mixed shapes, turned by
// any angle, without overlap by construction: each has a cell of its own.
func randomProblem(rng *rand.Rand) *Problem {
	p := &Problem{}
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	bars := 1 + rng.IntN(2)
	for k := range bars {
		w, h := between(5, 20), between(2, 5)
		at := geom.Point{X: 50e-3 * float64(k), Y: 0}
		turn := between(-0.5, 0.5)
		p.Pieces = append(p.Pieces, Piece{Name: "bar", IsBar: true, SigmaSPerM: between(15e6, 58e6),
			Region: geom.Solid(geom.Rectangle(w/1e3, h/1e3).Place(at, turn))})
		mu := math.Exp(between(0, math.Log(5000)))
		sigma := between(1e6, 30e6)
		switch rng.IntN(3) {
		case 0:
			p.Pieces = append(p.Pieces, Piece{Name: "U", MuRel: mu, SigmaSPerM: sigma,
				Region: geom.Solid(geom.Channel(25e-3, between(10, 18)/1e3, between(1, 2.5)/1e3).Place(at.Add(geom.Point{Y: -9e-3}), 0))})
		case 1:
			p.Pieces = append(p.Pieces, Piece{Name: "plate", MuRel: mu, SigmaSPerM: sigma,
				Region: geom.Solid(geom.Rectangle(30e-3, between(1, 3)/1e3).Place(at.Add(geom.Point{Y: -14e-3}), between(-0.2, 0.2)))})
		default:
			p.Pieces = append(p.Pieces, Piece{Name: "ring", MuRel: mu, SigmaSPerM: sigma,
				Round: &Round{Centre: at, OuterM: 19e-3, InnerM: 17e-3}})
		}
	}
	p.Sensors = []geom.Point{{X: between(-6, 6) / 1e3, Y: 11e-3}, {X: 24e-3, Y: between(5, 15) / 1e3}}
	return p
}

var long = flag.Bool("long", false, "run cases of minutes too")

// The bound is not smaller than the true error, and not idle: over random layouts the
// default solution is compared with one ten times finer. Seeds are printed by the
// failing case.
func TestBoundHolds(t *testing.T) {
	cases := 5
	if *long {
		cases = 14
	}
	worst, looser, n := 0.0, 0.0, 0
	for seed := range uint64(cases) {
		rng := rand.New(rand.NewPCG(7, seed))
		p := randomProblem(rng)
		freq := []float64{0, 50, 1000, 8000}[rng.IntN(4)]
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		fine, err := Solve(p, freq, Options{Certainty: 0.0003, MaxUnknowns: 60000})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		for i, q := range p.Sensors {
			for src := range len(s.srcs) {
				ax, ay, e := s.field(q, src)
				bx, by, f := fine.field(q, src)
				diff := math.Hypot(cmplx.Abs(ax-bx), cmplx.Abs(ay-by))
				n++
				worst = math.Max(worst, diff/(e+f))
				looser += e / (diff + 1e-7*math.Hypot(cmplx.Abs(bx), cmplx.Abs(by)))
				if !(diff <= e+f) {
					t.Errorf("seed %d, %g Hz, sensor %d, source %d: difference %.2e, bounds %.2e and %.2e of the field", seed, freq, i, src,
						diff/cmplx.Abs(bx+by), e/cmplx.Abs(bx+by), f/cmplx.Abs(bx+by))
				}
			}
		}
		if _, shields := p.bars(); len(shields) > 0 {
			currents := make([]complex128, len(s.bars))
			currents[0] = 100
			a, _ := s.Wall(0, currents)
			b, _ := fine.Wall(0, currents)
			aRmsT, aBoundT := a.Rms()
			bRmsT, bBoundT := b.Rms()
			t.Logf("seed %d, %g Hz: %d and %d unknowns; wall %.4g ± %.1e (%.1e), rms %.4g ± %.1e (%.1e)", seed, freq, s.Unknowns, fine.Unknowns,
				a.PeakT, a.PeakBoundT/a.PeakT, a.PeakT/b.PeakT-1, aRmsT, aBoundT/aRmsT, aRmsT/bRmsT-1)
			if !(math.Abs(a.PeakT-b.PeakT) <= a.PeakBoundT+b.PeakBoundT) {
				t.Errorf("seed %d, %g Hz: wall %g ± %g, finer %g ± %g", seed, freq, a.PeakT, a.PeakBoundT, b.PeakT, b.PeakBoundT)
			}
			if !(math.Abs(aRmsT-bRmsT) <= aBoundT+bBoundT) {
				t.Errorf("seed %d, %g Hz: rms %g ± %g, finer %g ± %g", seed, freq, aRmsT, aBoundT, bRmsT, bBoundT)
			}
		}
	}
	t.Logf("largest difference over bounds %.2f, bound over difference on average %.1f, %d values", worst, looser/float64(n), n)
}
