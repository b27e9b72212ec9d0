package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
)

// bent is a bar 20 × 3 mm at the origin with a run in millimetres.
func bent(turnRad float64, points ...[3]float64) *Bar {
	set := func(v float64) Num { return Num{V: v, Set: true} }
	b := &Bar{
		Section: Section{Kind: Rectangle, WidthM: set(0.020), ThicknessM: set(0.003)},
		At:      Place{X: set(0), Y: set(0)}, TurnRad: set(turnRad),
	}
	for _, p := range points {
		b.Run = append(b.Run, Place{X: set(1e-3 * p[0]), Y: set(1e-3 * p[1]), Z: set(1e-3 * p[2])})
	}
	return b
}

func near3(t *testing.T, what string, got, want geom.Point3) {
	t.Helper()
	if got.Sub(want).Norm() > 1e-12 {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

var ex, ey, ez = geom.Point3{X: 1}, geom.Point3{Y: 1}, geom.Point3{Z: 1}

// The frame after a bend by 90°, by hand: a bend across the width (on edge) turns
// local x and keeps y, one across the thickness (flat) the reverse; the next bend goes
// on from there, before the section as after it.
func TestLegFrames(t *testing.T) {
	for _, c := range []struct {
		name string
		bar  *Bar
		want [][3]geom.Point3 // along, U, V
	}{
		{"on edge", bent(0, [3]float64{0, 0, -90}, [3]float64{0, 0, 60}, [3]float64{80, 0, 60}),
			[][3]geom.Point3{{ez, ex, ey}, {ex, ez.Scale(-1), ey}}},
		{"flat", bent(0, [3]float64{0, 0, -90}, [3]float64{0, 0, 60}, [3]float64{0, 80, 60}),
			[][3]geom.Point3{{ez, ex, ey}, {ey, ex, ez.Scale(-1)}}},
		{"turned a quarter, then flat", bent(math.Pi/2, [3]float64{0, 0, -90}, [3]float64{0, 0, 60}, [3]float64{80, 0, 60}),
			[][3]geom.Point3{{ez, ey, ex.Scale(-1)}, {ex, ey, ez}}},
		{"flat, then on edge", bent(0, [3]float64{0, 0, -90}, [3]float64{0, 0, 60}, [3]float64{0, 80, 60}, [3]float64{80, 80, 60}),
			[][3]geom.Point3{{ez, ex, ey}, {ey, ex, ez.Scale(-1)}, {ex, ey.Scale(-1), ez.Scale(-1)}}},
		{"before the section", bent(0, [3]float64{0, -80, -90}, [3]float64{0, 0, -90}, [3]float64{0, 0, 60}),
			[][3]geom.Point3{{ey, ex, ez.Scale(-1)}, {ez, ex, ey}}},
	} {
		legs, err := c.bar.Legs()
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if len(legs) != len(c.want) {
			t.Fatalf("%s: %d legs", c.name, len(legs))
		}
		for i, w := range c.want {
			near3(t, c.name+": along", legs[i].Along, w[0])
			near3(t, c.name+": U", legs[i].U, w[1])
			near3(t, c.name+": V", legs[i].V, w[2])
		}
	}
}

// Properties of any run: frames right-handed and of unit length; the edge through any
// local point meets that of the next leg on the mitre plane, which halves the angle; a
// run listed backwards gives the same legs.
func TestLegProperties(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, 1))
	for range 200 {
		points := [][3]float64{{0, 0, -200}, {0, 0, 200}}
		for range 3 {
			last := points[len(points)-1]
			points = append(points, [3]float64{last[0] + 200*r.NormFloat64(), last[1] + 200*r.NormFloat64(), last[2] + 200*r.NormFloat64()})
		}
		bar := bent(2*math.Pi*r.Float64(), points...)
		legs, err := bar.Legs()
		if err != nil {
			continue // too tight
		}
		for i, l := range legs {
			near3(t, "right-handed", l.U.Cross(l.V), l.Along)
			near3(t, "unit", geom.Point3{X: l.U.Norm(), Y: l.V.Norm(), Z: l.Along.Norm()}, geom.Point3{X: 1, Y: 1, Z: 1})
			if i == 0 {
				continue
			}
			before := legs[i-1]
			if d := before.Along.Dot(before.ToNormal) - l.Along.Dot(l.FromNormal); math.Abs(d) > 1e-12 {
				t.Errorf("seed %d: the mitre does not halve the angle", seed)
			}
			for _, c := range append(bar.SectionCorners(), geom.Point{X: 0.004, Y: -0.001}) {
				_, end := before.Edge(c)
				begin, _ := l.Edge(c)
				near3(t, "edges meet", begin, end)
				if h := end.Sub(before.To).Dot(before.ToNormal); math.Abs(h) > 1e-12 {
					t.Errorf("seed %d: edge ends %g off its plane", seed, h)
				}
			}
		}
		for i, j := 0, len(points)-1; i < j; i, j = i+1, j-1 {
			points[i], points[j] = points[j], points[i]
		}
		again, err := bent(bar.TurnRad.V, points...).Legs()
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range legs {
			for k, p := range [2][7]geom.Point3{{l.From, l.To, l.Along, l.U, l.V, l.FromNormal, l.ToNormal},
				{again[i].From, again[i].To, again[i].Along, again[i].U, again[i].V, again[i].FromNormal, again[i].ToNormal}} {
				if k == 1 {
					for m, q := range [7]geom.Point3{l.From, l.To, l.Along, l.U, l.V, l.FromNormal, l.ToNormal} {
						near3(t, "backwards", p[m], q)
					}
				}
			}
		}
	}
}

// A straight bar is one leg about z = 0; a long one has none.
func TestLegsStraight(t *testing.T) {
	b := bent(0.3)
	if legs, err := b.Legs(); err != nil || legs != nil {
		t.Errorf("long bar: %v %v", legs, err)
	}
	b.LengthM = Num{V: 0.06, Set: true}
	legs, err := b.Legs()
	if err != nil || len(legs) != 1 {
		t.Fatalf("%v %v", legs, err)
	}
	near3(t, "from", legs[0].From, geom.Point3{Z: -0.03})
	near3(t, "to", legs[0].To, geom.Point3{Z: 0.03})
	near3(t, "U", legs[0].U, geom.Point3{X: math.Cos(0.3), Y: math.Sin(0.3)})
}

// Bends that leave no piece between them, by hand: 20 mm on edge at 90° take 10 mm each
// side, so that 20 mm between two bends are just enough; 3 mm flat take 1.5 mm.
func TestLegsTight(t *testing.T) {
	for _, c := range []struct {
		mm float64
		up bool
		ok bool
	}{{20.01, false, true}, {19.99, false, false}, {3.01, true, true}, {2.99, true, false}} {
		to, on := [3]float64{c.mm, 0, 60}, [3]float64{c.mm, 0, 150}
		if c.up {
			to, on = [3]float64{0, c.mm, 60}, [3]float64{0, c.mm, 150}
		}
		_, err := bent(0, [3]float64{0, 0, -200}, [3]float64{0, 0, 60}, to, on).Legs()
		if (err == nil) != c.ok {
			t.Errorf("%g mm, up %v: %v", c.mm, c.up, err)
		}
	}
	if _, err := bent(0, [3]float64{0, 0, -50}, [3]float64{0, 0, 50}, [3]float64{0, 0, -20}).Legs(); err == nil {
		t.Error("straight back: no error")
	}
}
