package iron

import (
	"math"
	"math/rand"
	"slices"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
)

// Differences of two answers on the same meshes against the limit of a second and third mesh: what one bar adds to the
// reading of a channel that another drives up to full iron and beyond, and what the state of its iron takes from the
// reading for small signals; with the fields and the walls of the states themselves. Seeded pieces of
// steel, the cells so coarse that a third mesh is to be had.
func TestDifferencesAgainstFiner(t *testing.T) {
	differencesAgainstFiner(t, draw, 2.2, atMost(3), *calibrateSeed)
}

// The same of rings.
func TestRingDifferencesAgainstFiner(t *testing.T) {
	differencesAgainstFiner(t, drawRing, 2.4, atMost(1), *calibrateSeed)
}

func differencesAgainstFiner(t *testing.T, draw func(*rand.Rand) drawn, scale float64, count int, seed int64) (row fixtures.CalibrationRow) {
	if testing.Short() {
		t.Skip("seconds an arrangement")
	}
	r := rand.New(rand.NewSource(seed))
	curve := steelCurve(t)
	ratios := ratiosOf{}
	for k := range count {
		d := draw(r)
		for i := range d.pieces {
			d.pieces[i].Curve, d.pieces[i].MuRel = curve, 0
		}
		fillT, share := 0.5+1.5*r.Float64(), math.Pow(10, -3*r.Float64())
		p, finer := threeMeshes(t, &d, scale)
		if len(finer.levels[1].m.nodes) > saturableNodes {
			continue
		}
		row.Arrangements, row.Pieces = row.Arrangements+1, row.Pieces+len(d.pieces)
		l, err := p.Linear(nil, d.bars)
		if err != nil {
			t.Fatal(err)
		}
		amps := fillT / l.Wall(0, []complex128{1, 0}).PeakT
		ownA, bothA := []float64{amps, 0}, []float64{amps, share * amps}
		solve := func(p *Problem) (own, both *State, small *Linear) {
			basis := NewBasis(d.bars)
			state := func(weights []float64) *State {
				draft, err := p.DraftOf(basis, weights)
				if err != nil {
					t.Fatal(err)
				}
				s, err := draft.State()
				if err != nil {
					t.Fatal(err)
				}
				return s
			}
			if small, err = p.LinearOf(nil, basis); err != nil {
				t.Fatal(err)
			}
			return state(ownA), state(bothA), small
		}
		own, both, small := solve(p)
		ownF, bothF, smallF := solve(finer)
		for _, q := range d.points {
			check := func(kind string, b, ref geom.Point3, bound Bound) {
				ratios.judge(t, k, kind, b.Sub(ref).Norm(), ref.Norm(), bound.T)
				ratios.judge(t, k, kind+" on the axis", math.Abs(b.X-ref.X), ref.Norm(), bound.Along.X)
			}
			b, bound := both.Less(q, own, 1)
			ref, _ := bothF.Less(q, ownF, 1)
			check("beside in a state", b, ref, bound)
			b, bound = own.Change(q, small, ownA)
			ref, _ = ownF.Change(q, smallF, ownA)
			check("change with the state", b, ref, bound)
			b, bound = both.B(q)
			ref, _ = bothF.B(q)
			check("state", b, ref, bound)
		}
		w, ref := both.Wall(0), bothF.Wall(0)
		ratios.judge(t, k, "wall of state", math.Abs(w.PeakT-ref.PeakT), ref.PeakT, w.PeakBoundT)
		ratios.judge(t, k, "end of state", math.Abs(w.EndT-ref.EndT), ref.EndT, w.EndBoundT)
	}
	row.Ratios = ratios.report(t)
	return row
}

// ratiosOf are bounds over errors by kind.
type ratiosOf map[string][]float64

func (r ratiosOf) judge(t *testing.T, k int, kind string, err, want, bound float64) {
	t.Helper()
	if *calibrateList {
		t.Logf("list %d,%s,%.4g,%.4g", k, kind, err/want, bound/want)
	}
	if !(err <= bound) {
		t.Errorf("%d %s: off by %.3g %%, bound %.3g %%", k, kind, 100*err/want, 100*bound/want)
	}
	r[kind] = append(r[kind], bound/err)
}

// report logs the figures by kind and returns all.
func (r ratiosOf) report(t *testing.T) (all []float64) {
	t.Helper()
	var kinds []string
	for kind := range r {
		kinds = append(kinds, kind)
	}
	slices.Sort(kinds)
	log := func(kind string, v []float64) {
		slices.Sort(v)
		over, _ := slices.BinarySearch(v, 1)
		t.Logf("%s: %d values, %d not covered, bound over error: least %.2f, median %.2f", kind, len(v), over, v[0], v[len(v)/2])
	}
	for _, kind := range kinds {
		all = append(all, r[kind]...)
		log(kind, r[kind])
	}
	log("all", all)
	return all
}

// threeMeshes returns the problem on a coarse mesh of a scale and its refinement, and that on the refinement and the
// refinement of it. What the bounds of coarse cells hold, those of fine ones do.
func threeMeshes(t *testing.T, d *drawn, scale float64) (p, finer *Problem) {
	t.Helper()
	g := standardGrading()
	if *calibrateSize > 0 {
		scale = *calibrateSize
	}
	g.scale = scale
	m, fine, err := buildPair(d.pieces, d.points, g, true, Options{MaxNodes: defaultMaxNodes})
	if err != nil {
		t.Fatal(err)
	}
	p = &Problem{pieces: d.pieces, points: d.points, scale: scale, levels: [2]*level{newLevel(m, d.pieces, scale), newLevel(fine, d.pieces, scale/2)}}
	finer = &Problem{pieces: d.pieces, points: d.points, scale: scale / 2, levels: [2]*level{p.levels[1], newLevel(fine.refined(), d.pieces, scale/2)}}
	return p, finer
}
