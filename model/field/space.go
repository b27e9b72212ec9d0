package field

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space"
	"busgauss/model/space/iron"
	"busgauss/model/space/plan"
	"busgauss/model/work"
)

// spaceField is the field of a layout in space at steady current: exact bars, and
// iron of finite depth with its permeability of small signals.
type spaceField struct {
	sources []iron.Source // bars, a uniform field along x, y and z, wires, magnets
	bars    []*space.Conductor
	piece   []int        // of a shield in the iron problem; -1 without iron
	iron    *iron.Linear // answers to the bars; nil without iron

	far    *spaceField // the same with open iron at the far end of what it may be; nil where none is open
	beyond float64     // see joined

	phasorMu sync.Mutex
	phasors  map[string]*madePhasors // see phasorFieldOf

	problem *iron.Problem
	once    sync.Once
	others  *iron.Linear // answers to the sources after the bars, solved when asked for
	err     error
	work    *work.Budget
}

// The sources of a spaceField after its bars.
const uniforms = 3

// conductors returns the bars in space, made once.
func (m *Model) conductors() ([]*space.Conductor, error) {
	c := m.cache
	c.barsOnce.Do(func() {
		for i := range m.Layout.Bars {
			b, err := space.NewConductor(&m.Layout.Bars[i])
			if err != nil {
				c.barsErr = &Unknown{fmt.Sprintf("bar %q in space: %v", m.Layout.Bars[i].ID, err)}
				return
			}
			c.bars = append(c.bars, b)
		}
	})
	return c.bars, c.barsErr
}

// Flow returns the current flow in the plan of a bar with cuts; nil for one without.
func (m *Model) Flow(b layout.BarIndex) (*plan.Flow, error) {
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	return bars[b].Flow(), nil
}

// barBasis returns the bars as sources for iron, made once.
func (m *Model) barBasis(bars []iron.Source) *iron.Basis {
	c := m.cache
	c.basisOnce.Do(func() { c.basis = iron.NewBasis(bars) })
	return c.basis
}

// ironProblem returns the iron of the layout meshed in space for a level, open iron at one end of what it may be; nil
// when there is none, made once.
func (m *Model) ironProblem(level int, e end) (*iron.Problem, []int, error) {
	l := m.Layout
	prisms := prismsOf(l, e)
	index := make([]int, len(l.Shields))
	var pieces []iron.Piece
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		index[i] = -1
		if !mat.Magnetic() {
			continue
		}
		curve, err := curveOf(mat)
		if err != nil {
			return nil, nil, &Unknown{err.Error()}
		}
		p := iron.Piece{
			Name: s.ID, Section: s.Region(), Ring: ringOf(s), FromZM: prisms[i].fromZM, ToZM: prisms[i].toZM, Long: prisms[i].long,
			MuRel: mat.MuRel.V, Curve: curve,
		}
		if curve != nil {
			p.MuRel = math.Max(1, curve.MuRelInitial())
		}
		if level > 0 {
			p.Curve = nil // states stay on the meshes of the first: see stateLevel
		}
		index[i] = len(pieces)
		pieces = append(pieces, p)
	}
	if len(pieces) == 0 {
		return nil, index, nil
	}
	c := m.cache
	c.magnetMu.Lock()
	defer c.magnetMu.Unlock()
	got := &c.magnets[e][level]
	if got.problem == nil && got.err == nil {
		var points []geom.Point3
		for i := range l.Sensors {
			for _, e := range l.Sensors[i].Elements() {
				points = append(points, e.At)
			}
		}
		if err := c.work.Take(0, "iron in space"); err != nil {
			return nil, nil, &Unknown{err.Error()}
		}
		opt := spaceMeshes[level]
		opt.Work, opt.Shelf = c.work, c.shelf
		got.problem, got.err = iron.New(pieces, points, opt)
		if got.err != nil {
			got.err = unknownInSpace(got.err)
		}
	}
	return got.problem, index, got.err
}

// ringOf returns the circles of a ring; nil of another shield.
func ringOf(s *layout.Shield) *iron.Ring {
	f := &s.Form
	if f.Kind != layout.Ring {
		return nil
	}
	return &iron.Ring{Centre: s.At.Point(), InnerM: f.InnerM.V / 2, OuterM: f.InnerM.V/2 + f.WallM.V, SlitM: f.SlitM.V, TurnRad: s.TurnRad.V}
}

// spaceMeshes is how iron in space is meshed, level by level. Those of the last serve steady current in linear iron alone, and
// its walls.
var spaceMeshes = [len(levelCertainty)]iron.Options{{Certainty: 0.01}, {Certainty: 0.01}, {Certainty: 0.003, MaxNodes: 7800, MaxUnlike: 2600}}

// unknownInSpace turns an error of the iron solver into a reason.
func unknownInSpace(err error) error {
	var over *work.Over
	if errors.As(err, &over) {
		return &Unknown{over.Error()}
	}
	var stuck *iron.NotConvergedError
	if errors.As(err, &stuck) {
		return &Unknown{fmt.Sprintf("the state of saturating iron in space was not found: %v", err)}
	}
	var large *iron.TooLargeError
	if errors.As(err, &large) {
		saturating := ""
		if large.Saturating {
			saturating = " where it saturates"
		}
		return &Unknown{fmt.Sprintf("iron of finite depth asks for %d unknowns%s on its coarsest meshes and %d are the most: say `depth: long`, take a plate, channel or ring for an outline of many corners, or judge fewer shields in one layout",
			large.Nodes, saturating, large.Max)}
	}
	return &Unknown{fmt.Sprintf("iron of finite depth: %v", err)}
}

// spaceSources returns everything that makes a field in the layout, per unit.
func (m *Model) spaceSources() ([]iron.Source, error) {
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	var out []iron.Source
	for _, b := range bars {
		out = append(out, func(q geom.Point3) geom.Point3 { v, _ := b.B(q); return v })
	}
	for _, u := range []geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
		out = append(out, func(geom.Point3) geom.Point3 { return u })
	}
	around := &m.Layout.Surroundings
	for i := range around.Wires {
		at := around.Wires[i].At.Point()
		out = append(out, func(q geom.Point3) geom.Point3 {
			return closedform.FilamentB(q.XY().Sub(at), 1).Space(0)
		})
	}
	for i := range around.Magnets {
		g := &around.Magnets[i]
		out = append(out, func(q geom.Point3) geom.Point3 { return MagnetB(g, q) })
	}
	return out, nil
}

// spaceField returns the field in space, computed once for each level.
func (m *Model) spaceField() (*spaceField, error) {
	c := m.cache
	c.spaceMu.Lock()
	defer c.spaceMu.Unlock()
	made := &c.spaces[m.linearLevel()]
	if made.field == nil && made.err == nil {
		made.field, made.err = m.newSpaceField()
	}
	return made.field, made.err
}

func (m *Model) newSpaceField() (*spaceField, error) {
	if _, _, err := m.ironProblem(m.linearLevel(), nearEnd); err != nil { // refuse what is too large before the bars are solved
		return nil, err
	}
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	sources, err := m.spaceSources()
	if err != nil {
		return nil, err
	}
	near, err := m.spaceFieldOf(sources, bars, nearEnd)
	if err != nil || !m.extent().open {
		return near, err
	}
	near.far, err = m.spaceFieldOf(sources, bars, farEnd)
	near.beyond = beyondOf(m.Layout)
	return near, err
}

func (m *Model) spaceFieldOf(sources []iron.Source, bars []*space.Conductor, e end) (*spaceField, error) {
	problem, piece, err := m.ironProblem(m.linearLevel(), e)
	if err != nil {
		return nil, err
	}
	f := &spaceField{sources: sources, bars: bars, piece: piece, problem: problem}
	if problem == nil {
		return f, nil
	}
	if err := m.cache.work.Take(problem.LinearSteps(len(bars)), "iron in space"); err != nil {
		return nil, &Unknown{err.Error()}
	}
	f.work = m.cache.work
	if f.iron, err = problem.LinearOf(nil, m.barBasis(sources[:len(bars)])); err != nil {
		return nil, unknownInSpace(err)
	}
	return f, nil
}

// at returns the flux density at q per unit of source src, iron included; a rough
// one has no bound.
func (f *spaceField) at(q geom.Point3, src int, rough bool) Vec {
	v := f.atEnd(q, src, rough)
	if f.far != nil {
		v = joined(v, f.far.atEnd(q, src, rough), f.beyond)
	}
	return v
}

func (f *spaceField) atEnd(q geom.Point3, src int, rough bool) Vec {
	var b geom.Point3
	var bound iron.Bound
	rest := 0.0
	switch {
	case src < len(f.bars):
		b, rest = f.bars[src].B(q)
		if f.iron != nil {
			b, bound = f.iron.B(q, src)
		}
	case f.iron == nil:
		b = f.sources[src](q)
	default:
		f.solveOthers()
		if f.err != nil {
			f.work.Missing()
			return notKnown
		}
		b, bound = f.others.B(q, src-len(f.bars))
	}
	v := steady(b)
	if !rough {
		v = v.inIron(bound, rest+float64(1e-9*v.Norm()))
	}
	return v
}

// solveOthers solves the sources after the bars, once.
func (f *spaceField) solveOthers() {
	f.once.Do(func() {
		if f.err = f.work.Take(f.problem.LinearSteps(len(f.sources)-len(f.bars)), "iron in foreign fields in space"); f.err == nil {
			f.others, f.err = f.problem.Linear(nil, f.sources[len(f.bars):])
		}
	})
}

func steady(b geom.Point3) Vec {
	return Vec{X: complex(b.X, 0), Y: complex(b.Y, 0), Z: complex(b.Z, 0)}
}

// wall returns the flux density of a piece of iron for currents given as peak
// phasors of one frequency.
func (f *spaceField) wall(piece int, peakA []complex128) Wall {
	w := f.wallAtEnd(piece, peakA)
	if f.far != nil {
		w = joinedWall(w, f.far.wallAtEnd(piece, peakA), f.beyond)
	}
	return w
}

func (f *spaceField) wallAtEnd(piece int, peakA []complex128) Wall {
	w := f.iron.Wall(piece, peakA)
	return Wall{
		Peak: bounded.Around(w.PeakT, w.PeakBoundT), RMS: rmsOf(known(w.RmsT, w.RmsBoundT)),
		Most: mostOf(w, 0),
	}
}

// mostOf returns the largest flux density of a wall, its ends counted, with slackT on both sides.
func mostOf(w iron.Wall, slackT float64) bounded.Estimate {
	return bounded.Most(bounded.Around(w.PeakT, w.PeakBoundT+slackT), bounded.Around(w.EndT, w.EndBoundT+slackT))
}
