package iron

import (
	"flag"
	"fmt"
	"math"
	"math/rand"
	"testing"

	"busgauss/model/geom"
)

var (
	calibrated    = flag.Int("pieces", 12, "random arrangements that TestBoundsAgainstFiner and its siblings solve")
	calibrateSeed = flag.Int64("pieces-seed", 11, "their seed")
	calibrateSize = flag.Float64("pieces-scale", 0, "scale of their meshes in place of that of the test")
	calibrateList = flag.Bool("pieces-list", false, "print every value")
)

// drawn is a random arrangement: one piece or two, bars inside or beside them, places round them.
type drawn struct {
	pieces []Piece
	mu     []float64
	bars   []Source
	points []geom.Point3
}

func draw(r *rand.Rand) drawn {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	var d drawn
	w := between(12, 24) * mm
	wall := between(0.06, 0.15) * w
	leg := between(0.3, 0.8) * w
	depth := between(0.4, 1.6) * w
	plate := r.Intn(3) == 0
	n := 1 + r.Intn(2)
	pitch := w + 2*wall + between(0.3, 1)*w
	for i := range n {
		var s geom.Polygon
		if plate {
			s = geom.Rectangle(w, wall)
		} else {
			s = geom.Channel(w, leg, wall)
		}
		for k := range s {
			s[k].X += float64(i) * pitch
		}
		d.pieces = append(d.pieces, Piece{Name: fmt.Sprint("p", i), Section: geom.Solid(s), FromZM: -depth / 2, ToZM: depth / 2, MuRel: 2})
		d.mu = append(d.mu, math.Exp(between(math.Log(200), math.Log(8000))))
	}
	mid := between(0.2, 0.5) * leg
	if plate {
		mid = wall + between(0.2, 0.6)*w
	}
	mid = math.Max(mid, 0.075*w+0.5*mm) // clear of the floor
	d.bars = append(d.bars, longBar(0, mid, 0.7*w, 0.15*w), longBar(pitch, mid, 0.7*w, 0.15*w))
	for range 3 {
		d.points = append(d.points, geom.Point3{X: between(-0.3, 0.3) * w, Y: mid + 0.1*w + between(0.05, 0.4)*leg, Z: between(-0.3, 0.3) * depth})
	}
	return d
}

// drawRing is draw for a ring about the first bar, with a slit more often than not: places in the slit and the hole and
// close to the outer face.
func drawRing(r *rand.Rand) drawn {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	inner := between(8, 25) * mm
	wall := between(0.05, 0.3) * inner
	slit := between(0.1, 0.6) * inner
	if r.Intn(3) == 0 {
		slit = 0
	}
	outer := inner + wall
	depth := between(0.6, 3) * inner
	ring := &Ring{InnerM: inner, OuterM: outer, SlitM: slit}
	d := drawn{
		pieces: []Piece{{Name: "ring", Section: geom.Ring(2*inner, wall, slit, 128), Ring: ring, FromZM: -depth / 2, ToZM: depth / 2, MuRel: 2}},
		mu:     []float64{math.Exp(between(math.Log(200), math.Log(8000)))},
	}
	x, y := between(-0.1, 0.1)*inner, between(-0.2, 0.1)*inner
	d.bars = []Source{longBar(x, y, 0.8*inner, 0.2*inner), longBar(between(1.8, 3)*outer, 0, 0.8*inner, 0.2*inner)}
	in := geom.Point{Y: between(0.5, 0.8) * inner}
	if slit > 0 {
		in.Y = between(0.4, 1.1) * outer
	}
	d.points = []geom.Point3{in.Space(0), in.Space(between(-0.3, 0.3) * depth)}
	sin, cos := math.Sincos(between(0, math.Pi))
	d.points = append(d.points, geom.Point{X: cos, Y: sin}.Scale(outer+between(0.5, 2)*wall).Space(between(-0.3, 0.3)*depth))
	return d
}

// Bounds against a third mesh, each cell of the second cut in eight, and the limit of the second and third: of the field at
// places where sensors stand, of the bar in a piece and of one beside, as a vector and on the axis that a sensor reads,
// and of the walls. Every error lies within its bound.
func TestBoundsAgainstFiner(t *testing.T) {
	boundsAgainstFiner(t, draw, 1.5, atMost(3)) // cells half as large again as usual, so that the third mesh costs a second
}

// The same of rings.
func TestRingBoundsAgainstFiner(t *testing.T) { boundsAgainstFiner(t, drawRing, 1.9, atMost(2)) }

// atMost is how many arrangements are drawn: n at most without -long.
func atMost(n int) int {
	if *long {
		return *calibrated
	}
	return min(n, *calibrated)
}

func boundsAgainstFiner(t *testing.T, draw func(*rand.Rand) drawn, scale float64, count int) {
	if testing.Short() {
		t.Skip("seconds an arrangement")
	}
	r := rand.New(rand.NewSource(*calibrateSeed))
	ratios := ratiosOf{}
	for k := range count {
		d := draw(r)
		p, third := threeMeshes(t, &d, scale)
		basis := NewBasis(d.bars)
		l, err := p.LinearOf(d.mu, basis)
		if err != nil {
			t.Fatal(err)
		}
		finer, err := third.LinearOf(d.mu, basis)
		if err != nil {
			t.Fatal(err)
		}
		for s, name := range []string{"own", "beside"} {
			for _, q := range d.points {
				b, bound := l.B(q, s)
				ref, _ := finer.B(q, s)
				ratios.judge(t, k, name, b.Sub(ref).Norm(), ref.Norm(), bound.T)
				ratios.judge(t, k, name+" on the axis", math.Abs(b.X-ref.X), ref.Norm(), bound.Along.X)
			}
			w := make([]complex128, 2)
			w[s] = 1
			a, b := l.Wall(0, w), finer.Wall(0, w)
			ratios.judge(t, k, "wall of "+name, math.Abs(a.PeakT-b.PeakT), b.PeakT, a.PeakBoundT)
			ratios.judge(t, k, "rms of "+name, math.Abs(a.RmsT-b.RmsT), b.RmsT, a.RmsBoundT)
			ratios.judge(t, k, "middle of "+name, math.Abs(a.MidT-b.MidT), b.MidT, a.MidBoundT)
			ratios.judge(t, k, "end of "+name, math.Abs(a.EndT-b.EndT), b.EndT, a.EndBoundT)
		}
	}
	ratios.report(t)
}
