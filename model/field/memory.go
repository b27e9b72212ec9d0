package field

import (
	"slices"
	"sync"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/space"
	"busgauss/model/space/iron"
	"busgauss/model/strips"
	"busgauss/model/waveform"
	"busgauss/model/work"
)

// memory keeps the fields of one arrangement of bars, shields and their materials. They do
// not depend on the sensors, so models that differ only there share it.
type memory struct {
	ofBars      []layout.Bar // the arrangement
	ofShields   []layout.Shield
	ofMaterials []layout.Material

	mu     sync.Mutex
	fields map[fieldKey]*Field
	errs   map[fieldKey]error

	sections map[string]*fem.Solution // of linear iron, with mu: see sectionWith
	*scarce

	divideOnce sync.Once
	divided    *strips.Bars // nil where they can not be divided
	meshes     *fem.Meshes  // of the plane section

	curves map[layout.MaterialIndex]madeCurve // with mu
	shares map[float64]madeShares             // by frequency, with mu

	stateMu sync.Mutex // held while a state is solved
	states  map[string]*madeState

	currents map[dutyKey]*waveform.Currents // with mu: see Currents

	variants map[string]*layout.Layout // by key, with mu: see Variant
	varied   map[string]*memory
	others   map[string]*memory // of other layouts, with mu: see Another

	farOnce sync.Once
	images  []geom.Point

	spaceMemory
	newton [len(levelCertainty)]*fem.Saturating
}

type madeCurve struct {
	of  *material.Curve
	err error
}

type fieldKey struct {
	level  int
	freqHz float64
	duty   string
}

// scarce is what an arrangement shares with all that was derived from it: the work that they may take, what is kept of them,
// and the factors of matrices.
type scarce struct {
	work    *work.Budget // nil: no end of it
	shelf   *work.Shelf
	answers *fem.Answers // of this run
	factors
}

// shelfBytes is how much is kept of one layout, about.
const shelfBytes = 600 << 20

func newScarce(of *work.Budget) *scarce {
	return &scarce{work: of, shelf: work.NewShelf(shelfBytes), answers: fem.NewAnswers(nil)}
}

// factors lists the solutions that hold the factors of their matrices.
type factors struct {
	mu     sync.Mutex
	latest []*fem.Solution
}

// factorsKept is how many do.
const factorsKept = 2

// hold lets the oldest go for s, now and whenever s makes its factor again.
func (k *factors) hold(s *fem.Solution) {
	s.WhenFactored(func() { k.held(s) })
	k.held(s)
}

func (k *factors) held(s *fem.Solution) {
	var old *fem.Solution
	k.mu.Lock()
	k.latest = append(slices.DeleteFunc(k.latest, func(o *fem.Solution) bool { return o == s }), s)
	if len(k.latest) > factorsKept {
		old = k.latest[0]
		k.latest = slices.Clone(k.latest[1:])
	}
	k.mu.Unlock()
	if old != nil {
		old.LetGo()
	}
}

// derived returns a memory for another arrangement that shares with c what is scarce.
func (c *memory) derived(l *layout.Layout) *memory {
	return newMemory(l, c.scarce)
}

func newMemory(l *layout.Layout, of *scarce) *memory {
	return &memory{
		scarce: of,
		ofBars: l.Bars, ofShields: l.Shields, ofMaterials: l.Materials,
		shares: map[float64]madeShares{},
		fields: map[fieldKey]*Field{}, errs: map[fieldKey]error{},
		curves:   map[layout.MaterialIndex]madeCurve{},
		sections: map[string]*fem.Solution{}, meshes: &fem.Meshes{Shelf: of.shelf},
		states: map[string]*madeState{},
	}
}

// LetGo lets go of what only further solutions of iron in space ask for, and which is made anew for them: most of the
// memory that they took.
func (m *Model) LetGo() { m.cache.letGo() }

func (c *memory) letGo() {
	c.magnetMu.Lock()
	for e := range c.magnets {
		for _, made := range c.magnets[e] {
			if made.problem != nil {
				made.problem.LetGo()
			}
		}
	}
	c.magnetMu.Unlock()
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, list := range []map[string]*memory{c.varied, c.others} {
		for _, d := range list {
			d.letGo()
		}
	}
}

// of returns the memory of l: c itself where l has the same bars, shields and materials, in the
// same place of memory, else a new one.
func (c *memory) of(l *layout.Layout) *memory {
	if sameSlice(l.Bars, c.ofBars) && sameSlice(l.Shields, c.ofShields) && sameSlice(l.Materials, c.ofMaterials) {
		return c
	}
	return c.derived(l)
}

func sameSlice[T any](a, b []T) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// get returns the field under key, made at the first call. Two calls at once may
// both make it; they make the same.
func (c *memory) get(key fieldKey, make func() (*Field, error)) (*Field, error) {
	c.mu.Lock()
	f, ok := c.fields[key]
	err := c.errs[key]
	c.mu.Unlock()
	if ok {
		if err != nil {
			c.work.Missing()
		}
		return f, err
	}
	f, err = make()
	c.mu.Lock()
	c.fields[key], c.errs[key] = f, err
	c.mu.Unlock()
	return f, err
}

// madeIron is an iron problem, or the reason why there is none.
type madeIron struct {
	problem *iron.Problem
	err     error
}

// spaceMemory is the part of memory that belongs to space.
type spaceMemory struct {
	where  sync.Once
	extent extent

	sectionOnce sync.Once
	section     *Model // of the same layout in the plane section

	barsOnce sync.Once
	bars     []*space.Conductor
	barsErr  error

	strands       strandMemory
	insulatedOnce sync.Once
	insulated     bool

	basisOnce sync.Once
	basis     *iron.Basis

	magnetMu sync.Mutex
	magnets  [ends][len(levelCertainty)]madeIron

	groups map[string]*work.Item        // []ironState, with stateMu
	drafts [ends]map[string]*iron.Draft // with stateMu

	spaceMu sync.Mutex
	beside  *iron.Linear // see linearBeside
	spaces  [len(levelCertainty)]madeSpace

	wallsOnce sync.Once
	walls     *walls // see wallsOf
	wallsErr  error

	metalsOnce sync.Once
	metals     *metals // see metalsOf
	metalsErr  error
}

type madeSpace struct {
	field *spaceField
	err   error
}

// madeState is a place for a state, or the reason why there is none.
type madeState struct {
	in  *work.Item // an ironState
	err error
}

// get returns the state; false where it was dropped.
func (s *madeState) get() (ironState, error, bool) {
	if s.err != nil {
		return nil, s.err, true
	}
	n, ok := s.in.Value().(ironState)
	return n, nil, ok
}

// dutyKey names a duty of a layout with so many circuits.
type dutyKey struct {
	duty     *layout.Duty
	circuits int
}

// Currents returns the currents of a duty of the layout, which it does not change any more: waveform.Of, computed once. They
// are not to be changed either.
func (m *Model) Currents(d *layout.Duty) *waveform.Currents {
	c, key := m.cache, dutyKey{d, len(m.Layout.Circuits)}
	c.mu.Lock()
	cur, ok := c.currents[key]
	c.mu.Unlock()
	if ok {
		return cur
	}
	cur = waveform.Of(m.Layout, d)
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.currents == nil {
		c.currents = map[dutyKey]*waveform.Currents{}
	}
	c.currents[key] = cur
	return cur
}
