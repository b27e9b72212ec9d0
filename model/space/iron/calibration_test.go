package iron

import (
	"flag"
	"fmt"
	"math"
	"math/rand"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
)

var (
	calibrated     = flag.Int("pieces", 12, "random arrangements that TestBoundsAgainstFiner and its siblings solve")
	calibrateSeed  = flag.Int64("pieces-seed", 11, "their seed")
	calibrateSize  = flag.Float64("pieces-scale", 0, "scale of their meshes in place of that of the test")
	calibrateList  = flag.Bool("pieces-list", false, "print every value")
	calibratedFine = flag.Int("fine-pieces", 1, "random arrangements that TestBoundsOfFineMeshesAgainstFiner solves")
	calibrate      = flag.Bool("calibrate", false, "run all of TestCalibration")
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
	boundsAgainstFiner(t, draw, 1.5, atMost(3), *calibrateSeed) // cells half as large again as usual, so that the third mesh costs a second
}

// The same of rings.
func TestRingBoundsAgainstFiner(t *testing.T) {
	boundsAgainstFiner(t, drawRing, 1.9, atMost(2), *calibrateSeed)
}

// The same of rings with finer meshes, of which coarse ones tell little: beside a slit few cells rule.
func TestFinerRingBoundsAgainstFiner(t *testing.T) {
	if !*long {
		t.Skip("seconds an arrangement; run with -long")
	}
	boundsAgainstFiner(t, drawRing, 1.3, min(*calibrated, 6), slitSeed)
}

const slitSeed = 21 // of arrangements among which some lay outside bounds of another form

// TestCalibration is the above and their siblings over more arrangements; the figures are rows of fixtures/reference/README.md.
func TestCalibration(t *testing.T) {
	if !*calibrate {
		t.Skip("many minutes; run with -calibrate")
	}
	for _, f := range []struct {
		name, family string
		of           func(*testing.T) fixtures.CalibrationRow
	}{
		{"channels", "plates and channels of linear iron", func(t *testing.T) fixtures.CalibrationRow { return boundsAgainstFiner(t, draw, 1.5, 80, 11) }},
		{"rings", "rings of linear iron", func(t *testing.T) fixtures.CalibrationRow { return boundsAgainstFiner(t, drawRing, 1.9, 24, 11) }},
		{"finer-rings", "rings of linear iron, finer meshes", func(t *testing.T) fixtures.CalibrationRow { return boundsAgainstFiner(t, drawRing, 1.3, 12, slitSeed) }},
		{"filled-channels", "plates and channels of steel: states and differences of states", func(t *testing.T) fixtures.CalibrationRow {
			return differencesAgainstFiner(t, draw, 2.2, 40, 11)
		}},
		{"filled-rings", "rings of steel: states and differences of states", func(t *testing.T) fixtures.CalibrationRow {
			return differencesAgainstFiner(t, drawRing, 2.4, 25, 11)
		}},
	} {
		t.Run(f.name, func(t *testing.T) {
			row := f.of(t)
			row.Family, row.Against = f.family, "a third mesh, each cell cut in eight"
			row.Check(t, tableFile)
		})
	}
}

// atMost is how many arrangements are drawn: n at most without -long.
func atMost(n int) int {
	if *long {
		return *calibrated
	}
	return min(n, *calibrated)
}

func boundsAgainstFiner(t *testing.T, draw func(*rand.Rand) drawn, scale float64, count int, seed int64) (row fixtures.CalibrationRow) {
	if testing.Short() {
		t.Skip("seconds an arrangement")
	}
	r := rand.New(rand.NewSource(seed))
	ratios := ratiosOf{}
	for k := range count {
		d := draw(r)
		row.Arrangements, row.Pieces = row.Arrangements+1, row.Pieces+len(d.pieces)
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
	row.Ratios = ratios.report(t)
	return row
}

// Bounds on meshes as fine as those that narrow verdicts are told on, against meshes of two thirds of their steps: of fields of the
// bar in a piece and of one beside.
func TestBoundsOfFineMeshesAgainstFiner(t *testing.T) {
	if !*long {
		t.Skip("ten seconds an arrangement; run with -long")
	}
	r := rand.New(rand.NewSource(31))
	ratios := ratiosOf{}
	for k := range *calibratedFine {
		d := draw(r)
		var of [2]*Linear
		for i, scale := range []float64{0.48, 0.32} {
			g := standardGrading()
			g.scale = scale
			m, fine, err := buildPair(d.pieces, d.points, g, true, Options{MaxNodes: 20000})
			if err != nil {
				t.Fatal(err)
			}
			p := &Problem{pieces: d.pieces, points: d.points, scale: scale, levels: [2]*level{newLevel(m, d.pieces, scale), newLevel(fine, d.pieces, scale)}}
			if of[i], err = p.LinearOf(d.mu, NewBasis(d.bars)); err != nil {
				t.Fatal(err)
			}
		}
		for s, name := range []string{"own", "beside"} {
			for _, q := range d.points {
				b, bound := of[0].B(q, s)
				ref, _ := of[1].B(q, s)
				ratios.judge(t, k, name, b.Sub(ref).Norm(), ref.Norm(), bound.T)
				ratios.judge(t, k, name+" on the axis", math.Abs(b.X-ref.X), ref.Norm(), bound.Along.X)
			}
		}
	}
	ratios.report(t)
}
