package eddy

import (
	"flag"
	"math"
	"math/rand"
	"slices"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
)

var drawnIron = flag.Int("iron-pieces", 20, "random arrangements that TestIronBoundsAgainstFiner draws with -long")

// drawIron is draw with iron of a permeability from 20 to 5000 and half to twice of it beside; a third of the bars are no
// pieces, and half of the others stand about iron that does not conduct.
func drawIron(r *rand.Rand) (d drawn, mu, beside []float64) {
	for d.kind == "" || d.kind == "closed ring" {
		d = draw(r)
	}
	of := math.Exp(math.Log(20) + r.Float64()*math.Log(5000.0/20))
	other := of * math.Exp((r.Float64()*2-1)*math.Log(2))
	d.freqHz /= of // of the same skin
	for range d.pieces {
		mu, beside = append(mu, of), append(beside, other)
	}
	way := r.Intn(3)
	if way == 0 {
		return d, mu, beside
	}
	p := d.pieces[0]
	if way == 2 {
		skin := d.barSize[1] * math.Exp(math.Log(0.1)+r.Float64()*math.Log(30))
		d.freqHz = hzOf(skin, copper)
		for i := range d.pieces {
			d.pieces[i].SigmaSPerM = 0
		}
	}
	half := (p.ToZM - p.FromZM) / 2
	for _, at := range d.barAt {
		d.pieces = append(d.pieces, Piece{
			Name: "B", Section: geom.Solid(geom.Rectangle(d.barSize[0], d.barSize[1])).Place(at, 0),
			FromZM: -half - 8*d.barSize[0], ToZM: half + 8*d.barSize[0], SigmaSPerM: copper,
			Core: Core{HalfM: half + d.barSize[0]/2, StepM: math.Max(d.barSize[0]/6, half/5)},
		})
		mu, beside = append(mu, 1), append(beside, 1)
	}
	return d, mu, beside
}

// TestBoundsAgainstFiner with iron, that conducts and that does not, and with bars as pieces of metal: of what changes from
// steady sources, beside the same iron and every fourth time beside iron of another permeability. Arrangements whose third mesh
// has more than mostFiner cells are left out, as are those whose meshes are made sparing.
func TestIronBoundsAgainstFiner(t *testing.T) {
	count := 3
	if *long {
		count = *drawnIron
	}
	if testing.Short() {
		t.Skip("seconds an arrangement")
	}
	ironBoundsAgainstFiner(t, count)
}

func ironBoundsAgainstFiner(t *testing.T, count int) (row fixtures.CalibrationRow) {
	r := rand.New(rand.NewSource(*drawnSeed))
	var ratios []float64
	for k := range count {
		d, mu, beside := drawIron(r)
		p, err := New(d.pieces, d.points, Options{})
		if err != nil {
			t.Fatal(err)
		}
		m, err := build(d.pieces, d.points, 1/coarseScale, 3*mostFiner)
		if _, n := p.Cells(); err != nil || len(m.cells) > mostFiner || len(m.cells) < 2*n {
			continue
		}
		row.Arrangements, row.Pieces = row.Arrangements+1, row.Pieces+len(d.pieces)
		var now [2]*Currents
		for i, p := range []*Problem{p, {levels: [2]*level{p.levels[1], newLevel(m)}}} {
			response, err := p.RespondIron(mu, d.bars, nil)
			if err != nil {
				t.Fatal(err)
			}
			base := response
			if k%4 == 0 {
				if base, err = p.RespondIron(beside, d.bars, nil); err != nil {
					t.Fatal(err)
				}
			}
			now[i] = response.Against(base, d.freqHz, [][]complex128{{1, 0}, {0, 1}})
		}
		for s := range d.bars {
			for _, q := range d.points {
				b, bound := now[0].B(q, s)
				ref, _ := now[1].B(q, s)
				err, want := (vec3{b[0] - ref[0], b[1] - ref[1], b[2] - ref[2]}).norm(), vec3(ref).norm()
				if !(err <= bound) {
					t.Errorf("%d %s, source %d: off by %.3g %%, bound %.3g %%", k, d.kind, s, 100*err/want, 100*bound/want)
				}
				ratios = append(ratios, bound/err)
			}
		}
	}
	slices.Sort(ratios)
	t.Logf("%d values, bound over error: least %.2f, median %.2f", len(ratios), ratios[0], ratios[len(ratios)/2])
	row.Ratios = ratios
	return row
}

const mostFiner = 4500
