package probe

import (
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/work"
)

// Model answers for one layout: the quantities of this package, from its fields. It
// may be used from several goroutines.
type Model struct {
	*field.Model
}

// NewModel returns a model of l. Nothing is computed yet.
func NewModel(l *layout.Layout) *Model { return NewModelWithin(nil, l) }

// NewModelWithin is NewModel within a budget of work: see field.NewModelWithin.
func NewModelWithin(of *work.Budget, l *layout.Layout) *Model {
	return &Model{field.NewModelWithin(of, l)}
}

// Refined returns a model of the same layout that asks for a smaller bound;
// false at the ceiling.
func (m *Model) Refined() (*Model, bool) {
	finer, ok := m.Model.Refined()
	if !ok {
		return nil, false
	}
	return &Model{finer}, true
}

// Precise returns a model at the last level, for callers that print numbers and
// have no verdict to stop at.
func (m *Model) Precise() *Model { return m.on(m.Model.Precise()) }

// Stated returns a model at the first level that takes the true state of iron.
func (m *Model) Stated() *Model { return m.on(m.Model.Stated()) }

// Drafted returns a model whose states of iron in space come from the coarse mesh
// alone, without bounds: for searches.
func (m *Model) Drafted() *Model { return &Model{m.Model.Drafted()} }

// Rough returns a model whose values are those of m without the bounds of the plane
// solver, for searches and for tables of many places.
func (m *Model) Rough() *Model { return &Model{m.Model.Rough()} }

// Section returns a model of the same layout that stays in the plane section.
func (m *Model) Section() *Model { return &Model{m.Model.Section()} }

// With returns a model of l at the level of m. Where l has the same bars and
// shields as m's layout, in the same place of memory, the fields are shared.
func (m *Model) With(l *layout.Layout) *Model { return &Model{m.Model.With(l)} }

// LevelOf returns a model of the layout of m, with its fields, at the level of another.
func (m *Model) LevelOf(other *Model) *Model { return &Model{m.Model.LevelOf(other.Model)} }

// Another returns a model of another layout at the level of m, whose fields are kept with those of m under key.
func (m *Model) Another(key string, l *layout.Layout) *Model { return &Model{m.Model.Another(key, l)} }

// For returns a model in which the iron of the layout stands in the state that
// the currents of duty d bring it to. Without a curve or a saturation that is m
// itself.
func (m *Model) For(d *layout.Duty) *Model { return m.on(m.Model.For(d)) }

// on returns the model of the fields f: m itself where they are its own.
func (m *Model) on(f *field.Model) *Model {
	if f == m.Model {
		return m
	}
	return &Model{f}
}

func (m *Model) inSpace() bool {
	in, _ := m.InSpace()
	return in
}
