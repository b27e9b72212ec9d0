package field

import (
	"math"
	"slices"
	"sync"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space/eddy"
	"busgauss/model/work"
)

// wallsAt is walls at one frequency, for bars whose current crowds as the plane section says.
// Endless walls crowd it one way, no walls another; what walls that end do is taken to lie between:
// see wallsAt.change.
type wallsAt struct {
	of    *walls
	crowd [2][][]complex128 // current of each post with endless walls and without, per unit of each source
	eddy  *eddy.Currents    // combination 2 k + i is source k with crowd i

	mu   sync.Mutex
	seen map[geom.Point3][]wallField
}

// wallField is what changes with frequency at a point, for one source, with either crowd: the
// field of the walls and of the crowding of bars, with the bound of package eddy.
type wallField struct {
	bT     [2]Vec
	crowdT float64 // the larger field of the crowding alone
}

// wallSides are the walls at both ends of the range of permeabilities; one where none is open.
type wallSides []*wallsAt

// at returns the walls at the frequency of plane solutions with and without the walls: response beside that of iron
// of small signals.
func (w *walls) at(freqHz float64, response, small *eddy.Response, with, without *fem.Solution) (*wallsAt, error) {
	out := &wallsAt{of: w, seen: map[geom.Point3][]wallField{}}
	n := w.bars + uniforms
	for i, s := range []*fem.Solution{with, without} {
		out.crowd[i] = make([][]complex128, n)
		for k := range n {
			out.crowd[i][k] = make([]complex128, len(w.lines))
		}
		for _, f := range s.Filaments() {
			if f.Piece >= w.bars || len(w.posts[f.Piece].at) == 0 {
				continue
			}
			first := w.first[f.Piece]
			for j, share := range w.posts[f.Piece].shares(f.At) {
				for k, a := range f.CurrentA { // a uniform field along z is none of the plane
					out.crowd[i][k][first+j] += portable.Times(a, complex(share, 0))
				}
			}
		}
	}
	var weights [][]complex128
	for k := range n {
		for i := range out.crowd {
			row := make([]complex128, n+len(w.lines))
			row[k] = 1
			copy(row[n:], out.crowd[i][k])
			weights = append(weights, row)
		}
	}
	out.eddy = response.Against(small, freqHz, weights)
	if err := out.eddy.Err(); err != nil {
		return nil, &Unknown{err.Error()}
	}
	return out, nil
}

// moved returns what source src has at q beside its steady field.
func (w *wallsAt) moved(q geom.Point3, src int) wallField {
	w.mu.Lock()
	defer w.mu.Unlock()
	if got, ok := w.seen[q]; ok {
		return got[src]
	}
	n := w.of.bars + uniforms
	lines := make([]geom.Point3, len(w.of.lines))
	for i, line := range w.of.lines {
		lines[i] = line(q)
	}
	eddies, bounds := w.eddy.All(q)
	out := make([]wallField, n)
	for k := range out {
		for i := range out[k].bT {
			b := eddies[2*k+i]
			var c Vec
			for j, a := range w.crowd[i][k] {
				if a != 0 {
					c = c.Add(Vec{X: portable.Times(a, complex(lines[j].X, 0)), Y: portable.Times(a, complex(lines[j].Y, 0)), Z: portable.Times(a, complex(lines[j].Z, 0))})
				}
			}
			out[k].crowdT = math.Max(out[k].crowdT, c.Norm())
			out[k].bT[i] = Vec{X: b[0], Y: b[1], Z: b[2], Bound: bounds[2*k+i]}.Add(c)
		}
	}
	w.seen[q] = out
	return out[src]
}

// planeDeviation is how far the field of the crowding of bars may be off because the plane
// solution and the posts are: first meshes against finer ones are off by less (TestEddyMesh).
const planeDeviation = 0.03

// change is moved as a vector of f: that of endless walls and of none, the latter with half
// of the share up to which walls that end leave bars alone (aloneShare), and the other half of what both
// differ in the bound. The bars' own ends count as in endShare, and cuts as if
// nothing were known of the crowding beside them.
func (w *wallsAt) change(f *Field, q geom.Point3, src int) Vec {
	got := w.moved(q, src)
	half := aloneShare(f.layout, q.Z) / 2
	v := got.bT[0].Scale(complex(1-half, 0)).Add(got.bT[1].Scale(complex(half, 0)))
	share := planeDeviation + f.barsEndShare(q.Z)
	for i := range f.layout.Bars {
		if len(f.layout.Bars[i].Cuts) > 0 {
			share = math.Max(share, 1)
		}
	}
	v.Bound += float64(share*got.crowdT) + float64(half*got.bT[0].Add(got.bT[1].Scale(-1)).Norm())
	return v
}

// change is that of f's ends of the range of permeabilities: their middle, with half of what they differ in the bound.
func (s wallSides) change(f *Field, q geom.Point3, src int) Vec {
	if f.end > 0 && len(s) > 1 {
		s = s[f.end-1 : f.end]
	}
	return halfway(s[0].change(f, q, src), s[len(s)-1].change(f, q, src))
}

// aloneShare returns the share up to which the current of bars at height zM may be spread as if
// there were no walls: the largest over the conducting walls of
//
//	1        the wall ends within one of its widths w of z
//	(w/e)²   else, e the distance from z to its nearer end
//
// Across a bar a current spreads out over a length of its width. What is missing beyond the end of
// a wall is a row of magnetic dipoles, as in endShare.
func aloneShare(l *layout.Layout, zM float64) float64 {
	worst := 0.0
	for i := range l.Shields {
		s := &l.Shields[i]
		if m := &l.Materials[s.Material]; !(m.SigmaSPerM.V > 0) || m.SheetM.Set {
			continue
		}
		k := outerM(s) / math.Max(0, s.DepthM.V/2-math.Abs(zM-s.At.Z.V))
		worst = math.Max(worst, math.Min(1, k*k))
	}
	return worst
}

// wallsAt returns the walls at freqHz with iron in a range, nil where there are none to be taken. Of the plane section it
// has what the first mesh tells of the crowding of bars: see planeDeviation.
func (m *Model) wallsAt(freqHz float64, ranges []muRange) (wallSides, error) {
	w, err := m.wallsOf()
	if err != nil || w == nil || !w.resolved(freqHz, ranges) {
		return nil, err
	}
	ends := []func(muRange) float64{lowMu}
	if w.iron && slices.ContainsFunc(ranges, muRange.open) {
		ends = append(ends, highMu)
	}
	small, err := w.response(m.smallSignal(), ends[0])
	if err != nil {
		return nil, err
	}
	var out wallSides
	for _, pick := range ends {
		response, err := w.response(ranges, pick)
		if err != nil {
			return nil, err
		}
		var with, without *fem.Solution
		if err := m.atOnce(
			func(on *work.Budget) (err error) { with, err = m.roughSection(on, freqHz, ranges, pick); return err },
			func(on *work.Budget) (err error) { without, err = m.barsAlone(on, freqHz); return err },
		); err != nil {
			return nil, err
		}
		one, err := w.at(freqHz, response, small, with, without)
		if err != nil {
			return nil, err
		}
		out = append(out, one)
		without.LetGo()
	}
	return out, nil
}
