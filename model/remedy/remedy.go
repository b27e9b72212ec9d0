// Package remedy finds changes of a layout that bring a quantity to its limit: the
// place, the axis and the pitch of sensors, and the lengths of a shield.
package remedy

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
)

// Measured is the number of one sensor that a rule compares with its limit.
type Measured func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error)

// Goal is what a change must reach for the sensor at index Sensor.
type Goal struct {
	Sensor  layout.SensorIndex
	Measure Measured
	Limit   float64
	AtLeast bool
	Show    func(v float64) string // prints a value of Measure
	All     bool                   // also tries changes that cost a solution a step
}

// NoChange is what OfSensor says when no change of its list reaches the goal.
const NoChange = "no single change of place, pitch or axis passes"

// roundOff is the share of a limit that arithmetic may take from a value that is drawn equal to it.
const roundOff = 1e-12

// met reports whether e passes.
func (g *Goal) met(e bounded.Estimate) bool {
	slack := float64(roundOff * math.Abs(g.Limit))
	if g.AtLeast {
		return e.Low >= g.Limit-slack
	}
	return e.High <= g.Limit+slack
}

// Change is one single thing to alter by an amount that starts at 0.
type Change struct {
	Kind      string  // what is altered: "height", "along", "turn" or "pitch"
	Way       float64 // 1 or -1: which way
	Max, Step float64 // largest amount, and the step to which it is rounded, in the unit of Apply
	Cost      float64 // what one unit costs: changes compete by amount × cost
	Apply     func(amount float64) *layout.Layout
	// Rearranges says that the change moves bars or shields, so that the field
	// must be solved again.
	Rearranges bool
	Say        func(amount float64) string // "move SV from 6.0 to 4.3 mm above V"
}

// searchSteps is how many amounts of a change are tried before it is given up.
const searchSteps = 32

// closestM is the nearest to a bar's surface that a remedy puts a sensor, and
// the narrowest gap that it leaves between bars.
const closestM = 0.5e-3

// OfSensor returns the single changes of the list that reach the goal, the smallest
// first, and where none does what comes nearest.
//
// Each change is followed outward in thirty-two steps until it passes, the
// crossing is narrowed by bisection, rounded away from the start and tried
// once more as it would be typed. A change that puts the sensor into metal, turns
// the sign of its output or costs more than half of it is no remedy.
//
// Where the field takes finite elements, a change of the arrangement costs a
// solution a step and is tried only when the goal asks for all.
func OfSensor(m *probe.Model, g Goal, changesOf func(*layout.Layout, layout.SensorIndex) []Change) Ways {
	before, err := g.value(m)
	if err != nil {
		return Ways{}
	}
	s := search{m: m, tight: tightened(m), g: &g, before: before, changesOf: changesOf}
	w := Ways{None: NoChange}
	var list []Change
	for _, c := range changesOf(m.Layout, g.Sensor) {
		if c.Rearranges && costly(m) && !g.All {
			w.None = NoChange + "; the pitch was not tried (--remedies all does)"
			continue
		}
		list = append(list, c)
		if c.Rearranges {
			w.Wide = func() (Offer, bool) { return s.one(c, math.Inf(1)) }
		}
	}
	w.Offers = func(yield func(Offer) bool) {
		best, at := s.least(list)
		if at < 0 || !yield(best) {
			return
		}
		var rest []Offer
		for k, c := range list {
			if k == at {
				continue
			}
			if o, ok := s.one(c, math.Inf(1)); ok {
				rest = append(rest, o)
			}
		}
		all(rest, yield)
	}
	if !costly(m) || g.All {
		w.Pairs = func(yield func(Offer) bool) { all(s.pairs(list), yield) }
	}
	w.Nearest = s.nearest
	return w
}

// all yields offers, the cheapest first.
func all(list []Offer, yield func(Offer) bool) {
	slices.SortStableFunc(list, func(a, b Offer) int { return cmp.Compare(a.cost, b.cost) })
	for _, o := range list {
		if !yield(o) {
			return
		}
	}
}

// search looks for changes that reach a goal.
type search struct {
	m, tight  *probe.Model // tight serves changes that move no bar and no shield
	g         *Goal
	before    bounded.Estimate
	changesOf func(*layout.Layout, layout.SensorIndex) []Change
	first     string  // said before a change that follows another one
	best      nearest // of what was tried and does not pass
}

// one follows one change; false when it does not pass or costs as much as tooMuch.
func (s *search) one(c Change, tooMuch float64) (Offer, bool) {
	with := s.tight
	if c.Rearranges {
		with = s.m
	}
	amount, ok := s.smallest(with, &c, tooMuch, searchSteps)
	if !ok || amount*c.Cost >= tooMuch {
		return Offer{}, false
	}
	changed := with.With(c.Apply(amount))
	after, err := s.g.value(changed)
	if err != nil {
		return Offer{}, false
	}
	return Offer{Title: c.Say(amount), Model: changed, cost: amount * c.Cost,
		Effect: fmt.Sprintf("%s → %s%s", s.g.Show(s.before.Value), s.g.Show(after.Value), sideEffect(with, changed, s.g.Sensor))}, true
}

// least returns the cheapest single change, and which of the list it is; -1 when none passes.
func (s *search) least(list []Change) (best Offer, at int) {
	at, best.cost = -1, math.Inf(1)
	for k, c := range list {
		if o, ok := s.one(c, best.cost); ok {
			best, at = o, k
		}
	}
	return best, at
}

func (g *Goal) value(m *probe.Model) (bounded.Estimate, error) {
	return g.Measure(m, &m.Layout.Sensors[g.Sensor])
}

// tightened returns the next level where the closed form of alternating current
// widens the bounds of m: they would ask a remedy for more than the field does.
// The arrangement is solved once then, whatever the number of steps.
func tightened(m *probe.Model) *probe.Model {
	finer, ok := m.Refined()
	if !ok {
		return m
	}
	for _, hz := range m.Frequencies() {
		if f, err := m.Field(hz); err == nil && f.EddyBounded() {
			return finer
		}
	}
	return m
}

// costly reports whether some duty of the layout takes finite elements.
func costly(m *probe.Model) bool {
	for _, hz := range m.Frequencies() {
		if f, err := m.Field(hz); err != nil || !f.Bare() {
			return true
		}
	}
	return false
}

// leastOutput is the share of the own output that a remedy must leave.
const leastOutput = 0.5

// ownSigned returns the own reading per ampere at direct current with its sign,
// T/A; NaN when it is not known.
func ownSigned(m *probe.Model, at layout.SensorIndex) float64 {
	f, err := m.Field(0)
	if err != nil {
		return math.NaN()
	}
	s := &m.Layout.Sensors[at]
	return real(f.Own(s).Axis.V)
}

// smallest returns the least rounded amount of c that meets the goal; false when
// none does, or none that costs less than tooMuch. The search leaves bounds out,
// which only widen; then rounded amounts are tried with their bounds, from the one
// found outward by one, two, four steps and so on.
func (s *search) smallest(m *probe.Model, c *Change, tooMuch float64, steps int) (float64, bool) {
	g := s.g
	before := ownSigned(m.Rough(), g.Sensor)
	passes := func(m *probe.Model, x float64) bool {
		l := c.Apply(x)
		if l == nil || !buildable(l, g.Sensor) {
			return false
		}
		changed := m.With(l)
		if before != 0 && !(ownSigned(changed.Rough(), g.Sensor)/before >= leastOutput) {
			return false
		}
		e, err := g.value(changed)
		if err != nil {
			return false
		}
		if !g.met(e) {
			s.best.keep(g, e, s.first, c, x)
			return false
		}
		return true
	}
	const tries = 8
	last := 0.0
	for i := 1; i <= steps && last*c.Cost < tooMuch; i++ {
		// Steps grow with the square: a small change is found finely, a large one
		// does not need it.
		x := c.Max * float64(i*i) / float64(steps*steps)
		if !passes(m.Rough(), x) {
			last = x
			continue
		}
		for x-last > c.Step/16 {
			if mid := (last + x) / 2; passes(m.Rough(), mid) {
				x = mid
			} else {
				last = mid
			}
		}
		n := math.Ceil(x/c.Step - 1.0/16) // the crossing lies that much below x at most
		for k := range tries {
			x := n * c.Step
			if k > 0 && x > c.Max || x*c.Cost >= tooMuch {
				return 0, false
			}
			if passes(m.Rough(), x) && passes(m, x) {
				return x, true
			}
			n += float64(int(1) << k)
		}
		return 0, false
	}
	return 0, false
}

// clearOfMetalM returns the nearest that the elements of a sensor may come to
// metal: closestM, or the height of the element in the body of its part.
func clearOfMetalM(l *layout.Layout, at layout.SensorIndex) float64 {
	if p := l.PartOf(&l.Sensors[at]); p != nil && p.BodyElementHeightM.V > closestM {
		return p.BodyElementHeightM.V
	}
	return closestM
}

// clearOf reports whether every element of the sensor keeps leastM from all metal.
func clearOf(l *layout.Layout, at layout.SensorIndex, leastM float64) bool {
	for _, e := range l.Sensors[at].Elements() {
		for b := range l.Bars {
			if l.Bars[b].DistanceM(e.At.XY()) < leastM {
				return false
			}
		}
		for i := range l.Shields {
			if l.Shields[i].Region().DistanceM(e.At.XY()) < leastM {
				return false
			}
		}
	}
	return true
}

// buildable reports whether the sensor keeps clear of metal and no two bars touch.
func buildable(l *layout.Layout, at layout.SensorIndex) bool {
	// A thousandth of slack, so that a sensor which stands at the least may stay.
	least := clearOfMetalM(l, at) * 0.999
	if !clearOf(l, at, least) {
		return false
	}
	for i := range l.Bars {
		p := l.Bars[i].Polygon()
		for j := 0; j < i; j++ {
			q := l.Bars[j].Polygon()
			if d, _, _ := geom.GapM(p, q); d < closestM/10 {
				return false
			}
		}
	}
	return true
}

// sideEffect says what the change does to the output of the sensor, and names
// insulation that it makes shorter.
func sideEffect(was, is *probe.Model, at layout.SensorIndex) string {
	before, after := was.Layout, is.Layout
	s, t := &before.Sensors[at], &after.Sensors[at]
	out := "; output unchanged"
	switch d := ownSigned(is, at)/ownSigned(was, at) - 1; {
	case math.IsNaN(d) || math.IsInf(d, 0):
		out = ""
	case d > 5e-4:
		out = "; output rises " + si.Percent(d)
	case d < -5e-4:
		out = "; output falls " + si.Percent(-d)
	}
	bar := before.Bars[s.Reads].ID
	for i := range before.Insulation {
		b := before.Insulation[i].Between
		if (b == [2]string{s.ID, bar} || b == [2]string{bar, s.ID}) &&
			after.Bars[t.Reads].DistanceM(t.At.Point()) < before.Bars[s.Reads].DistanceM(s.At.Point()) {
			return out + "; mind the insulation between " + s.ID + " and " + bar
		}
	}
	return out
}
