package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// curl returns (∂A/∂y, −∂A/∂x) by central differences of fourth order.
func curl(a func(geom.Point) float64, p geom.Point, h float64) geom.Point {
	d := func(u geom.Point) float64 {
		at := func(s float64) float64 { return a(p.Add(u.Scale(s * h))) }
		return (8*(at(1)-at(-1)) - (at(2) - at(-2))) / (12 * h)
	}
	return geom.Point{X: d(geom.Point{Y: 1}), Y: -d(geom.Point{X: 1})}
}

func TestPotentialCurl(t *testing.T) {
	u := geom.Channel(0.008, 0.006, 0.002)
	for name, c := range map[string]struct {
		a func(geom.Point) float64
		b func(geom.Point) geom.Point
	}{
		"rectangle": {
			func(p geom.Point) float64 { return RectangleAWbPerM(p, 0.010, 0.002, 1) },
			func(p geom.Point) geom.Point { return RectangleB(p, 0.010, 0.002, 1) },
		},
		"channel":  {func(p geom.Point) float64 { return PolygonAWbPerM(p, u, 1) }, func(p geom.Point) geom.Point { return PolygonB(p, u, 1) }},
		"circle":   {func(p geom.Point) float64 { return CircleAWbPerM(p, 0.004, 1) }, func(p geom.Point) geom.Point { return CircleB(p, 0.004, 1) }},
		"filament": {func(p geom.Point) float64 { return FilamentAWbPerM(p, 1) }, func(p geom.Point) geom.Point { return FilamentB(p, 1) }},
	} {
		for _, p := range []geom.Point{mm(1, 0.3), mm(-4.5, -0.6), mm(3, 7), mm(-9, 2), mm(30, -12), mm(200, 100)} {
			// Rounding eps·A/h and truncation h⁴ are both below 1e-8 of B.
			h := 1e-3 * math.Max(p.Norm(), 0.005)
			sameField(t, name, curl(c.a, p, h), c.b(p), 1e-8)
		}
	}
}

// All potentials have one gauge: far away they are the filament's, and the
// polygon of the circle's area has the circle's.
func TestPotentialGauge(t *testing.T) {
	far := mm(3000, -4000)
	want := FilamentAWbPerM(far, 1)
	near(t, "rectangle", RectangleAWbPerM(far, 0.010, 0.002, 1), want, 1e-12)
	near(t, "circle", CircleAWbPerM(far, 0.010, 1), want, 1e-20)
	c := geom.Channel(0.008, 0.006, 0.002)
	near(t, "channel", PolygonAWbPerM(far.Add(c.Centroid()), c, 1), want, 1e-12)
	near(t, "filament at one metre", FilamentAWbPerM(geom.Point{Y: 1}, 1), 0, 0)
	for _, p := range []geom.Point{{}, mm(3, 2), mm(12, 5)} {
		near(t, "circle by polygon", PolygonAWbPerM(p, geom.CircleSameArea(0.010, 512), 1), CircleAWbPerM(p, 0.010, 1), 2e-7*1e-5)
	}
	if a := RectangleAWbPerM(mm(1, 1), 0, 1, 1); !math.IsNaN(a) {
		t.Errorf("no width: %g", a)
	}
	if a := CircleAWbPerM(mm(1, 1), 0, 1); !math.IsNaN(a) {
		t.Errorf("no radius: %g", a)
	}
}

// The mean of the logarithm over the section by quadrature, and no step where
// the series takes over; corners and edges finite.
func TestPotentialValue(t *testing.T) {
	const w, th = 0.010, 0.002
	mean := func(p geom.Point) float64 {
		return integral(func(x float64) float64 {
			return integral(func(y float64) float64 { return math.Log(math.Hypot(p.X-x, p.Y-y)) }, -th/2, th/2, 2)
		}, -w/2, w/2, 4) / w / th
	}
	for _, p := range []geom.Point{mm(3, 2.5), mm(-8, 1), mm(15, 15), mm(25, -3)} {
		near(t, "mean of ln", RectangleAWbPerM(p, w, th, 1), -2e-7*mean(p), 2e-7*1e-12)
	}
	for _, aspect := range []float64{1, 10, 100} {
		poly := geom.Rectangle(w, w/aspect)
		_, radius := centroidAndRadius(poly)
		for _, turn := range []float64{0, 0.4, 1.2, 2} {
			u := geom.Point{X: farRatio * radius}.Rotate(turn)
			lo := PolygonAWbPerM(u.Scale(1-1e-15), poly, 1)
			hi := PolygonAWbPerM(u.Scale(1+1e-15), poly, 1)
			near(t, "crossover", hi, lo, 2e-7*1e-12)
		}
	}
	corner := RectangleAWbPerM(geom.Point{X: w / 2, Y: th / 2}, w, th, 1)
	near(t, "corner", corner, RectangleAWbPerM(geom.Point{X: w/2 + 1e-12, Y: th / 2}, w, th, 1), 2e-7*1e-8)
}
