package field

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/portable"
	"busgauss/model/work"
)

// planeProblem turns a layout into pieces of the plane solver: the bars in their
// order, then the shields in theirs, each with the relative permeability that
// pick takes from its range.
func planeProblem(l *layout.Layout, iron []muRange, pick func(muRange) float64) *fem.Problem {
	p := &fem.Problem{}
	for i := range l.Bars {
		b := &l.Bars[i]
		piece := fem.Piece{Name: b.ID, Region: geom.Solid(b.Polygon()), IsBar: true}
		if b.Section.Kind == layout.Round {
			piece.Round = &fem.Round{Centre: b.At.Point(), OuterM: b.Section.DiameterM.V / 2}
		}
		if b.SigmaSPerM > 0 {
			piece.SigmaSPerM = b.SigmaSPerM
		}
		if b.MuRel > 1 {
			piece.MuRel = b.MuRel
		}
		p.Pieces = append(p.Pieces, piece)
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		m := &l.Materials[s.Material]
		piece := fem.Piece{Name: s.ID, Region: s.Region()}
		if f := &s.Form; f.Kind == layout.Ring {
			piece.Round = &fem.Round{Centre: s.At.Point(), InnerM: f.InnerM.V / 2, OuterM: f.InnerM.V/2 + f.WallM.V,
				SlitM: f.SlitM.V, TurnRad: s.TurnRad.V}
		}
		if m.SigmaSPerM.Set {
			piece.SigmaSPerM = m.SigmaSPerM.V
		}
		if m.SheetM.Set {
			piece.SheetM = m.SheetM.V
		}
		piece.MuRel = pick(iron[i])
		p.Pieces = append(p.Pieces, piece)
	}
	for i := range l.Bonded {
		var group []int
		for _, b := range l.Bonded[i].Bars {
			group = append(group, int(b))
		}
		for _, s := range l.Bonded[i].Shields {
			group = append(group, len(l.Bars)+int(s))
		}
		p.Bonded = append(p.Bonded, group)
	}
	for i := range l.Sensors {
		s := &l.Sensors[i]
		for _, e := range s.Elements() {
			p.Sensors = append(p.Sensors, e.At.XY())
		}
	}
	return p
}

// curveOf returns the magnetisation curve of a material: its own points, or one
// made of permeability and saturation; nil when it has neither or is linear.
func curveOf(m *layout.Material) (*material.Curve, error) {
	switch {
	case len(m.Curve) > 0:
		points := make([]material.CurvePoint, len(m.Curve))
		for i, p := range m.Curve {
			points[i] = material.CurvePoint{FieldAPerM: p.FieldAPerM, FluxDensityT: p.FluxDensityT}
		}
		return material.NewCurve(points, material.Linear)
	case m.MuRel.Set && m.SaturationT.Set:
		return material.SaturationCurve(m.MuRel.V, m.SaturationT.V)
	}
	return nil, nil
}

// curve is curveOf the material of shield i, made once.
func (m *Model) curve(i layout.ShieldIndex) (*material.Curve, error) {
	c, k := m.cache, m.Layout.Shields[i].Material
	c.mu.Lock()
	defer c.mu.Unlock()
	made, ok := c.curves[k]
	if !ok {
		made.of, made.err = curveOf(&m.Layout.Materials[k])
		c.curves[k] = made
	}
	return made.of, made.err
}

// unknownOf turns an error of the plane solver into a reason.
func unknownOf(err error) error {
	var over *work.Over
	if errors.As(err, &over) {
		return &Unknown{over.Error()}
	}
	var large *fem.TooLarge
	var input *fem.InputError
	if errors.As(err, &large) || errors.As(err, &input) {
		return &Unknown{err.Error()}
	}
	return &Unknown{fmt.Sprintf("the plane solver stopped: %v", err)}
}

// solvePlane solves the linear field by finite elements to the certainty asked.
// Where the permeability of iron is only known to lie in a range, it solves with
// both ends: the field of the iron's true state lies between, for the reaction of
// a piece grows with its permeability.
func (m *Model) solvePlane(freqHz, certainty float64, iron []muRange) (*plane, error) {
	l := m.Layout
	if err := apart(l); err != nil {
		return nil, err
	}
	low, err := m.sectionWith(freqHz, certainty, iron, func(r muRange) float64 { return r.low })
	if err != nil || !slices.ContainsFunc(iron, muRange.open) {
		return &plane{low: low, bars: len(l.Bars)}, err
	}
	high, err := m.sectionWith(freqHz, certainty, iron, func(r muRange) float64 { return r.high })
	return &plane{low: low, high: high, bars: len(l.Bars)}, err
}

// sectionWith is solveWith for the layout of m, computed once: most ranges of one arrangement share an end. Other
// permeabilities than those of small signals start on the mesh of those.
func (m *Model) sectionWith(freqHz, certainty float64, iron []muRange,
	pick func(muRange) float64) (*fem.Solution, error) {
	mu := make([]float64, len(iron))
	for i, r := range iron {
		mu[i] = pick(r)
	}
	key := fmt.Sprint(freqHz, certainty, mu)
	c := m.cache
	c.mu.Lock()
	s, ok := c.sections[key]
	c.mu.Unlock()
	if ok {
		return s, nil
	}
	opt := fem.Options{Certainty: certainty, Meshes: c.meshes, Answers: m.known, Work: c.work, Shelf: c.shelf}
	if m.known == nil {
		opt.Answers = c.answers
	}
	small := m.smallSignal()
	atRest := func(r muRange) float64 { return r.low }
	if !slices.EqualFunc(mu, small, func(v float64, r muRange) bool { return v == atRest(r) }) {
		var err error
		if opt.Like, err = m.sectionWith(freqHz, certainty, small, atRest); err != nil {
			return nil, err
		}
	}
	s, err := fem.Solve(planeProblem(m.Layout, iron, pick), freqHz, opt)
	if err != nil {
		return nil, unknownOf(err)
	}
	c.mu.Lock()
	c.sections[key] = s
	c.mu.Unlock()
	c.hold(s)
	return s, nil
}

// apart returns an *Unknown for the first two pieces that share a place. The
// solver meshes only what reacts, so that it does not see every such mistake.
func apart(l *layout.Layout) error {
	type piece struct {
		id     string
		region geom.Region
	}
	var list []piece
	for i := range l.Bars {
		list = append(list, piece{l.Bars[i].ID, geom.Solid(l.Bars[i].Polygon())})
	}
	for i := range l.Shields {
		list = append(list, piece{l.Shields[i].ID, l.Shields[i].Region()})
	}
	for i := range list {
		for j := range i {
			if geom.OverlapRegions(list[i].region, list[j].region) {
				return &Unknown{fmt.Sprintf("%q and %q share a place, so that no field can be computed", list[i].id, list[j].id)}
			}
		}
	}
	return nil
}

// solveWith solves the plane section of l within a budget; its answers stay in this run.
func (m *Model) solveWith(on *work.Budget, l *layout.Layout, freqHz float64, opt fem.Options, iron []muRange, pick func(muRange) float64) (*fem.Solution, error) {
	opt.Work, opt.Shelf, opt.Answers = on, m.cache.shelf, fem.NewAnswers(nil)
	s, err := fem.Solve(planeProblem(l, iron, pick), freqHz, opt)
	if err != nil {
		return nil, unknownOf(err)
	}
	return s, nil
}

// plane is a linear solution; high is nil unless the permeability of iron is
// only known between two values.
type plane struct {
	low, high *fem.Solution
	bars      int
}

// method names the way for people.
func (p *plane) method() string {
	if p.high != nil {
		return p.low.Method + ", permeability of iron within the range of its state"
	}
	return p.low.Method
}

func (p *plane) at(q geom.Point, b layout.BarIndex, rough bool) Vec {
	return p.source(q, int(b), rough)
}

func (p *plane) uniform(q geom.Point, rough bool) (alongX, alongY Vec) {
	return p.source(q, p.bars, rough), p.source(q, p.bars+1, rough)
}

func (p *plane) sketch(q geom.Point, b layout.BarIndex) SectionPoint {
	a, x, y := p.low.Sketch(q, int(b))
	out := SectionPoint{a, x, y}
	if p.high != nil {
		a, x, y := p.high.Sketch(q, int(b))
		out = SectionPoint{portable.Quotient(out.AWbPerM+a, 2), portable.Quotient(out.BxT+x, 2), portable.Quotient(out.ByT+y, 2)}
	}
	return out
}

func (p *plane) sides() []section {
	if p.high == nil {
		return []section{p}
	}
	return []section{&plane{low: p.low, bars: p.bars}, &plane{low: p.high, bars: p.bars}}
}

// source returns the field at q per unit of source number src: bars first, then a
// uniform field along x and along y. A rough one has no bound of the solver.
func (p *plane) source(q geom.Point, src int, rough bool) Vec {
	v := planeAt(p.low, q, src, p.bars, rough)
	if p.high == nil {
		return v
	}
	w := planeAt(p.high, q, src, p.bars, rough)
	half := Vec{X: portable.Quotient(w.X-v.X, 2), Y: portable.Quotient(w.Y-v.Y, 2)}
	return Vec{
		X: portable.Quotient(v.X+w.X, 2), Y: portable.Quotient(v.Y+w.Y, 2),
		Bound: half.Norm() + math.Max(v.Bound, w.Bound),
	}
}

func planeAt(s *fem.Solution, q geom.Point, src, bars int, rough bool) Vec {
	switch {
	case rough && src < bars:
		x, y := s.Rough(q, src)
		return Vec{X: x, Y: y}
	case rough:
		x, y := s.RoughUniform(q, src-bars)
		return Vec{X: x, Y: y}
	case src < bars:
		x, y, bound := s.B(q, src)
		return Vec{X: x, Y: y, Bound: bound}
	}
	x, y, bound := s.Uniform(q, src-bars)
	return Vec{X: x, Y: y, Bound: bound}
}

// LossWPerM returns the loss in bar b by finite elements, for currents given as peak
// phasors. The current of some bar must be Crowded at the frequency of f.
func (f *Field) LossWPerM(b layout.BarIndex, peakA []complex128) float64 {
	if w, ok := f.way.(blend); ok {
		f = w.high // the next solved frequency, at which more is lost
	}
	if p, ok := planeOf(f.section); ok {
		return p.low.LossesWPerM(onFirst(f.layout, peakA))[b]
	}
	return math.NaN()
}
