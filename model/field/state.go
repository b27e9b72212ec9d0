package field

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space"
	"busgauss/model/space/iron"
)

// ironState is the steady field of saturating iron for one set of currents, in
// the plane section or in space.
type ironState interface {
	// at returns the flux density at q in tesla; a rough one without its bound.
	at(q geom.Point3, rough bool) Vec
	// wall returns the flux density of shield i in tesla.
	wall(i layout.ShieldIndex) (Wall, error)
}

// State is the steady field of saturating iron for one set of currents, with the bounds
// that a model asks for.
type State struct {
	of    ironState
	model *Model
	barsA []float64
}

// At returns the flux density at q in tesla.
func (s State) At(q geom.Point3) Vec {
	v := s.of.at(q, s.model.rough)
	v.Far, _ = s.model.farOf([]layout.Element{{At: q, Weight: 1}}, s.barsA)
	return v
}

// state returns the field of saturating iron for one set of currents, one a
// bar, in amperes, computed once; that of the opposite currents is the opposite
// field. The error is an *Unknown where Newton's method does not converge.
func (m *Model) state(currentsA []float64) (ironState, error) {
	return m.stateIn(currentsA, [2]float64{})
}

// stateIn is state in a uniform field besides, in tesla along x and y: of the plane section alone.
func (m *Model) stateIn(currentsA []float64, uniformT [2]float64) (ironState, error) {
	if e := m.extent(); e.refused != "" {
		return nil, &Unknown{e.refused}
	}
	if uniformT != ([2]float64{}) {
		if m.inSpace() {
			return nil, &Unknown{"a uniform field about saturating iron in space is not computed"}
		}
		currentsA = append(append([]float64(nil), currentsA...), uniformT[0], uniformT[1]) // for the key
	}
	c := m.cache
	c.stateMu.Lock()
	defer c.stateMu.Unlock()
	key := m.stateKey(currentsA, 1)
	if s := c.states[key]; s != nil {
		if n, err, ok := s.get(); ok {
			if err != nil {
				c.work.Missing()
			}
			return n, err
		}
	}
	if s := c.states[m.stateKey(currentsA, -1)]; s != nil {
		if n, err, ok := s.get(); ok {
			if err != nil {
				c.work.Missing()
				return nil, err
			}
			return opposite{n}, nil
		}
	}
	s := &madeState{in: c.shelf.Item()}
	var n ironState
	bytes := int64(0)
	if m.inSpace() {
		n, bytes, s.err = m.spaceState(currentsA)
	} else {
		n, bytes, s.err = m.planeState(currentsA[:len(m.Layout.Bars)], uniformT)
	}
	if s.err == nil {
		s.in.Put(n, bytes)
	}
	c.states[key] = s
	return n, s.err
}

// stateLevel is the level of m's states: in space the meshes of the first serve all,
// for they are as fine as a saturating problem may be.
func (m *Model) stateLevel() int {
	if m.inSpace() {
		return 0
	}
	return m.level
}

// stateLevelKey is the start of the keys of m's states.
func (m *Model) stateLevelKey() string {
	if m.draft {
		return "draft"
	}
	return strconv.Itoa(m.stateLevel())
}

// stateKey names a set of currents, times sign, to twelve digits: two instants half
// a period apart are opposite only up to rounding.
func (m *Model) stateKey(currentsA []float64, sign float64) string {
	var key strings.Builder
	key.WriteString(m.stateLevelKey())
	for _, a := range currentsA {
		key.WriteByte(' ')
		key.WriteString(strconv.FormatFloat(float64(sign*a)+0, 'g', 12, 64))
	}
	return key.String()
}

// opposite is the state of the opposite currents.
type opposite struct{ of ironState }

func (o opposite) at(q geom.Point3, rough bool) Vec        { return o.of.at(q, rough).Scale(-1) }
func (o opposite) wall(i layout.ShieldIndex) (Wall, error) { return o.of.wall(i) }

// planeState solves in the plane section, and says how many bytes that keeps.
func (m *Model) planeState(currentsA []float64, uniformT [2]float64) (ironState, int64, error) {
	c := m.cache
	if c.newton[m.level] == nil {
		p, err := curvedProblem(m.Layout)
		if err != nil {
			return nil, 0, err
		}
		z, err := fem.NewSaturating(p, fem.Options{Certainty: levelCertainty[m.level], Meshes: c.meshes, Work: c.work})
		if err != nil {
			return nil, 0, unknownOf(err)
		}
		c.newton[m.level] = z
	}
	n, err := c.newton[m.level].Solve(currentsA, uniformT)
	var stuck *fem.NotConverged
	if errors.As(err, &stuck) {
		return nil, 0, &Unknown{fmt.Sprintf("the state of saturating iron was not found: %v", err)}
	}
	if err != nil {
		return nil, 0, unknownOf(err)
	}
	for i := range m.Layout.Shields { // while the factor is there: it goes, for it is most of what a state holds
		if _, err := n.Wall(i); err != nil {
			return nil, 0, unknownOf(err)
		}
	}
	n.LetGo()
	return sectionState{n}, n.Bytes(), nil
}

type sectionState struct{ of *fem.Nonlinear }

func (s sectionState) at(q geom.Point3, rough bool) Vec {
	if rough {
		x, y := s.of.Rough(q.XY())
		return Vec{X: complex(x, 0), Y: complex(y, 0)}
	}
	x, y, bound := s.of.B(q.XY())
	return Vec{X: complex(x, 0), Y: complex(y, 0), Bound: bound}
}

func (s sectionState) wall(i layout.ShieldIndex) (Wall, error) {
	w, err := s.of.Wall(int(i))
	if err != nil {
		return Wall{}, unknownOf(err)
	}
	return Wall{Peak: bounded.Around(w.PeakT, w.PeakBoundT), RMS: rmsOf(w.Rms)}, nil
}

// spaceState solves in space; where iron is open, for both ends of what it may be.
func (m *Model) spaceState(currentsA []float64) (ironState, int64, error) {
	near, bytes, err := m.spaceStateOf(currentsA, nearEnd)
	if err != nil || !m.extent().open {
		return near, bytes, err
	}
	far, more, err := m.spaceStateOf(currentsA, farEnd)
	return joinedState{near, far, beyondOf(m.Layout)}, bytes + more, err
}

func (m *Model) spaceStateOf(currentsA []float64, e end) (ironState, int64, error) {
	problem, piece, err := m.ironProblem(m.stateLevel(), e) // which refuses what is too large before the bars are solved
	if err != nil {
		return nil, 0, err
	}
	bars, err := m.conductors()
	if err != nil {
		return nil, 0, err
	}
	sources, err := m.spaceSources()
	if err != nil {
		return nil, 0, err
	}
	basis := m.barBasis(sources[:len(bars)])
	d, err := m.draftOf(problem, basis, currentsA, e)
	if err != nil {
		return nil, 0, unknownInSpace(err)
	}
	if m.draft {
		return draftState{d, piece}, problem.StateBytes(), nil
	}
	if err := m.cache.work.Take(problem.StateSteps(false)-problem.StateSteps(true), "a state of iron in space"); err != nil {
		return nil, 0, &Unknown{err.Error()}
	}
	s, err := d.State()
	if err != nil {
		return nil, 0, unknownInSpace(err)
	}
	return solidState{s, piece, bars, slices.Clone(currentsA)}, problem.StateBytes(), nil
}

// stateFits returns why the state of the duty of m, of direct current, cannot be computed in space, before anything is solved;
// nil where it can be tried.
func (m *Model) stateFits() error {
	barsA, err := m.steadyBarsA(m.SteadyA())
	if err != nil {
		return err
	}
	for e := range ends {
		if e == farEnd && !m.extent().open {
			break
		}
		problem, _, err := m.ironProblem(m.stateLevel(), e)
		if err != nil || problem == nil {
			return err
		}
		sources, err := m.spaceSources()
		if err != nil {
			return err
		}
		if err := problem.Saturable(m.barBasis(sources[:len(barsA)]), barsA); err != nil {
			return unknownInSpace(err)
		}
	}
	return nil
}

// draftOf returns the answer of the coarse mesh, solved once. The caller holds stateMu.
func (m *Model) draftOf(p *iron.Problem, bars *iron.Basis, currentsA []float64, e end) (*iron.Draft, error) {
	d := *m
	d.draft = true
	key := d.stateKey(currentsA, 1)
	c := m.cache
	if got, ok := c.drafts[e][key]; ok {
		return got, nil
	}
	if err := c.work.Take(p.StateSteps(true), "a state of iron in space"); err != nil {
		return nil, err
	}
	got, err := p.DraftOf(bars, currentsA)
	if err == nil {
		if c.drafts[e] == nil {
			c.drafts[e] = map[string]*iron.Draft{}
		}
		c.drafts[e][key] = got
	}
	return got, err
}

// draftState is a state in space on the coarse mesh.
type draftState struct {
	of    *iron.Draft
	piece []int
}

func (s draftState) at(q geom.Point3, _ bool) Vec { return steady(s.of.B(q)) }

func (s draftState) wall(i layout.ShieldIndex) (Wall, error) {
	if s.piece[i] < 0 {
		return Wall{}, &Unknown{"it has no iron"}
	}
	t := s.of.PeakT(s.piece[i])
	return Wall{Peak: bounded.Exact(t), RMS: rmsOf(known(0, 0))}, nil
}

type solidState struct {
	of        *iron.State
	piece     []int // of each shield; -1 for one without iron
	bars      []*space.Conductor
	currentsA []float64 // of the bars
}

// barsT returns the bound of the field of the bars at q.
func (s solidState) barsT(q geom.Point3) float64 { return barsT(s.bars, s.currentsA, q) }

func barsT(bars []*space.Conductor, currentsA []float64, q geom.Point3) float64 {
	sum := 0.0
	for b, a := range currentsA {
		_, e := bars[b].B(q)
		sum += float64(e * math.Abs(a))
	}
	return sum
}

func (s solidState) at(q geom.Point3, rough bool) Vec {
	b, bound := s.of.B(q)
	v := steady(b)
	if !rough {
		v = v.inIron(bound, s.barsT(q))
	}
	return v
}

func (s solidState) wall(i layout.ShieldIndex) (Wall, error) {
	if s.piece[i] < 0 {
		return Wall{}, &Unknown{"it has no iron"}
	}
	w := s.of.Wall(s.piece[i])
	return Wall{Peak: bounded.Around(w.PeakT, w.PeakBoundT), RMS: rmsOf(known(w.RmsT, w.RmsBoundT))}, nil
}
