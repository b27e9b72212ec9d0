package field

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space"
	"busgauss/model/space/eddy"
	"busgauss/model/work"
)

// walls is what the conducting walls of a layout, of iron too, do in space to its bars and to a uniform field,
// for all frequencies. A walls is made once for a layout.
type walls struct {
	problem *eddy.Problem
	pieces  []wallPiece
	iron    bool // some piece is magnetic
	sources []eddy.Source
	small   []eddy.Source

	mu        sync.Mutex
	responses map[string]*work.Item // *eddy.Response by permeabilities
	shelf     *work.Shelf

	bars  int
	first []int // of the lines of each bar
	posts []posts
	lines []func(geom.Point3) geom.Point3 // of all posts, bar by bar
}

// wallPiece is a wall and what package eddy is told of it.
type wallPiece struct {
	shield layout.ShieldIndex
	of     eddy.Piece
	thinM  float64
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
	if w, err := m.metalsOf(); err == nil && w != nil && !m.insulated() {
		return true
	}
	w, err := m.wallsOf()
	return err == nil && w != nil
}

// wallPieces returns the conducting shields as pieces for package eddy; none where one of the
// shields is iron that does not conduct, or has no known end, or pieces are bonded.
func wallPieces(l *layout.Layout) (out []wallPiece, iron bool) {
	if len(l.Bonded) > 0 {
		return nil, false
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		if !(mat.SigmaSPerM.V > 0) || mat.SheetM.Set {
			if mat.Magnetic() {
				return nil, false
			}
			continue
		}
		if !s.DepthM.Set {
			return nil, false
		}
		p := shieldPiece(s)
		p.SigmaSPerM = mat.SigmaSPerM.V
		out, iron = append(out, wallPiece{layout.ShieldIndex(i), p, wallM(s.Region())}), iron || mat.Magnetic()
	}
	return out, iron
}

// wallM returns how thick the walls of a section are on the whole: twice its area over its outline.
func wallM(r geom.Region) float64 {
	around := 0.0
	for _, loop := range append([]geom.Polygon{r.Outer}, r.Holes...) {
		for i := range loop {
			a, b := loop.Edge(i)
			around += b.Sub(a).Norm()
		}
	}
	return 2 * r.AreaM2() / around
}

func (m *Model) newWalls() (*walls, error) {
	l := m.Layout
	of, iron := wallPieces(l)
	if !m.inSpace() || len(of) == 0 {
		return nil, nil
	}
	var pieces []eddy.Piece
	for i := range of {
		pieces = append(pieces, of[i].of)
	}
	var points []geom.Point3
	for i := range l.Sensors {
		for _, e := range l.Sensors[i].Elements() {
			points = append(points, e.At)
		}
	}
	problem, err := eddy.New(pieces, points, eddy.Options{Work: m.cache.work})
	if notTaken(err) || err == nil && iron && problem.Opened() {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	w := &walls{problem: problem, pieces: of, iron: iron, responses: map[string]*work.Item{}, shelf: m.cache.shelf, bars: len(bars)}
	for _, b := range bars {
		w.sources = append(w.sources, func(q geom.Point3) geom.Point3 { v, _ := b.B(q); return v })
	}
	for _, u := range []geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
		w.sources = append(w.sources, func(geom.Point3) geom.Point3 { return u })
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
			w.small = append(w.small, line)
		}
	}
	return w, nil
}

// response returns what the walls do, with iron of permeabilities picked from a range of each shield; made once.
func (w *walls) response(ranges []muRange, pick func(muRange) float64) (r *eddy.Response, err error) {
	var mu []float64
	if w.iron {
		for i := range w.pieces {
			mu = append(mu, pick(ranges[w.pieces[i].shield]))
		}
	}
	key := fmt.Sprint(mu)
	w.mu.Lock()
	defer w.mu.Unlock()
	if r, ok := keptResponse(w.responses[key]); ok {
		return r, nil
	}
	if w.iron {
		r, err = w.problem.RespondIron(mu, w.sources, w.small)
	} else {
		r, err = w.problem.Respond(w.sources, w.small)
	}
	if err != nil {
		return nil, &Unknown{"eddy currents of walls in space: " + err.Error()}
	}
	w.responses[key] = keepResponse(w.shelf, r)
	return r, nil
}

// keptResponse returns the response in a place; false where there is none any more.
func keptResponse(in *work.Item) (*eddy.Response, bool) {
	if in == nil {
		return nil, false
	}
	r, ok := in.Value().(*eddy.Response)
	if ok {
		in.Put(r, r.Bytes()) // it grows with the frequencies that are asked for
	}
	return r, ok
}

func keepResponse(on *work.Shelf, r *eddy.Response) *work.Item {
	in := on.Item()
	in.Put(r, r.Bytes())
	return in
}

// resolved reports whether the meshes tell the skin of magnetic walls at freqHz.
func (w *walls) resolved(freqHz float64, ranges []muRange) bool {
	for i := range w.pieces {
		p := &w.pieces[i]
		if mu := ranges[p.shield].high; mu > 1 && p.thinM > mostSkins*closedform.SkinDepthM(freqHz, p.of.SigmaSPerM, mu) {
			return false
		}
	}
	return true
}

// mostSkins is how many skin depths a magnetic wall may be thick: as calibrated in package eddy.
const mostSkins = 10

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

// notTaken reports whether package eddy refuses pieces for their number of cells or their form, so that their field is
// carried over from the section.
func notTaken(err error) bool {
	var large *eddy.TooLargeError
	var input *eddy.InputError
	return errors.As(err, &large) || errors.As(err, &input)
}
