package probe

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// Vec is a flux density, in tesla or tesla per ampere, as peak
// phasors with e^{+jωt}. Bound is the half width of its error, of any phase;
// Quad that of an error which is known to be a quarter period away from the
// vector itself. Both are in the unit of X, Y and Z; Z is 0 in the plane section.
type Vec struct {
	X, Y, Z     complex128
	Bound, Quad float64
}

// Norm returns the root of |X|² + |Y|² + |Z|².
func (v Vec) Norm() float64 {
	return math.Hypot(math.Hypot(cmplx.Abs(v.X), cmplx.Abs(v.Y)), cmplx.Abs(v.Z))
}

// Add returns the sum, bounds added.
func (v Vec) Add(w Vec) Vec {
	return Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z, v.Bound + w.Bound, v.Quad + w.Quad}
}

// Scale returns v times a phasor.
func (v Vec) Scale(c complex128) Vec {
	a := cmplx.Abs(c)
	return Vec{v.X * c, v.Y * c, v.Z * c, v.Bound * a, v.Quad * a}
}

// Unknown says why a field cannot be given. A rule that meets one is undecided.
type Unknown struct {
	Reason string
}

// Error returns the reason.
func (u *Unknown) Error() string { return u.Reason }

// levelCertainty is the relative bound that the plane solver is asked for, level
// by level. The second takes the true state of saturating iron instead of a range
// of permeabilities and is passed over where nothing saturates. A verdict that a level leaves undecided is tried at the next; the
// last is the ceiling.
var levelCertainty = [...]float64{0.005, 0.005, 0.001}

// Model answers for one layout. It may be used from several goroutines.
type Model struct {
	Layout *layout.Layout
	rough  bool // leave the bound of the plane solver out: see Rough
	draft  bool // states of iron in space from the coarse mesh: see drafted
	level  int
	cache  *fieldCache
	duty   *layout.Duty // whose flux sets the state of iron; nil: small signals
}

// fieldCache keeps the fields of one arrangement of bars and shields. They do
// not depend on the sensors, so models that differ only there share it.
type fieldCache struct {
	mu     sync.Mutex
	fields map[fieldKey]*Field
	errs   map[fieldKey]error

	stateMu sync.Mutex // held while a state is solved
	states  map[string]madeState

	spaceCache
	newton [len(levelCertainty)]*fem.Saturating
}

type fieldKey struct {
	level  int
	freqHz float64
	duty   string
}

// NewModel returns a model of l. Nothing is computed yet.
func NewModel(l *layout.Layout) *Model {
	return &Model{Layout: l, cache: &fieldCache{
		fields: map[fieldKey]*Field{}, errs: map[fieldKey]error{}, states: map[string]madeState{},
	}}
}

// Refined returns a model of the same layout that asks for a smaller bound;
// false at the ceiling.
func (m *Model) Refined() (*Model, bool) {
	if m.level+1 >= len(levelCertainty) {
		return nil, false
	}
	finer := *m
	finer.level++
	if levelCertainty[finer.level] == levelCertainty[m.level] && !Saturable(m.Layout) {
		finer.level++
	}
	return &finer, true
}

// Precise returns a model at the last level, for callers that print numbers and
// have no verdict to stop at.
func (m *Model) Precise() *Model {
	for {
		finer, ok := m.Refined()
		if !ok {
			return m
		}
		m = finer
	}
}

// With returns a model of l at the level of m. Where l has the same bars and
// shields as m's layout, in the same place of memory, the fields are shared.
func (m *Model) With(l *layout.Layout) *Model {
	n := NewModel(l)
	n.level, n.duty, n.rough, n.draft = m.level, m.duty, m.rough, m.draft
	if sameSlice(l.Bars, m.Layout.Bars) && sameSlice(l.Shields, m.Layout.Shields) {
		n.cache = m.cache
	}
	return n
}

func sameSlice[T any](a, b []T) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// For returns a model in which the iron of the layout stands in the state that
// the currents of duty d bring it to. Without a curve or a saturation that is m
// itself.
func (m *Model) For(d *layout.Duty) *Model {
	if m.duty == d || !Saturable(m.Layout) {
		return m
	}
	n := *m
	n.duty = d
	return &n
}

// Field returns the field at freqHz, computed once. The error is an *Unknown
// when no method of this program holds there.
func (m *Model) Field(freqHz float64) (*Field, error) {
	if m.inSpace() && m.oneState() {
		small := *m
		small.duty = nil // states take the place of what hangs on the permeability: Read, Wall, OwnPerAmpere
		return small.Field(freqHz)
	}
	key := fieldKey{level: m.level, freqHz: freqHz}
	if m.duty != nil {
		key.duty = m.duty.ID
	}
	f, err := m.cache.get(key, func() (*Field, error) {
		iron, err := m.ironRange()
		if err != nil {
			return nil, err
		}
		return m.ironField(freqHz, iron)
	})
	if err != nil || !m.rough {
		return f, err
	}
	quick := *f
	quick.rough = true
	return &quick, nil
}

// ironField is the field at freqHz with iron in a given range, computed once
// for all duties that come to the same range.
func (m *Model) ironField(freqHz float64, iron []muRange) (*Field, error) {
	level := m.linearLevel()
	key := fieldKey{level: level, freqHz: freqHz, duty: fmt.Sprintf("\x00%v", iron)}
	return m.cache.get(key, func() (*Field, error) {
		if !m.inSpace() {
			return solve(m.Layout, freqHz, level, iron)
		}
		return m.ironFieldInSpace(freqHz, iron)
	})
}

// ironFieldInSpace is ironField where the layout is computed in space. The plane
// section serves there for what changes with frequency and permeability, so that the
// first level of it is good enough for all.
func (m *Model) ironFieldInSpace(freqHz float64, iron []muRange) (*Field, error) {
	if m.linearLevel() > 0 {
		first := *m
		first.level = 0
		f, err := first.ironField(freqHz, iron)
		if err != nil {
			return nil, err
		}
		finer := *f
		if f.base != nil {
			if finer.base, err = m.ironField(0, m.smallSignal()); err != nil {
				return nil, err
			}
		}
		finer.space, err = m.spaceField()
		return &finer, err
	}
	small := m.smallSignal()
	if len(m.Layout.Shields) > 0 && freqHz == 0 && slices.Equal(iron, small) {
		f := &Field{layout: m.Layout}
		f.late = &latePlane{make: func() (*plane, error) { return solvePlane(m.Layout, 0, levelCertainty[0], small) }}
		var err error
		f.space, err = m.spaceField()
		f.Method = f.spaceMethod()
		return f, err
	}
	f, err := solve(m.Layout, freqHz, 0, iron)
	if err != nil {
		return nil, err
	}
	if freqHz > 0 || !slices.Equal(iron, small) {
		if f.base, err = m.ironField(0, small); err != nil {
			return nil, err
		}
	}
	f.space, err = m.spaceField()
	f.Method = f.spaceMethod()
	return f, err
}

// linearLevel is the first level whose linear fields are those of m.
func (m *Model) linearLevel() int {
	level := m.level
	for level > 0 && levelCertainty[level-1] == levelCertainty[level] {
		level--
	}
	return level
}

// Rough returns a model whose readings have the same values as m's, but the
// bounds of the plane solver left out: they cost most of a value at a new place. What
// fails without them fails with them. For searches, and for tables of many places whose
// bound is told at a few of them.
func (m *Model) Rough() *Model {
	q := *m
	q.rough = true
	return &q
}

// get returns the field under key, made at the first call. Two calls at once may
// both make it; they make the same.
func (c *fieldCache) get(key fieldKey, make func() (*Field, error)) (*Field, error) {
	c.mu.Lock()
	f, ok := c.fields[key]
	err := c.errs[key]
	c.mu.Unlock()
	if ok {
		return f, err
	}
	f, err = make()
	c.mu.Lock()
	c.fields[key], c.errs[key] = f, err
	c.mu.Unlock()
	return f, err
}

// Field is the field of a layout at one frequency, per ampere of each bar, at
// any point of the plane.
type Field struct {
	FreqHz float64
	Method string
	layout *layout.Layout
	eddy   eddyBound   // of the closed form
	plane  *plane      // nil where the closed form holds, and where late is set
	late   *latePlane  // in space at 0 Hz with iron of small signals: only comparisons ask for the section
	rough  bool        // without the bound of plane
	space  *spaceField // nil where the plane section serves
	base   *Field      // in space: the same at 0 Hz with iron of small signals; nil where f is that one
}

// nonMagnetic is how far a relative permeability may lie above 1 for the closed
// forms, which know none: copper, aluminium and brass lie within 1e-4.
const nonMagnetic = 1e-4

// notKnown is a flux density of which nothing is known; rules find it undecided.
var notKnown = Vec{X: complex(math.NaN(), 0), Y: complex(math.NaN(), 0), Z: complex(math.NaN(), 0), Bound: math.NaN()}

// solve picks the method for one frequency: the closed form for bare bars, as
// long as direct current or thin sections make it exact or its bound small,
// else finite elements.
func solve(l *layout.Layout, freqHz float64, level int, iron []muRange) (*Field, error) {
	f := &Field{FreqHz: freqHz, Method: "closed form, long bars", layout: l}
	magnetic := false
	for i := range l.Bars {
		switch b := &l.Bars[i]; {
		case math.IsNaN(b.MuRel):
			return nil, &Unknown{fmt.Sprintf("bar %q is of iron with a curve, which is not computed", b.ID)}
		case b.MuRel > 1+nonMagnetic:
			magnetic = true
		}
	}
	if len(l.Shields) == 0 && len(l.Bonded) == 0 && !magnetic {
		eddy, thin := uniformDensityBound(l, freqHz)
		if freqHz == 0 || thin && level == 0 {
			f.eddy = eddy
			if freqHz > 0 {
				f.Method += ", uniform current density"
			}
			return f, nil
		}
	}
	p, err := solvePlane(l, freqHz, levelCertainty[level], iron)
	if err != nil {
		return nil, err
	}
	f.plane, f.Method = p, p.method()
	return f, nil
}

// latePlane is a plane solution that is made when first asked for.
type latePlane struct {
	once  sync.Once
	make  func() (*plane, error)
	plane *plane
	err   error
}

// solved returns the plane solution, nil where the closed form holds.
func (f *Field) solved() (*plane, error) {
	if f.late == nil {
		return f.plane, nil
	}
	f.late.once.Do(func() { f.late.plane, f.late.err = f.late.make() })
	return f.late.plane, f.late.err
}

// Bare reports whether the field is the closed form.
func (f *Field) Bare() bool { return f.plane == nil && f.late == nil }

// EddyBounded reports whether the field is the closed form of alternating current,
// whose bound holds what its uniform current density leaves out.
func (f *Field) EddyBounded() bool { return f.Bare() && f.eddy != (eddyBound{}) }

// farM is the distance beyond which a layout says nothing of its surroundings.
const farM = 1.0

// farT returns what an enclosure farM away from the middle of the bars may add
// to the field of bar b, in T/A: the field of the bar's image in a circle of
// that radius, which near the middle is uniform,
//
//	ΔB = μ0 d / (2π R²)
//
// with d the distance of the bar from the middle. Source: method of images for
// a line in a circular boundary (W. R. Smythe, Static and Dynamic Electricity,
// 3rd ed., chapter 4; from memory).
func (f *Field) farT(b layout.BarIndex) float64 {
	var middle geom.Point
	bars := f.layout.Bars
	for i := range bars {
		middle = middle.Add(bars[i].Centre())
	}
	d := bars[b].Centre().Sub(middle.Scale(1 / float64(len(bars)))).Norm()
	return si.Mu0HPerM * d / (2 * math.Pi * farM * farM)
}

// sectionAt returns the flux density at p in tesla per ampere of bar b in the plane
// section, as if bars and shields had no end.
//
// Formula: closedform.RectangleB, CircleB or PolygonB for a long straight bar
// with uniform current density; its bound is that of uniformDensityBound, of
// farT, and 1e-9 of the value for rounding. With shields, and where the current
// crowds, fem.Solve and its bound, and farT.
func (f *Field) sectionAt(p geom.Point, b layout.BarIndex) Vec {
	v := f.alone(p, b)
	v.Bound += f.farT(b)
	return v
}

// alone is sectionAt without what an enclosure far away may add.
func (f *Field) alone(p geom.Point, b layout.BarIndex) Vec {
	if section, err := f.solved(); err != nil {
		return notKnown
	} else if section != nil {
		return section.at(p, int(b), len(f.layout.Bars), f.rough)
	}
	v := BarB(&f.layout.Bars[b], p)
	out := Vec{X: complex(v.X, 0), Y: complex(v.Y, 0)}
	n := out.Norm()
	own, idle := f.eddy.at(f.layout, p, b)
	e := own
	if idle {
		e = f.eddy.neighbour
	}
	out.Bound = n * (e.inPhase + 1e-9)
	out.Quad = n * e.quadrature
	return out
}

// Uniform returns the flux density at q in tesla per tesla of a uniform field along
// x, y and z, the field itself included. In the plane section a field along z
// passes shields and bars unchanged.
func (f *Field) Uniform(q geom.Point3) (along [3]Vec) {
	if f.space == nil {
		along[0], along[1] = f.sectionUniform(q.XY())
		along[2] = Vec{Z: 1}
		return along
	}
	n := len(f.layout.Bars)
	for k := range along {
		along[k] = f.carried(f.space.at(q, n+k, f.rough), func(g *Field) Vec {
			x, y := g.sectionUniform(q.XY())
			return [3]Vec{x, y, {Z: 1}}[k]
		})
	}
	return along
}

// sectionUniform is Uniform in the plane section, for a field along x and along y.
func (f *Field) sectionUniform(p geom.Point) (alongX, alongY Vec) {
	section, err := f.solved()
	if err != nil {
		return notKnown, notKnown
	}
	if section == nil {
		e := f.eddy.neighbour // of idle bars in the field of something else
		return Vec{X: 1, Bound: e.inPhase, Quad: e.quadrature}, Vec{Y: 1, Bound: e.inPhase, Quad: e.quadrature}
	}
	n := len(f.layout.Bars)
	return section.at(p, n, n, f.rough), section.at(p, n+1, n, f.rough)
}

// BarB returns the flux density at p in tesla of one ampere in a long straight bar by
// itself, spread evenly over its section: closedform.RectangleB, CircleB or PolygonB.
func BarB(b *layout.Bar, p geom.Point) geom.Point {
	q := p.Sub(b.At.Point()).Rotate(-b.TurnRad.V)
	var v geom.Point
	switch b.Section.Kind {
	case layout.Rectangle:
		v = closedform.RectangleB(q, b.Section.WidthM.V, b.Section.ThicknessM.V, 1)
	case layout.Round:
		v = closedform.CircleB(q, b.Section.DiameterM.V/2, 1)
	default:
		v = closedform.PolygonB(q, b.Section.Corners, 1)
	}
	return v.Rotate(b.TurnRad.V)
}
