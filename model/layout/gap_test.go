package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
)

// boxed is a bar at (px, py), in metres, and a sensor with a body that reads bar A of
// 20 x 4 mm at the origin.
func boxed(px, py float64, placement Placement) *Layout {
	n := func(v float64) Num { return Num{V: v, Set: true} }
	at := func(x, y float64) Place { return Place{X: n(x), Y: n(y)} }
	section := Section{Kind: Rectangle, WidthM: n(0.020), ThicknessM: n(0.004)}
	return &Layout{
		Bars: []Bar{{ID: "A", Section: section, At: at(0, 0)},
			{ID: "B", Section: section, At: at(px, py), TurnRad: n(0.4)}},
		Sensors: []Sensor{{ID: "S", At: at(0.005, 0.006),
			Axis: Axis{U: geom.Point3{X: math.Cos(2.9), Y: math.Sin(2.9)}},
			Pair: &Pair{SpacingM: n(0.003), AlongRad: n(1)}, Placement: &placement}},
		Parts: []Part{{ID: "p", BodyWidthM: n(0.005), BodyHeightM: n(0.002), BodyElementHeightM: n(0.0007)}},
	}
}

// A second computation: the sensor is moved and turned as drawn at random within its
// placement, its bodies are those of the moved sensor, and the gap is the least distance
// of the two polygons. None is nearer than GapBetween, and the nearest comes near to it.
func TestGapAtEveryPlacement(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 1))
	for range 6 {
		p := Placement{XM: Num{V: 1e-3 * r.Float64(), Set: true}, YM: Num{V: 1e-3 * r.Float64(), Set: true},
			TiltRad: Num{V: 0.2 * r.Float64(), Set: true}}
		l := boxed(0.030+0.010*r.Float64(), 0.008*r.Float64(), p)
		gap, err := l.GapBetween("S", "B", func(string) bool { return true })
		if err != nil || gap.NoBody || gap.LowM != gap.HighM {
			t.Fatalf("%+v %v", gap, err)
		}
		s, bar := &l.Sensors[0], l.Bars[1].Polygon()
		drawn := l.Bodies(s, false)
		least := math.Inf(1)
		for range 20000 {
			edge := func() float64 { // often at the end of the tolerance
				return math.Max(-1, math.Min(1, 1.5*(2*r.Float64()-1)))
			}
			turn, d := p.TiltRad.V*edge(), geom.Point{X: p.XM.V * edge(), Y: p.YM.V * edge()}
			for i := range drawn {
				var body geom.Polygon
				for _, c := range drawn[i].Section.Outer {
					body = append(body, s.At.Point().Add(c.Sub(s.At.Point()).Rotate(turn)).Add(d))
				}
				g, _, _ := geom.GapM(body, bar)
				least = math.Min(least, g)
			}
		}
		if least < gap.LowM-1e-12 || least > gap.LowM+60e-6 {
			t.Errorf("%+v: worst of many %g m, GapBetween %g m", p, least, gap.LowM)
		}
		if gap.DrawnM < gap.HighM {
			t.Errorf("drawn %g m, worst %g m", gap.DrawnM, gap.HighM)
		}
	}
}

// The distance of a point and the gap of a small body there agree for round bars, bars
// with bends and shields of finite depth.
func TestPieceDistance(t *testing.T) {
	n := func(v float64) Num { return Num{V: v, Set: true} }
	place := func(x, y, z float64) Place { return Place{X: n(x), Y: n(y), Z: n(z)} }
	l := &Layout{
		Bars: []Bar{
			{ID: "R", Section: Section{Kind: Round, DiameterM: n(0.010)}, At: place(0, 0, 0), LengthM: n(0.1)},
			{ID: "B", Section: Section{Kind: Rectangle, WidthM: n(0.02), ThicknessM: n(0.004)}, At: place(0.05, 0, 0),
				Run: []Place{place(0.05, 0, -0.1), place(0.05, 0, 0.03), place(0.05, 0.05, 0.03)}},
		},
	}
	for _, c := range []struct {
		bar  int
		q    geom.Point3
		want float64
	}{
		{0, geom.Point3{X: 0.008}, 0.003},
		{0, geom.Point3{X: 0.008, Z: 0.054}, 0.005}, // 3 mm aside, 4 mm behind
		{0, geom.Point3{X: 0.001, Z: -0.054}, 0.004},
		{1, geom.Point3{X: 0.05, Y: 0.01, Z: 0.02}, 0.008}, // the two faces of the bend, the section of both 4 mm thick
		{1, geom.Point3{X: 0.05, Y: -0.005, Z: 0}, 0.003},
		{1, geom.Point3{X: 0.05, Y: 0.04, Z: 0.0325}, 0.0005},
		{1, geom.Point3{X: 0.05, Y: 0.04, Z: 0.031}, 0},
	} {
		pieces := l.Pieces()
		d, err := pieces[c.bar].DistanceM(c.q)
		if err != nil || !(math.Abs(d-c.want) < 1e-12) {
			t.Errorf("bar %d, %v: %g m, %v, want %g", c.bar, c.q, d, err, c.want)
		}
	}
}

// Two bars side by side, 4 mm apart along x: what a tolerance moves along their faces brings them no nearer, what it moves
// along x does in full.
func TestGapOfSweptBars(t *testing.T) {
	for _, c := range []struct{ x, y, wantM float64 }{{0, 0, 4e-3}, {0.6e-3, 0.8e-3, 3.4e-3}, {0, 5e-3, 4e-3}} {
		l := boxed(0.024, 0, Placement{})
		l.Bars[1].TurnRad = Num{}
		l.Bars[0].Placement = &Placement{XM: Num{V: c.x, Set: true}, YM: Num{V: c.y, Set: true}}
		gap, err := l.GapBetween("A", "B", nil)
		if err != nil || !(math.Abs(gap.LowM-c.wantM) < 1e-9) || gap.LowM != gap.HighM {
			t.Errorf("x %g m, y %g m: %+v %v, want %g m", c.x, c.y, gap, err, c.wantM)
		}
	}
}
