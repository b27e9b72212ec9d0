package eddy

import (
	"flag"
	"math"
	"math/rand"
	"slices"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/geom"
)

var (
	long       = flag.Bool("long", false, "run cases of minutes too")
	drawnCount = flag.Int("pieces", 100, "random arrangements that TestBoundsAgainstFiner solves with -long")
	drawnSeed  = flag.Int64("pieces-seed", 11, "their seed")
	calibrate  = flag.Bool("calibrate", false, "run all of TestCalibration")
	_          = flag.Bool("update", false, "rewrite the rows of TestCalibration")
)

const tableFile = "../../../fixtures/reference/README.md"

// TestCalibration is TestBoundsAgainstFiner and its sibling over more arrangements; the figures are rows of fixtures/reference/README.md.
func TestCalibration(t *testing.T) {
	if !*calibrate {
		t.Skip("many minutes; run with -calibrate")
	}
	for _, f := range []struct {
		name, family, against string
		of                    func(*testing.T) fixtures.CalibrationRow
	}{
		{"walls", "walls that conduct: eddy currents", "a third mesh of 1/0.7 as many cells each way", func(t *testing.T) fixtures.CalibrationRow { return boundsAgainstFiner(t, 50) }},
		{"iron", "iron with walls and bars that conduct: eddy currents", "the same", func(t *testing.T) fixtures.CalibrationRow { return ironBoundsAgainstFiner(t, 4) }},
	} {
		t.Run(f.name, func(t *testing.T) {
			row := f.of(t)
			row.Family, row.Against = f.family, f.against
			row.Check(t, tableFile)
		})
	}
}

// drawn is a random arrangement: a wall or two of copper or less, a bar inside or beside it and one further away, places
// where sensors stand, and a frequency at which the skin is from three walls down to a tenth of one.
type drawn struct {
	kind   string
	pieces []Piece
	bars   []Source
	points []geom.Point3
	freqHz float64

	barAt   []geom.Point
	barSize [2]float64
}

func draw(r *rand.Rand) drawn {
	const mm = 1e-3
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	d := drawn{kind: []string{"plate", "channel", "slit ring", "closed ring"}[r.Intn(4)]}
	w := between(12, 30) * mm
	wall := between(0.04, 0.12) * w
	depth := between(0.4, 2) * w
	leg := between(0.3, 0.8) * w
	sigma := between(10, 58) * 1e6
	mid := between(0.25, 0.5) * leg
	piece := Piece{Name: "W", FromZM: -depth / 2, ToZM: depth / 2, SigmaSPerM: sigma}
	z := func() float64 { return between(-0.3, 0.3) * depth }
	switch d.kind {
	case "plate":
		piece.Section = geom.Solid(geom.Rectangle(w, wall))
		mid = wall + between(0.2, 0.6)*w
	case "channel":
		piece.Section = geom.Solid(geom.Channel(w, leg, wall))
	default:
		ring := &Ring{InnerM: w / 2, OuterM: w/2 + wall, SlitM: between(0.1, 0.3) * w}
		if d.kind == "closed ring" {
			ring.SlitM = 0
		}
		piece.Ring, piece.Section = ring, geom.Ring(w, wall, ring.SlitM, 128)
		mid = between(-0.1, 0.05) * w
	}
	mid = math.Max(mid, -w)
	d.pieces = []Piece{piece}
	pitch := w + 2*wall + between(0.3, 1)*w
	if piece.Ring == nil && r.Intn(2) == 0 {
		next := piece
		next.Section = next.Section.Place(geom.Point{X: pitch}, 0)
		d.pieces = append(d.pieces, next)
	}
	at := func(x, y float64) Source {
		return func(q geom.Point3) geom.Point3 {
			v := closedform.RectangleB(q.XY().Sub(geom.Point{X: x, Y: y}), 0.6*w, 0.12*w, 1)
			return geom.Point3{X: v.X, Y: v.Y}
		}
	}
	d.bars = []Source{at(0, mid), at(pitch, mid)}
	d.barAt, d.barSize = []geom.Point{{Y: mid}, {X: pitch, Y: mid}}, [2]float64{0.6 * w, 0.12 * w}
	high := mid + 0.08*w + between(0.05, 0.25)*w
	for range 3 {
		d.points = append(d.points, geom.Point3{X: between(-0.25, 0.25) * w, Y: high, Z: z()})
	}
	skin := wall * math.Exp(between(math.Log(0.1), math.Log(3)))
	d.freqHz = 1 / (math.Pi * 4e-7 * math.Pi * sigma * skin * skin)
	return d
}

// Bounds against finer meshes, the fine one and one with 1/0.7 as many cells along each line, extrapolated alike: of the
// field of the eddy currents at places where sensors stand, of the bar in a wall and of one beside. Every error lies within
// its bound.
func TestBoundsAgainstFiner(t *testing.T) {
	count := 3
	if *long {
		count = *drawnCount
	}
	if testing.Short() {
		t.Skip("a second an arrangement")
	}
	boundsAgainstFiner(t, count)
}

func boundsAgainstFiner(t *testing.T, count int) (row fixtures.CalibrationRow) {
	r := rand.New(rand.NewSource(*drawnSeed))
	ratios := map[string][]float64{}
	for k := range count {
		d := draw(r)
		row.Arrangements, row.Pieces = row.Arrangements+1, row.Pieces+len(d.pieces)
		p, err := New(d.pieces, d.points, Options{})
		if err != nil {
			t.Fatal(err)
		}
		m, err := build(d.pieces, d.points, 1/coarseScale, 12000)
		if err != nil {
			t.Fatal(err)
		}
		finer := &Problem{levels: [2]*level{p.levels[1], newLevel(m)}}
		var now [2]*Currents
		for i, p := range []*Problem{p, finer} {
			response, err := p.Respond(d.bars, nil)
			if err != nil {
				t.Fatal(err)
			}
			now[i] = response.At(d.freqHz, [][]complex128{{1, 0}, {0, 1}})
		}
		judge := func(kind string, err, want, bound float64) {
			if !(err <= bound) {
				t.Errorf("%d %s: off by %.3g %%, bound %.3g %%", k, kind, 100*err/want, 100*bound/want)
			}
			ratios[kind] = append(ratios[kind], bound/err)
		}
		for s, name := range []string{"own", "beside"} {
			for _, q := range d.points {
				b, bound := now[0].B(q, s)
				ref, _ := now[1].B(q, s)
				off := vec3{b[0] - ref[0], b[1] - ref[1], b[2] - ref[2]}
				judge(d.kind+", "+name, off.norm(), vec3(ref).norm(), bound)
			}
		}
	}
	var kinds []string
	for kind := range ratios {
		kinds = append(kinds, kind)
	}
	slices.Sort(kinds)
	var all []float64
	for _, kind := range kinds {
		v := ratios[kind]
		all = append(all, v...)
		slices.Sort(v)
		t.Logf("%s: %d values, bound over error: least %.2f, median %.2f", kind, len(v), v[0], v[len(v)/2])
	}
	slices.Sort(all)
	t.Logf("all: %d values, least %.2f, median %.2f", len(all), all[0], all[len(all)/2])
	row.Ratios = all
	return row
}
