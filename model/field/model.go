package field

import (
	"busgauss/model/fem"
	"busgauss/model/layout"
	"busgauss/model/work"
)

// levelCertainty is the relative bound that the plane solver is asked for, level
// by level. The second takes the true state of saturating iron instead of a range
// of permeabilities and is passed over where nothing saturates. A verdict that a level
// leaves undecided is tried at the next; the last is the ceiling.
var levelCertainty = [...]float64{0.005, 0.005, 0.001}

// Model answers for the fields of one layout. It may be used from several
// goroutines.
type Model struct {
	Layout *layout.Layout
	rough  bool // leave the bound of the plane solver out: see Rough
	draft  bool // states of iron in space from the coarse mesh: see Drafted
	level  int
	cache  *memory
	steady bool         // see Steady
	small  bool         // see Small
	duty   *layout.Duty // whose flux sets the state of iron; nil: small signals
	known  *fem.Answers // see Knowing
}

// NewModel returns a model of l. Nothing is computed yet.
func NewModel(l *layout.Layout) *Model { return NewModelWithin(nil, l) }

// NewModelWithin returns a model of l that takes no more than a budget: what does not fit is an *Unknown that says so, or no
// number.
func NewModelWithin(of *work.Budget, l *layout.Layout) *Model {
	return &Model{Layout: l, cache: newMemory(l, newScarce(of))}
}

// Work returns the budget of m and of all models derived from it; nil where there is none.
func (m *Model) Work() *work.Budget { return m.cache.work }

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

// FinerByMesh reports whether a refined model has smaller bounds by its meshes alone, and keeps what the named model
// errors put in them: not where it takes the true state of iron in place of a range, nor where it solves what a
// closed form of bars leaves out.
func (m *Model) FinerByMesh() bool {
	return len(m.Layout.Shields) > 0 && (m.level > 0 || !Saturable(m.Layout))
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
	n := *m
	n.Layout, n.cache = l, m.cache.of(l)
	return &n
}

// LevelOf returns a model of the layout of m, with its fields, at the level of another.
func (m *Model) LevelOf(other *Model) *Model {
	n := *other
	n.Layout, n.cache = m.Layout, m.cache
	return &n
}

// Another returns a model of another layout at the level of m, whose fields are kept with those of m under key:
// what is asked for under one key has the same bars, shields and materials each time.
func (m *Model) Another(key string, l *layout.Layout) *Model {
	c := m.cache
	c.mu.Lock()
	defer c.mu.Unlock()
	kept, ok := c.others[key]
	if !ok {
		if c.others == nil {
			c.others = map[string]*memory{}
		}
		kept = c.derived(l)
		c.others[key] = kept
	}
	n := *m
	n.Layout, n.cache, n.duty = l, kept, nil
	return &n
}

// Variant returns a model, at the level of m, of the layout of m with the bars, circuits, shields and materials
// that change gives it: each is a solution of its own. Its fields are kept under key with those of m. For the first
// level see Steady and Small.
func (m *Model) Variant(key string, change func() *layout.Layout) *Model {
	c := m.cache
	c.mu.Lock()
	if c.variants == nil {
		c.variants, c.varied = map[string]*layout.Layout{}, map[string]*memory{}
	}
	if c.variants[key] == nil {
		l := change()
		c.variants[key], c.varied[key] = l, c.derived(l)
	}
	kept, in := c.variants[key], c.varied[key]
	c.mu.Unlock()
	l := *m.Layout
	l.Bars, l.Circuits, l.Shields, l.Materials = kept.Bars, kept.Circuits, kept.Shields, kept.Materials
	n := *m
	n.Layout, n.cache, n.duty = &l, in, nil
	return &n
}

// Small returns a model at the first level that answers for every state of iron with its permeability of small
// signals, each frequency by itself: for the difference between two materials.
func (m *Model) Small() *Model {
	n := *m
	n.level, n.duty, n.small = 0, nil, true
	return &n
}

// OfSmallSignals reports whether m answers for every state of iron with that of small signals: see Small and Steady.
func (m *Model) OfSmallSignals() bool { return m.small || m.steady }

// Steady returns m where its fields are closed forms. Else it returns a model at the first
// level that answers for every frequency and every state of iron with the field of small
// steady currents: for the difference between two arrangements that are nearly the same.
func (m *Model) Steady() *Model {
	if len(m.Layout.Shields) == 0 && len(m.Layout.Bonded) == 0 {
		return m
	}
	n := *m
	n.level, n.duty, n.steady = 0, nil, true
	return &n
}

// For returns a model in which the iron of the layout stands in the state that
// the currents of duty d bring it to. Without a curve or a saturation that is m
// itself.
func (m *Model) For(d *layout.Duty) *Model {
	if m.duty == d || m.steady || m.small || !Saturable(m.Layout) {
		return m
	}
	n := *m
	n.duty = d
	return &n
}

// Rest returns a model in which the iron is in the state of small signals.
func (m *Model) Rest() *Model {
	n := *m
	n.duty = nil
	return &n
}

// IsRough reports whether m leaves bounds out: see Rough.
func (m *Model) IsRough() bool { return m.rough }

// Rough returns a model whose readings have the same values as m's, but the
// bounds of the plane solver left out: they cost most of a value at a new place. What
// fails without them fails with them. For searches, and for tables of many places whose
// bound is told at a few of them.
func (m *Model) Rough() *Model {
	q := *m
	q.rough = true
	return &q
}

// Stated returns a model at the first level that takes the true state of iron.
func (m *Model) Stated() *Model {
	if finer, ok := m.Refined(); ok && m.level == 0 {
		return finer
	}
	return m
}

// Drafted returns a model whose states of iron in space come from the coarse mesh
// alone, without bounds: for searches, and to see which of many states matter.
func (m *Model) Drafted() *Model {
	d := *m.Stated()
	d.draft, d.rough = true, true
	return &d
}

// Section returns a model of the same layout that stays in the plane section; its
// fields are kept with those of m.
func (m *Model) Section() *Model {
	c := m.cache
	c.sectionOnce.Do(func() {
		c.section = &Model{Layout: m.Layout, cache: c.derived(m.Layout)}
		in := c.section.cache
		in.where.Do(func() { in.extent = extent{reason: "only the plane section was asked for"} })
	})
	n := *m
	n.cache, n.draft = c.section.cache, false
	return &n
}
