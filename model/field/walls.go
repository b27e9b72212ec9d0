package field

import (
	"errors"
	"math"
	"sync"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space"
	"busgauss/model/space/eddy"
)

// walls is what the conducting walls of a layout do in space to its bars and to a uniform field,
// for all frequencies. A walls is made once for a layout.
type walls struct {
	response *eddy.Response
	bars     int
	first    []int // of the lines of each bar
	posts    []posts
	lines    []func(geom.Point3) geom.Point3 // of all posts, bar by bar
}

// wallsOf returns the walls of the layout in space; nil where there are none or where they
// are not all such as package eddy takes: then what changes with frequency is carried
// from the plane section.
func (m *Model) wallsOf() (*walls, error) {
	c := m.cache
	c.wallsOnce.Do(func() { c.walls, c.wallsErr = m.newWalls() })
	return c.walls, c.wallsErr
}

// wallsInSpace reports whether what changes with frequency is computed in space.
func (m *Model) wallsInSpace() bool {
	w, err := m.wallsOf()
	return err == nil && w != nil
}

// wallPieces returns the conducting shields as pieces for package eddy; none where one of the
// shields is iron or has no known end, or pieces are bonded.
func wallPieces(l *layout.Layout) (out []eddy.Piece) {
	if len(l.Bonded) > 0 {
		return nil
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		if mat.Magnetic() {
			return nil
		}
		if !(mat.SigmaSPerM.V > 0) || mat.SheetM.Set {
			continue
		}
		if !s.DepthM.Set {
			return nil
		}
		z := s.At.Point3().Z
		p := eddy.Piece{Name: s.ID, Section: s.Region(), FromZM: z - s.DepthM.V/2, ToZM: z + s.DepthM.V/2, SigmaSPerM: mat.SigmaSPerM.V}
		if f := &s.Form; f.Kind == layout.Ring {
			p.Ring = &eddy.Ring{Centre: s.At.Point(), InnerM: f.InnerM.V / 2, OuterM: f.InnerM.V/2 + f.WallM.V, SlitM: f.SlitM.V, TurnRad: s.TurnRad.V}
		}
		out = append(out, p)
	}
	return out
}

func (m *Model) newWalls() (*walls, error) {
	l := m.Layout
	pieces := wallPieces(l)
	if !m.inSpace() || len(pieces) == 0 {
		return nil, nil
	}
	var points []geom.Point3
	for i := range l.Sensors {
		for _, e := range l.Sensors[i].Elements() {
			points = append(points, e.At)
		}
	}
	problem, err := eddy.New(pieces, points, eddy.Options{})
	var large *eddy.TooLargeError
	var input *eddy.InputError
	if errors.As(err, &large) || errors.As(err, &input) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	w := &walls{bars: len(bars)}
	var sources, small []eddy.Source
	for _, b := range bars {
		sources = append(sources, func(q geom.Point3) geom.Point3 { v, _ := b.B(q); return v })
	}
	for _, u := range []geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
		sources = append(sources, func(geom.Point3) geom.Point3 { return u })
	}
	for i := range l.Bars {
		b := &l.Bars[i]
		w.first = append(w.first, len(w.lines))
		p := posts{}
		if b.SigmaSPerM > 0 {
			nearM := nearestM(l, b)
			if !(nearM > 0) {
				return nil, nil
			}
			p = newPosts(b, nearM)
		}
		w.posts = append(w.posts, p)
		lines, err := space.Lines(b, p.at)
		if err != nil {
			return nil, err
		}
		for _, line := range lines {
			w.lines = append(w.lines, line)
			small = append(small, line)
		}
	}
	if w.response, err = problem.Respond(sources, small); err != nil {
		return nil, &Unknown{"eddy currents of walls in space: " + err.Error()}
	}
	return w, nil
}

// nearestM returns the distance that the posts of bar b must serve: from what they stand in to the
// nearest wall or sensor in the plane, no less than nearestPost of its larger side; 0 where one lies within.
func nearestM(l *layout.Layout, b *layout.Bar) float64 {
	cover := coverOf(b).Place(b.At.Point(), b.TurnRad.V)
	near := math.Inf(1)
	for i := range l.Shields {
		d, _, _ := geom.GapRegionsM(geom.Solid(cover), l.Shields[i].Region())
		near = math.Min(near, d)
	}
	for i := range l.Sensors {
		for _, e := range l.Sensors[i].Elements() {
			near = math.Min(near, cover.DistanceM(e.At.XY()))
		}
	}
	size := coverOf(b).Box().Size()
	if near == 0 {
		return 0
	}
	return math.Max(near, nearestPost*math.Max(size.X, size.Y))
}

const nearestPost = 1.0 / 7

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

// at returns the walls at the frequency of plane solutions with and without the walls.
func (w *walls) at(freqHz float64, with, without *fem.Solution) *wallsAt {
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
					out.crowd[i][k][first+j] += a * complex(share, 0)
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
	out.eddy = w.response.At(freqHz, weights)
	return out
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
					c = c.Add(Vec{X: a * complex(lines[j].X, 0), Y: a * complex(lines[j].Y, 0), Z: a * complex(lines[j].Z, 0)})
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
	v.Bound += share*got.crowdT + half*got.bT[0].Add(got.bT[1].Scale(-1)).Norm()
	return v
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

// wallsAt returns the walls at freqHz, nil where there are none to be taken. Of the plane section it has what the first
// mesh tells of the crowding of bars: see planeDeviation.
func (m *Model) wallsAt(freqHz float64) (*wallsAt, error) {
	w, err := m.wallsOf()
	if err != nil || w == nil {
		return nil, err
	}
	var with, without *fem.Solution
	if err := atOnce(
		func() (err error) {
			with, err = m.roughSection(freqHz, m.smallSignal(), func(r muRange) float64 { return r.low })
			return err
		},
		func() (err error) { without, err = m.barsAlone(freqHz); return err },
	); err != nil {
		return nil, err
	}
	out := w.at(freqHz, with, without)
	without.LetGo()
	return out, nil
}
