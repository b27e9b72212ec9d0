package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// draw returns one value of the input about its estimate, by the recipes of
// JCGM 101:2008, clauses 6.4.2.4 (rectangular), 6.4.5.4 (triangular), 6.4.6.4
// (arcsine) and 6.4.7.4 (normal); the numbers of the last clauses are from memory.
func draw(s Spread, rng *rand.Rand) float64 {
	switch s.Shape {
	case Normal:
		return s.Half / s.Sigmas * rng.NormFloat64()
	case Rectangular:
		return s.Half * (2*rng.Float64() - 1)
	case Triangular:
		return s.Half * (rng.Float64() - rng.Float64())
	case Arcsine:
		return s.Half * math.Sin(2*math.Pi*rng.Float64())
	}
	panic("no shape")
}

// sample is a Monte Carlo run: standard deviation of the draws, and its own
// standard error s √((κ−1)/4M) from the fourth moment (M. G. Kendall, A. Stuart,
// The Advanced Theory of Statistics, vol. 1, on the standard error of the
// variance).
type sample struct {
	values     []float64
	sd, sdFrom float64
}

func newSample(draws int, one func(rng *rand.Rand) float64) sample {
	const seed = 100
	rng := rand.New(rand.NewPCG(seed, seed))
	s := sample{values: make([]float64, draws)}
	mean := 0.0
	for i := range s.values {
		s.values[i] = one(rng)
		mean += s.values[i] / float64(draws)
	}
	var m2, m4 float64
	for _, v := range s.values {
		d := (v - mean) * (v - mean)
		m2 += d / float64(draws)
		m4 += d * d / float64(draws)
	}
	s.sd = math.Sqrt(m2)
	s.sdFrom = s.sd * math.Sqrt((m4/(m2*m2)-1)/(4*float64(draws)))
	return s
}

// agrees fails where u is not within four standard errors of the sample, and
// where the sample is too coarse to say much. Four are passed by chance once in
// 16 000 runs; the seed is fixed.
func (s sample) agrees(t *testing.T, what string, u float64) {
	t.Helper()
	if !(s.sdFrom < 0.005*s.sd) {
		t.Fatalf("%s: the sample is too small: standard error %g of %g", what, s.sdFrom, s.sd)
	}
	t.Logf("%s: budget %.6g, sample %.6g ± %.2g", what, u, s.sd, s.sdFrom)
	within(t, what, u, s.sd, 4*s.sdFrom)
}

// A mixed budget of six lines, linear, without and with causes of one variable.
func TestMonteCarloMixed(t *testing.T) {
	lines := []Line{
		{Name: "gain", Unit: "1", Spread: Within(0.02), Sensitivity: 400},
		{Name: "offset", Unit: "V", Spread: WithinSigmas(0.012, 3), Sensitivity: -435},
		{Name: "stray", Unit: "A", Spread: Sinusoid(6), Sensitivity: 1},
		{Name: "lateral", Unit: "m", Spread: WithinMostlyMiddle(0.4e-3), Sensitivity: 21e3},
		{Name: "noise", Unit: "A", Spread: Standard(0.8), Sensitivity: 1},
		{Name: "neighbour", Unit: "A", Spread: Sinusoid(4), Sensitivity: 0.7},
	}
	b := Budget{Name: "mixed", Unit: "A", Lines: lines}
	newSample(200_000, func(rng *rand.Rand) float64 {
		y := 0.0
		for _, l := range lines {
			y += l.Sensitivity * draw(l.Spread, rng)
		}
		return y
	}).agrees(t, "independent", b.Evaluate().StandardUncertainty)

	// A board shift moves the sensor and, against it, the neighbour's field;
	// one draw serves both.
	shifted := append(slices.Clone(lines),
		Line{Name: "shift, own", Unit: "m", Spread: WithinMostlyMiddle(0.4e-3), Sensitivity: 21e3, Cause: "board"},
		Line{Name: "shift, stray", Unit: "m", Spread: WithinMostlyMiddle(0.4e-3), Sensitivity: 9e3, Cause: "board", CauseCoefficient: -1})
	shifted = slices.Delete(shifted, 3, 4)
	b = Budget{Name: "shifted", Unit: "A", Lines: shifted}
	newSample(200_000, func(rng *rand.Rand) float64 {
		y := 0.0
		for _, l := range shifted[:5] {
			y += l.Sensitivity * draw(l.Spread, rng)
		}
		return y + (21e3-9e3)*draw(WithinMostlyMiddle(0.4e-3), rng)
	}).agrees(t, "common cause", b.Evaluate().StandardUncertainty)
}

// Normal inputs of partial correlation: a pair, by its Cholesky factor (JCGM
// 101:2008, clause 6.4.8), and three lines that follow one cause in part.
func TestMonteCarloCorrelated(t *testing.T) {
	b := Budget{Name: "pair", Unit: "A", Lines: []Line{
		{Name: "a", Unit: "K", Spread: Standard(2), Sensitivity: 1.5},
		{Name: "b", Unit: "K", Spread: Standard(5), Sensitivity: -0.8},
		{Name: "c", Unit: "K", Spread: Within(3), Sensitivity: 1},
	}, Pairs: []Pair{{"a", "b", 0.6}}}
	newSample(200_000, func(rng *rand.Rand) float64 {
		p, q := rng.NormFloat64(), rng.NormFloat64()
		return 1.5*2*p - 0.8*5*(0.6*p+0.8*q) + draw(Within(3), rng)
	}).agrees(t, "pair", b.Evaluate().StandardUncertainty)

	b = Budget{Name: "partly", Unit: "A", Lines: []Line{
		{Name: "a", Unit: "K", Spread: Standard(2), Sensitivity: 1.5, Cause: "heat", CauseCoefficient: 0.8},
		{Name: "b", Unit: "K", Spread: Standard(5), Sensitivity: -0.8, Cause: "heat", CauseCoefficient: -0.5},
		{Name: "c", Unit: "K", Spread: Standard(3), Sensitivity: 1, Cause: "heat"},
	}}
	newSample(200_000, func(rng *rand.Rand) float64 {
		heat := rng.NormFloat64()
		own := func(r float64) float64 { return r*heat + math.Sqrt(1-r*r)*rng.NormFloat64() }
		return 1.5*2*own(0.8) - 0.8*5*own(-0.5) + 3*heat
	}).agrees(t, "partly one cause", b.Evaluate().StandardUncertainty)
}

// The additive model of JCGM 101:2008, clause 9.2: four inputs of standard
// uncertainty one. Normal inputs reach ±3.92 at 95 % (9.2.2), rectangular ones
// ±3.88 (9.2.3), where the framework of the guide says ±3.92 for both.
func TestMonteCarloAdditiveModel(t *testing.T) {
	for _, c := range []struct {
		name   string
		spread Spread
		half95 float64
	}{{"normal", Standard(1), 3.92}, {"rectangular", Within(math.Sqrt(3)), 3.88}} {
		b := Budget{Name: c.name, Unit: "1"}
		for _, name := range []string{"a", "b", "c", "d"} {
			b.Lines = append(b.Lines, Line{Name: name, Unit: "1", Spread: c.spread, Sensitivity: 1})
		}
		r := b.Evaluate()
		within(t, c.name+" combined", r.StandardUncertainty, 2, 1e-12)
		within(t, c.name+" at 95 %", r.CoverageFactorFor(0.95)*r.StandardUncertainty, 3.92, 0.005)
		s := newSample(400_000, func(rng *rand.Rand) float64 {
			return draw(c.spread, rng) + draw(c.spread, rng) + draw(c.spread, rng) + draw(c.spread, rng)
		})
		s.agrees(t, c.name, r.StandardUncertainty)
		// The standard error of the 95 % quantile is √(0.95·0.05/M)/2f with f
		// near 0.029 per side: 0.006. Half of the printed digit comes on top.
		for i := range s.values {
			s.values[i] = math.Abs(s.values[i])
		}
		slices.Sort(s.values)
		within(t, c.name+" sampled half width", s.values[len(s.values)*95/100], c.half95, 0.005+3*0.006)
	}
}

// The last clause of the package comment: a square about zero has a standard
// deviation of √2 u² by sampling (the chi-square distribution), and none to
// first order. The budget says zero with a sensitivity of zero, as the guide
// would; the caller must not evaluate there.
func TestFirstOrderIsBlindAtAnExtremum(t *testing.T) {
	s := newSample(200_000, func(rng *rand.Rand) float64 { x := rng.NormFloat64(); return x * x })
	within(t, "sampled", s.sd, math.Sqrt2, 4*s.sdFrom)
	r := Budget{Name: "square", Unit: "1", Lines: []Line{{Name: "x", Unit: "1", Spread: Standard(1), Sensitivity: 0}}}.Evaluate()
	if r.StandardUncertainty != 0 || r.Missing != nil || r.Contributors[0].Share != 0 || !math.IsInf(r.DegreesOfFreedom, 1) {
		t.Errorf("got %+v, want zero without complaint", r)
	}
}
