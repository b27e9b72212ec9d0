package field

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Field returns the field at freqHz, computed once. The error is an *Unknown
// when no method of this program holds there.
func (m *Model) Field(freqHz float64) (*Field, error) {
	if err := m.cache.work.Small(m.readingSteps(), "a reading"); err != nil {
		return nil, &Unknown{err.Error()}
	}
	if m.steady {
		freqHz = 0
	}
	if e := m.extent(); e.refused != "" {
		return nil, &Unknown{e.refused}
	}
	if m.inSpace() && m.OneState() {
		if err := m.stateFits(); err != nil {
			return nil, err
		}
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
	if err != nil {
		return f, err
	}
	out := *f
	out.images = m.images()
	out.rough = m.rough
	out.shares, err = m.sharesOf(freqHz, f.section)
	return &out, err
}

// barSteps is what the closed form of a bar at a place takes, with all that a reading makes of it.
const barSteps = 6000

// readingSteps is what a reading of one component takes, the fields that it is read of aside.
func (m *Model) readingSteps() float64 { return barSteps * float64(1+len(m.Layout.Bars)) }

// ironField is the field at freqHz with iron in a given range, computed once
// for all duties that come to the same range.
func (m *Model) ironField(freqHz float64, iron []muRange) (*Field, error) {
	level := m.linearLevel()
	key := fieldKey{level: level, freqHz: freqHz, duty: fmt.Sprintf("\x00%v", iron)}
	return m.cache.get(key, func() (*Field, error) {
		if !m.inSpace() {
			f, err := m.solve(freqHz, level, iron)
			if err == nil && freqHz > 0 {
				f.steady = func() (*Field, error) { return m.ironField(0, iron) }
			}
			return f, err
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
		if f.Bare() { // its bound is as wide as it was: solve what it leaves out
			plane, err := m.solve(freqHz, m.linearLevel(), iron)
			if err != nil {
				return nil, err
			}
			finer.section = plane.section
		}
		var base *Field
		if f.way.(solid).base != nil {
			if base, err = m.ironField(0, m.smallSignal()); err != nil {
				return nil, err
			}
		}
		in, err := m.spaceField()
		way := m.solid(in, base, freqHz, iron)
		way.walls = f.way.(solid).walls
		finer.way = way
		return &finer, err
	}
	small := m.smallSignal()
	if len(m.Layout.Shields) > 0 && freqHz == 0 && slices.Equal(iron, small) {
		in, err := m.spaceField()
		f := &Field{layout: m.Layout, way: solid{space: in}}
		f.section = &latePlane{work: m.cache.work, make: func() (*plane, error) {
			return m.solvePlane(0, levelCertainty[0], small)
		}}
		f.Method = solid{space: in}.method(f)
		return f, err
	}
	f, err := m.sectionInSpace(freqHz, iron)
	if err != nil {
		return nil, err
	}
	var base *Field
	if freqHz > 0 || !slices.Equal(iron, small) {
		var err error
		if base, err = m.ironField(0, small); err != nil {
			return nil, err
		}
	}
	in, err := m.spaceField()
	if err != nil {
		return nil, err
	}
	w := m.solid(in, base, freqHz, iron)
	if freqHz > 0 {
		if w.walls, err = m.movingAt(freqHz, iron); err != nil {
			return nil, err
		}
	}
	f.way, f.Method = w, w.method(f)
	return f, nil
}

// movingAt returns what changes at freqHz where walls conduct, nil where they do not or it is carried: bars and walls
// together where iron is among them, as far as all are such as metals takes.
func (m *Model) movingAt(freqHz float64, iron []muRange) (moving, error) {
	if m.insulated() {
		return nil, nil
	}
	if w, err := m.metalsAt(freqHz, iron); err != nil || w != nil {
		return w, err
	}
	if w, err := m.wallsAt(freqHz, iron); err != nil || w != nil {
		return w, err
	}
	return nil, nil
}

// sectionInSpace returns the field of the plane section under one in space: solved when first asked for where the
// field in space is not carried over from it.
func (m *Model) sectionInSpace(freqHz float64, iron []muRange) (*Field, error) {
	in, err := m.spaceField()
	if err != nil {
		return nil, err
	}
	walls := freqHz > 0 && m.wallsInSpace()
	if !walls && (in.problem == nil || !m.insulated()) {
		return m.solve(freqHz, 0, iron)
	}
	if err := apart(m.Layout); err != nil {
		return nil, err
	}
	f := &Field{FreqHz: freqHz, Method: "finite elements", layout: m.Layout}
	if walls {
		f.Method = "finite elements, alternating"
	}
	f.section = &latePlane{work: m.cache.work, open: slices.ContainsFunc(iron, muRange.open), make: func() (*plane, error) {
		return m.solvePlane(freqHz, levelCertainty[0], iron)
	}}
	return f, nil
}

// solid returns the way in space; base is nil for steady current and iron of small signals.
func (m *Model) solid(in *spaceField, base *Field, freqHz float64, iron []muRange) solid {
	w := solid{space: in, base: base}
	if base != nil {
		w.phasors = m.phasors(in, freqHz, iron)
	}
	return w
}

// linearLevel is the first level whose linear fields are those of m.
func (m *Model) linearLevel() int {
	level := m.level
	for level > 0 && levelCertainty[level-1] == levelCertainty[level] {
		level--
	}
	return level
}

// nonMagnetic is how far a relative permeability may lie above 1 for the closed
// forms, which know none: copper, aluminium and brass lie within 1e-4.
const nonMagnetic = 1e-4

// solve picks the method for one frequency: the closed form for bare bars, as
// long as direct current or thin sections make it exact or its bound small,
// else finite elements.
func (m *Model) solve(freqHz float64, level int, iron []muRange) (*Field, error) {
	l := m.Layout
	f := &Field{FreqHz: freqHz, Method: "closed form, long bars", layout: l, way: long{}}
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
		if freqHz == 0 || thin && level == 0 && !hasParallel(l) {
			f.section = bare{l, eddy}
			if freqHz > 0 {
				f.Method += ", uniform current density"
			}
			if eddy.most() > evenEnough {
				if s := m.dividedSection(freqHz); s != nil {
					f.section, f.Method = s, "closed form, long bars divided into rectangles"
				}
			}
			return f, nil
		}
	}
	p, err := m.solvePlane(freqHz, levelCertainty[level], iron)
	if err != nil {
		return nil, err
	}
	f.section, f.Method = p, p.method()
	return f, nil
}

// ExactIron reports whether duties are computed with the true state of
// saturating iron, by Newton's method, and no longer with a range of
// permeabilities: from the second level on, since it costs a solution an instant. In
// space a duty of direct current has one instant, and takes it at once.
func (m *Model) ExactIron() bool {
	if m.duty == nil || !Saturable(m.Layout) {
		return false
	}
	return m.level > 0 || m.inSpace() && m.Currents(m.duty).Steady()
}

// OneState reports whether the duty of m is computed as one true state of the iron: it
// carries direct current alone.
func (m *Model) OneState() bool {
	return m.ExactIron() && m.Currents(m.duty).Steady()
}

// Method names for people how the reading of component c is computed from f.
func (m *Model) Method(f *Field, c *waveform.Component) string {
	if m.OneState() {
		if m.inSpace() {
			return "volume integral equation in space, saturating iron by Newton's method"
		}
		return "finite elements, saturating iron by Newton's method"
	}
	return f.Method
}

// Unknowns returns how many unknowns the plane field has that answers for component c
// of the duty of m, 0 for a closed form: a measure of its cost.
func (m *Model) Unknowns(c *waveform.Component) int {
	if m.ExactIron() && c.FreqHz == 0 {
		if n, err := m.stateOf(c.SteadyA()); err == nil {
			return n.(sectionState).of.Unknowns
		}
	}
	if f, err := m.FieldOf(c); err == nil {
		if p, ok := planeOf(f.section); ok {
			return p.low.Unknowns
		}
	}
	return 0
}

// longRatio is the ratio of depth to the larger side of its section from which on
// a shield of declared depth counts as long: the bounds of depth.go then hold what
// its ends change.
const longRatio = 10

// extent is how a layout is computed: in the plane section or in space.
type extent struct {
	space   bool
	open    bool   // in space, with iron that is long or may be of any depth: see prisms
	refused string // why nothing is computed: the plane section would say nothing of what is short, and space does not know a piece
	reason  string // why not in space although something declares an end; else empty
}

// extent says whether values of the layout are taken in space: where a bar
// declares length, run or cuts, or iron or a wall that conducts a depth that is not long against its
// section. Space takes bars of non-magnetic metal and iron of any depth, beside short iron also such as is long or says
// nothing; where no iron is short it is the plane section that serves iron without an end, with the
// bounds of depth.go and ends.go.
func (m *Model) extent() extent {
	c := m.cache
	c.where.Do(func() { c.extent = extentOf(m.Layout) })
	return c.extent
}

func extentOf(l *layout.Layout) extent {
	ends, stubby, short := false, false, ""
	long, unknown := "", ""
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		magnetic := mat.Magnetic()
		if !magnetic && !(mat.SigmaSPerM.V > 0) {
			continue
		}
		switch r := slenderness(l, layout.ShieldIndex(i)); {
		case DepthUnknown(s) && magnetic:
			unknown, stubby = s.ID, true
		case r == 0 && magnetic:
			long = s.ID
		case r > 1.0/longRatio:
			stubby = true
			if magnetic {
				short = s.ID
			}
		}
	}
	for i := range l.Bars {
		b := &l.Bars[i]
		ends = ends || b.LengthM.Set || len(b.Run) > 0 || len(b.Cuts) > 0
	}
	if !ends && !stubby {
		return extent{}
	}
	for i := range l.Bars {
		if b := &l.Bars[i]; !(b.MuRel <= 1+nonMagnetic) {
			if short != "" {
				return extent{refused: fmt.Sprintf("bar %q is magnetic, which is not computed beside iron of finite depth such as shield %q: take a bar of another metal, or say `depth: long`", b.ID, short)}
			}
			return extent{reason: fmt.Sprintf("bar %q is magnetic", b.ID)}
		}
	}
	switch {
	case short != "":
		if open := unknown != "" || long != ""; open {
			return extent{space: true, open: true, refused: tooNear(l)}
		}
		return extent{space: true}
	case unknown != "":
		return extent{reason: fmt.Sprintf("shield %q declares no depth", unknown)}
	case long != "":
		return extent{reason: fmt.Sprintf("shield %q is long", long)}
	}
	return extent{space: true}
}

func (m *Model) inSpace() bool { return m.extent().space }

// InSpace reports whether values of the layout are taken in space; where bars or
// shields declare ends and they are not, reason says why.
func (m *Model) InSpace() (in bool, reason string) {
	e := m.extent()
	return e.space, e.reason
}
