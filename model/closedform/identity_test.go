package closedform

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// sections returns every plane source of the package as a field of 1 A, with
// the size that bounds it, all off the origin and turned.
func sections() map[string]func(geom.Point) geom.Point {
	at, turn := mm(2, -1), 0.4
	place := func(f func(geom.Point) geom.Point) func(geom.Point) geom.Point {
		return func(p geom.Point) geom.Point { return Turned(p, at, turn, f) }
	}
	u := geom.Channel(0.008, 0.006, 0.002)
	return map[string]func(geom.Point) geom.Point{
		"rectangle": place(func(p geom.Point) geom.Point { return RectangleB(p, 0.010, 0.002, 1) }),
		"circle":    place(func(p geom.Point) geom.Point { return CircleB(p, 0.004, 1) }),
		"channel":   place(func(p geom.Point) geom.Point { return PolygonB(p, u, 1) }),
		"strip":     place(func(p geom.Point) geom.Point { return StripB(p, 0.010, 1) }),
		"filament":  place(func(p geom.Point) geom.Point { return FilamentB(p, 1) }),
		"pair, less one": place(func(p geom.Point) geom.Point {
			return GoReturnB(p, mm(1, 0), mm(-3, 0), 1).Add(FilamentB(p.Sub(mm(-3, 0)), 1))
		}),
	}
}

// circulation returns the integral of B·ds round the polygon, over μ0.
func circulation(field func(geom.Point) geom.Point, path geom.Polygon) float64 {
	sum := 0.0
	for i := range path {
		a, b := path.Edge(i)
		d := b.Sub(a)
		sum += integral(func(s float64) float64 { return field(a.Add(d.Scale(s))).Dot(d) }, 0, 1, 8)
	}
	return sum / (4e-7 * math.Pi)
}

// flux returns the integral of B·n ds out of the polygon, over μ0.
func flux(field func(geom.Point) geom.Point, path geom.Polygon) float64 {
	return circulation(func(p geom.Point) geom.Point {
		b := field(p)
		return geom.Point{X: -b.Y, Y: b.X}
	}, path)
}

// Law of Ampère and div B = 0 round paths that enclose the whole current or none.
func TestCirculation(t *testing.T) {
	rng := newRand()
	for name, f := range sections() {
		for range 6 {
			n := 3 + rng.IntN(5)
			path := geom.Circle(0.020+0.020*rng.Float64(), n).Place(mm(4*rng.Float64(), 4*rng.Float64()), rng.Float64())
			if n == 3 {
				path = geom.Circle(0.045, 3).Place(geom.Point{}, rng.Float64())
			}
			near(t, name+", seed 20240607, current inside", circulation(f, path), 1, 1e-9)
			near(t, name+" flux", flux(f, path), 0, 1e-9)
			off := path.Place(mm(-120, 30), 0)
			near(t, name+" current outside", circulation(f, off), 0, 1e-9)
			near(t, name+" flux outside", flux(f, off), 0, 1e-9)
		}
	}
}

// A path within the metal encloses its share of the current.
func TestCirculationInside(t *testing.T) {
	path := geom.Rectangle(0.004, 0.001).Place(mm(-2, 0.2), 0.1)
	near(t, "rectangle", circulation(func(p geom.Point) geom.Point { return RectangleB(p, 0.010, 0.002, 1) }, path), 4.0/20, 1e-12)
	near(t, "circle", circulation(func(p geom.Point) geom.Point { return CircleB(p, 0.006, 1) }, path), 4/(math.Pi*36), 1e-12)
	u := geom.Channel(0.008, 0.006, 0.002)
	floor := geom.Rectangle(0.006, 0.001).Place(mm(0.5, -1), 0.05)
	near(t, "channel", circulation(func(p geom.Point) geom.Point { return PolygonB(p, u, 1) }, floor), 6/(48.0), 1e-12)
	near(t, "channel flux", flux(func(p geom.Point) geom.Point { return PolygonB(p, u, 1) }, floor), 0, 1e-12)
}

// B grows with the current and falls with the size of the whole arrangement.
func TestScaling(t *testing.T) {
	rng := newRand()
	u := geom.Channel(0.008, 0.006, 0.002)
	for range 50 {
		p := mm(30*(rng.Float64()-0.5), 30*(rng.Float64()-0.5))
		s := between(rng, 1e-3, 1e3)
		i := between(rng, 1e-3, 1e5)
		big := make(geom.Polygon, len(u))
		for k := range u {
			big[k] = u[k].Scale(s)
		}
		for name, pair := range map[string][2]geom.Point{
			"rectangle": {RectangleB(p.Scale(s), 0.010*s, 0.002*s, i), RectangleB(p, 0.010, 0.002, 1)},
			"polygon":   {PolygonB(p.Scale(s), big, i), PolygonB(p, u, 1)},
			"circle":    {CircleB(p.Scale(s), 0.004*s, i), CircleB(p, 0.004, 1)},
			"strip":     {StripB(p.Scale(s), 0.010*s, -i), StripB(p, 0.010, -1)},
		} {
			sameField(t, name+" scaled", pair[0], pair[1].Scale(i/s), 1e-12)
		}
	}
}

// A mirror in x turns Bx over and keeps By's magnitude: B is an axial vector.
func TestMirror(t *testing.T) {
	rng := newRand()
	u := geom.Polygon{mm(-5, -1), mm(5, -1), mm(3, 4)}
	um := geom.Polygon{mm(5, -1), mm(-5, -1), mm(-3, 4)}
	for range 50 {
		p := mm(30*(rng.Float64()-0.5), 30*(rng.Float64()-0.5))
		q := geom.Point{X: -p.X, Y: p.Y}
		flip := func(b geom.Point) geom.Point { return geom.Point{X: b.X, Y: -b.Y} }
		if got, want := RectangleB(q, 0.01, 0.002, 7), flip(RectangleB(p, 0.01, 0.002, 7)); got != want {
			t.Errorf("rectangle at %v: %v, want %v to the last bit", q, got, want)
		}
		sameField(t, "polygon", PolygonB(q, um, 7), flip(PolygonB(p, u, 7)), 1e-13)
	}
}

// A turned bar: as a polygon with turned corners, and by a quarter turn.
func TestTurned(t *testing.T) {
	rng := newRand()
	at := mm(3, -7)
	for range 50 {
		p := mm(40*(rng.Float64()-0.5), 40*(rng.Float64()-0.5))
		a := 2 * math.Pi * rng.Float64()
		got := TurnedRectangleB(p, at, a, 0.020, 0.003, 9)
		sameField(t, "turned", got, PolygonB(p, geom.Rectangle(0.020, 0.003).Place(at, a), 9), 1e-12)
		sameField(t, "quarter", TurnedRectangleB(p, at, math.Pi/2, 0.020, 0.003, 9), RectangleB(p.Sub(at), 0.003, 0.020, 9), 1e-13)
	}
}
