package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// row is a point in mm and the field there in mT.
type row struct{ x, y, bx, by float64 }

// The file prints nine decimals of a millitesla; half a unit of the last is
// 5e-10 mT.
const lastDigit = 0.6e-9

func checkRows(t *testing.T, name string, rows []row, field func(geom.Point) geom.Point) {
	t.Helper()
	checkRowsTo(t, name, rows, lastDigit, field)
}

func checkRowsTo(t *testing.T, name string, rows []row, tolMT float64, field func(geom.Point) geom.Point) {
	t.Helper()
	for _, r := range rows {
		b := field(mm(r.x, r.y)).Scale(1e3)
		if math.Abs(b.X-r.bx) > tolMT || math.Abs(b.Y-r.by) > tolMT || math.IsNaN(b.X+b.Y) {
			t.Errorf("%s at (%g, %g) mm: %.9f, %.9f mT; want %.9f, %.9f", name, r.x, r.y, b.X, b.Y, r.bx, r.by)
		}
	}
}

// fixtures/reference/analytic-cases.yaml, rectangular_bar_infinite: "Biot-Savart
// integral over a uniform rectangular section", confidence A ("closed form equals
// 2-D adaptive quadrature to 1e-9 mT").
var (
	case10x2at100A = []row{
		{0, 2, -4.776779358, 0}, {0, 3, -4.138664461, 0}, {0, 5, -3.154925225, 0}, {0, 6, -2.789721609, 0},
		{0, 10, -1.858869408, 0}, {0, 20, -0.980653751, 0}, {2.5, 3, -3.795196583, 1.460877606},
		{5, 3, -2.560354725, 2.535014572}, {8, 0, 0, 2.898779191}, {8, 3, -1.099506393, 2.292784762},
		{12, 5, -0.664720153, 1.444744762}, {20, 0, 0, 1.020704815}, {40, 0, 0, 0.502521399},
	}
	insideAndSurface = []row{
		{2, 0.5, -2.680648053, 1.645748798}, {5, 1, -2.942905100, 5.232052137},
		{5, 0, 0, 6.608493567}, {0, 1, -5.503259824, 0},
	}
	case20x3at1000A = []row{
		{0, 3.5, -24.723708306, 0}, {0, 5.5, -21.407422082, 0}, {0, 11.5, -14.346877150, 0},
		{10, 5.5, -13.028745863, 13.408670595}, {30, 5.5, -1.313406120, 6.655341440},
		{60, 5.5, -0.311288650, 3.334662829}, {0, -5.5, 21.407422082, 0},
	}
)

func TestRectangleReference(t *testing.T) {
	thin := func(p geom.Point) geom.Point { return RectangleB(p, 0.010, 0.002, 100) }
	checkRows(t, "10x2", case10x2at100A, thin)
	checkRows(t, "10x2 inside", insideAndSurface, thin)
	checkRows(t, "20x3", case20x3at1000A, func(p geom.Point) geom.Point { return RectangleB(p, 0.020, 0.003, 1000) })
	// The same numbers through the sum of edges.
	poly := geom.Rectangle(0.010, 0.002)
	checkRows(t, "polygon 10x2", case10x2at100A, func(p geom.Point) geom.Point { return PolygonB(p, poly, 100) })
	checkRows(t, "polygon inside", insideAndSurface, func(p geom.Point) geom.Point { return PolygonB(p, poly, 100) })
	// finite_bar_3d, case_10x2mm_100A_at_0_3mm_midplane, row L = inf.
	checkRows(t, "finite bar, inf", []row{{0, 3, -4.138664461, 0}}, thin)
}

// fixtures/reference/analytic-cases.yaml, go_and_return ("superposition of the
// closed form") and three_phase_crosstalk ("bars 20x3 mm, pitch 40 mm, sensor
// 5.5 mm above the centre of the middle bar, field per 1000 A of each bar").
func TestSeveralBarsReference(t *testing.T) {
	bar := func(cx, cy, w, th, i float64) func(geom.Point) geom.Point {
		return func(p geom.Point) geom.Point { return TurnedRectangleB(p, mm(cx, cy), 0, w*1e-3, th*1e-3, i) }
	}
	// These tables were rounded to eight decimals, 27.4802775 and 14.7120925 to seven.
	const eight, seven = 0.6e-8, 0.6e-7
	pair := func(a, b func(geom.Point) geom.Point) func(geom.Point) geom.Point {
		return func(p geom.Point) geom.Point { return a(p).Add(b(p)) }
	}
	checkRowsTo(t, "side by side", []row{
		{-10, 3, -3.983153510, 0.995924810}, {0, 0, 0, 4.371055550}, {0, 3, 0, 3.851227250},
		{10, 3, 3.983153510, 0.995924810}, {30, 3, 0.117660890, -0.496285160},
	}, eight, pair(bar(-10, 0, 10, 2, 100), bar(10, 0, 10, 2, -100)))
	checkRowsTo(t, "face to face", []row{
		{0, 0, 27.480277500, 0}, {0, 5, -3.190574480, 0}, {0, 10, -2.016356220, 0},
	}, seven, pair(bar(0, 2, 20, 2, 500), bar(0, -2, 20, 2, -500)))
	// These two rows list Bx only; By is 0 by symmetry.
	checkRowsTo(t, "face to face, edge", []row{{10, 0, 14.712092500, 0}, {15, 0, 2.968135880, 0}}, seven,
		pair(bar(0, 2, 20, 2, 500), bar(0, -2, 20, 2, -500)))
	for name, c := range map[string]struct{ at, bx, by float64 }{
		"left": {-40, -0.716496370, 5.000779580}, "own": {0, -21.407422082, 0}, "right": {40, -0.716496370, -5.000779580},
	} {
		checkRowsTo(t, name, []row{{0, 5.5, c.bx, c.by}}, eight, bar(c.at, 0, 20, 3, 1000))
	}
	ratio := bar(40, 0, 20, 3, 1)(mm(0, 5.5)).X / bar(0, 0, 20, 3, 1)(mm(0, 5.5)).X
	near(t, "crosstalk_ratio_x_each_neighbour", ratio, 0.0334695, 1e-7)
}

// Stacked go and return bars 20 mm x 3 mm, 4 mm above the upper face: share of
// the lone bar's field that is left. Common practice; recomputed here.
func TestStackedBars(t *testing.T) {
	for _, c := range []struct{ gapMM, leftPercent float64 }{{1, 24.0}, {3, 33.0}, {10, 53.6}, {20, 68.4}} {
		lone := RectangleB(mm(0, 5.5), 0.020, 0.003, 1000)
		both := lone.Add(RectangleB(mm(0, 5.5+3+c.gapMM), 0.020, 0.003, -1000))
		near(t, "per cent left", 100*both.X/lone.X, c.leftPercent, 0.05)
	}
}

// RectangleB against the printed formula in numbers of 220 bits: in, on, near
// and far, for any aspect. The widest error seen is printed with -v.
func TestRectangleExact(t *testing.T) {
	rng := newRand()
	worst := 0.0
	check := func(p geom.Point, w, th float64) {
		t.Helper()
		e := relErr(RectangleB(p, w, th, 1), bigRectangle(p, w, th, 1))
		if p == (geom.Point{}) {
			return // 0 at the centre: checked below
		}
		worst = max(worst, e)
		if !(e <= 1e-13) {
			t.Errorf("seed %d: %g x %g at %v: off by %.2g", seed, w, th, p, e)
		}
	}
	for range 200 {
		w := between(rng, 1e-3, 0.1)
		th := w * between(rng, 1e-4, 1e4)
		r := max(w, th) * between(rng, 1e-3, 1e6)
		check(geom.Point{X: r}.Rotate(2*math.Pi*rng.Float64()), w, th)
		check(geom.Point{X: w * (rng.Float64() - 0.5), Y: th * (rng.Float64() - 0.5)}, w, th)
		check(geom.Point{X: w * 1.2 * (rng.Float64() - 0.5), Y: th * 1.2 * (rng.Float64() - 0.5)}, w, th)
	}
	const w, th = 0.020, 0.003
	for _, x := range []float64{0, w / 4, w / 2, w/2 + 1e-12, w, 200} {
		for _, y := range []float64{0, th / 4, th / 2, th/2 - 1e-12, th, 200} {
			check(geom.Point{X: x, Y: y}, w, th)
			check(geom.Point{X: -x, Y: -y}, w, th)
		}
	}
	t.Logf("largest relative error %.2g", worst)
	if b := RectangleB(geom.Point{}, w, th, 1); b.Norm() != 0 {
		t.Errorf("centre: %v", b)
	}
	// The wish: no loss of digits out to 1e4 widths, against the series of
	// moments 1/z [1 + M2/z²], M2 = (w² − t²)/12, whose next term is below 1e-16.
	for _, th := range []float64{0.003, 35e-6} {
		z := complex(120, 160)
		m2 := complex((w*w-th*th)/12, 0)
		want := fieldOf(complex(mu0Over2Pi, 0) / z * (1 + m2/z/z))
		sameField(t, "10⁴ widths", RectangleB(geom.Point{X: 120, Y: 160}, w, th, 1), want, 1e-14)
	}
}

func TestRectangleDomain(t *testing.T) {
	nan := math.NaN()
	for _, b := range []geom.Point{
		RectangleB(mm(1, 1), 0, 1, 1), RectangleB(mm(1, 1), 1, -1, 1), RectangleB(mm(1, 1), nan, 1, 1),
		RectangleB(geom.Point{X: nan, Y: 1}, 1, 1, 1), RectangleB(mm(1, 1), 1, 1, nan),
		StripB(mm(1, 1), 0, 1), StripB(geom.Point{X: nan}, 1, 1), CircleB(mm(1, 1), 0, 1), CircleB(geom.Point{X: nan}, 1, 1),
		FilamentB(geom.Point{}, 1), GoReturnB(mm(1, 0), mm(1, 0), mm(2, 0), 1), GoReturnB(mm(2, 0), mm(1, 0), mm(2, 0), 1),
	} {
		if !math.IsNaN(b.X) || !math.IsNaN(b.Y) {
			t.Errorf("want NaN, got %v", b)
		}
	}
}

// fixtures/reference/analytic-cases.yaml, flat_strip, case_w10mm_100A ("limit t -> 0").
func TestStrip(t *testing.T) {
	checkRows(t, "strip", []row{
		{0, 3, -4.121507306, 0}, {0, 10, -1.854590436, 0}, {5, 3, -2.558679065, 2.494123305}, {8, 3, -1.117198631, 2.291411792},
	}, func(p geom.Point) geom.Point { return StripB(p, 0.010, 100) })
	// The limit of a bar that gets thinner: error falls with t², and the far
	// field keeps its digits.
	for _, p := range []geom.Point{mm(3, 4), mm(-7, 2), mm(0, -5), mm(3e4, 4e4), mm(-1e5, 1)} {
		sameField(t, "thin bar", RectangleB(p, 0.010, 1e-9, 5), StripB(p, 0.010, 5), 1e-12)
	}
	if b := StripB(mm(5, 0), 0.010, 1); !math.IsInf(b.Y, 1) || b.X != 0 {
		t.Errorf("right edge %v", b)
	}
	if b := StripB(mm(-5, 0), 0.010, 1); !math.IsInf(b.Y, -1) {
		t.Errorf("left edge %v", b)
	}
	if b := StripB(mm(2, 0), 0.010, 1); b.X != 0 || !(b.Y > 0) {
		t.Errorf("on the strip %v", b)
	}
}
