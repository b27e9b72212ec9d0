package remedy

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
)

// ShieldGoal is what a change of shield Shield must reach: Measure at most Limit.
type ShieldGoal struct {
	Shield  layout.ShieldIndex
	Measure func(m *probe.Model) (bounded.Estimate, error)
	// Search is what the search follows: Measure of the worst duty alone. What it
	// finds is tried with Measure; in space, where saturating iron takes its time, the
	// search follows Draft on the coarse mesh and what it finds is tried with Search.
	Search func(m *probe.Model) (bounded.Estimate, error)
	// Draft is in proportion to Search for small changes; nil: it is Search.
	Draft func(m *probe.Model) (bounded.Estimate, error)
	Limit float64
	// Drive is how far the unchanged layout is above the limit were its iron
	// linear, for the first guess: saturation hides how much more wall it takes; 0 where that is not known.
	Drive float64
	Show  func(v float64) string
	All   bool // also tries what costs more: another opening, other legs, more depth
}

// NoWall is what OfShield says when no change of its list reaches the goal.
const NoWall = "no wall that fits passes"

const (
	wallStepM    = 0.05e-3 // sheet and turned parts are made to it
	mostWall     = 6       // times the drawn wall
	mostOpening  = 2       // times the drawn opening
	leastLeg     = 0.3     // of the drawn leg
	mostDepth    = 3       // times the drawn depth, along bars that do not bend
	shieldSpare  = 0.005   // of the limit: the same remedy on a neighbour moves it by less
	nearLimit    = 0.97    // of the limit: near enough to stop
	fewSolutions = 7
	fewConfirms  = 3
)

// OfShield returns the single changes of the shield that reach the goal, with
// their effects: the wall, grown outward so that the inner form stays; with
// g.All also a wider opening or shorter legs of a channel, in space more
// depth, and a slit in a closed ring. Each step is a
// solution, so a change is followed by the secant of the logarithms: the flux
// through a wall hardly depends on its thickness. Shields that are alike get the same wall, all at once, where that
// reaches the goal; one alone then with g.All only.
func OfShield(m *probe.Model, g ShieldGoal, alike *Alike) Ways {
	before, err := g.Measure(m)
	if err != nil {
		return Ways{}
	}
	w := Ways{None: NoWall + " (--remedies all tries opening and legs)"}
	switch {
	case g.All:
		w.None = NoWall + ", nor does another opening or leg"
	case alike.several():
		w.None = NoWall + " (--remedies all tries each alone, opening and legs)"
	}
	w.Offers = func(yield func(Offer) bool) {
		if o, ok := alike.offer(m, &g); ok && (!yield(o) || !g.All) {
			return
		}
		for k, d := range dimensions(m, g.Shield) {
			if k > 0 && !g.All {
				break
			}
			x, after, changed, ok := few(m, &g, before, d)
			if !ok {
				continue
			}
			if !yield(Offer{Title: d.say(m.Layout.Shields[g.Shield].ID, x), Model: changed, Effect: g.effect(m, changed, before, after)}) {
				return
			}
		}
		if g.All {
			slits(m, &g, before, yield)
		}
	}
	return w
}

// confirmed returns what a change of m that a search found reaches: where a state costs a second the worst duty serves.
func (g *ShieldGoal) confirmed(m, changed *probe.Model) (bounded.Estimate, error) {
	if coarseSearch(m) {
		return g.Search(changed.Stated())
	}
	return g.Measure(changed)
}

// drafted is what a search on the coarse mesh follows.
func (g *ShieldGoal) drafted() func(*probe.Model) (bounded.Estimate, error) {
	if g.Draft == nil {
		return g.Search
	}
	return g.Draft
}

// effect says what a change does to the shield and to the sensor nearest to it.
func (g *ShieldGoal) effect(m, changed *probe.Model, before, after bounded.Estimate) string {
	out := fmt.Sprintf("%s → %s", g.Show(before.Value), g.Show(after.Value))
	if s := probe.NearestSensor(m.Layout, g.Shield); s != layout.None {
		out += sideEffect(m, changed, s) + " at " + m.Layout.Sensors[s].ID
	}
	return out
}

// slits offers the narrowest slit of a few that lets a closed ring reach the goal.
func slits(m *probe.Model, g *ShieldGoal, before bounded.Estimate, yield func(Offer) bool) {
	s := m.Layout.Shields[g.Shield]
	if s.Form.Kind != layout.Ring || s.Form.SlitM.V > 0 {
		return
	}
	for _, slitM := range []float64{1e-3, 2e-3, 3e-3, 5e-3} {
		if slitM > s.Form.InnerM.V/4 {
			return
		}
		with := s
		with.Form.SlitM.V, with.Form.SlitM.Set = slitM, true
		changed := m.With(withShield(m, g.Shield, with))
		after, err := g.Measure(changed)
		if err != nil || !(after.High <= g.Limit) {
			continue
		}
		yield(Offer{Title: fmt.Sprintf("a slit of %s mm in %s", millimetres(slitM), s.ID), Model: changed,
			Effect: fmt.Sprintf("%s → %s", g.Show(before.Value), g.Show(after.Value))})
		return
	}
}

// few follows one dimension and returns the nearest value found that passes, rounded
// away from the drawn one, what it reaches, and the model of the layout changed so. What
// the coarse mesh finds and a full solution refuses is asked again of a limit that is
// lower by as much.
func few(m *probe.Model, g *ShieldGoal, before bounded.Estimate,
	all ...dimension) (passX float64, after bounded.Estimate, changed *probe.Model, ok bool) {
	search, err := searchFor(m, g, before)
	if err != nil {
		return 0, bounded.Estimate{}, nil, false
	}
	p := pathOf(m, g, all, search)
	p.limit = g.Limit * (1 - shieldSpare)
	p.failX, p.failY = all[0].fromM, math.Max(before.High, g.Drive*g.Limit)
	for range fewConfirms {
		x, found := p.follow()
		if math.IsNaN(x) {
			break
		}
		changed := p.at(x)
		var y bounded.Estimate
		y, err := g.confirmed(m, changed)
		if err != nil {
			break
		}
		if y.High <= g.Limit {
			return x, y, changed, true
		}
		if !coarseSearch(m) {
			break
		}
		p.failX, p.failY = x, found
		p.limit *= (1 - shieldSpare) * g.Limit / y.High
	}
	return 0, bounded.Estimate{}, nil, false
}

// path is the search along one dimension of a shield, or the same one of several that are alike.
type path struct {
	m            *probe.Model
	g            *ShieldGoal
	all          []dimension
	search       func(*probe.Model) (bounded.Estimate, error)
	limit        float64
	failX, failY float64 // the farthest value that is known to fail
	tried        map[float64]*probe.Model
}

// at returns the model of the layout with its dimension at x, made once: what was solved on the way there serves
// to confirm it.
func (p *path) at(x float64) *probe.Model {
	if p.tried[x] == nil {
		l := *p.m.Layout
		l.Shields = slices.Clone(l.Shields)
		for i := range p.all {
			l.Shields[p.all[i].of] = p.all[i].apply(x)
		}
		p.tried[x] = p.m.With(&l)
	}
	return p.tried[x]
}

func pathOf(m *probe.Model, g *ShieldGoal, all []dimension, search func(*probe.Model) (bounded.Estimate, error)) *path {
	return &path{m: m, g: g, all: all, search: search, tried: map[float64]*probe.Model{}}
}

// fits reports whether the shields have room in a changed layout.
func (p *path) fits(changed *probe.Model) bool {
	for i := range p.all {
		if !roomFor(p.m.Layout, changed.Layout, p.all[i].of) {
			return false
		}
	}
	return true
}

// costsOutput reports whether a sensor that is nearest to one of the shields loses more of its output than a remedy may take.
func (p *path) costsOutput(changed *probe.Model) bool {
	for i := range p.all {
		s := probe.NearestSensor(p.m.Layout, p.all[i].of)
		if s != layout.None && !(ownSigned(changed.Rough(), s)/ownSigned(p.m, s) >= leastOutput) {
			return true
		}
	}
	return false
}

// follow takes at most fewSolutions solutions and returns the nearest value found
// that passes and what the search made of it; NaN when there is none. It stops at
// what costs the nearest sensor more than half of its output.
func (p *path) follow() (passX, passY float64) {
	d := &p.all[0]
	sign := math.Copysign(1, d.toM-d.fromM)
	round := func(x float64) float64 { // away from the drawn value
		return float64(sign * wallStepM * math.Ceil(sign*x/wallStepM-1e-6))
	}
	beyond := func(x, y float64) bool { return sign*(x-y) > wallStepM/4 }
	failX, failY := p.failX, p.failY
	passX = math.NaN()
	for range fewSolutions {
		var x float64
		if math.IsNaN(passX) {
			x = round(failX * portable.Pow(failY/p.limit, sign))
			if !beyond(x, failX) {
				x = round(failX + float64(sign*wallStepM))
			}
			if beyond(x, d.toM) {
				x = d.toM
			}
			if !beyond(x, failX) {
				break
			}
		} else {
			t := portable.Log(failY/p.limit) / portable.Log(failY/passY)
			x = round(failX * portable.Pow(passX/failX, t))
			if !beyond(passX, x) {
				x = passX - float64(sign*wallStepM)
			}
			if !beyond(x, failX) {
				break
			}
		}
		changed := p.at(x)
		if !p.fits(changed) {
			break
		}
		y, err := p.search(changed)
		if err != nil {
			break
		}
		if y.High > p.limit {
			failX, failY = x, y.High
			continue
		}
		if p.costsOutput(changed) {
			break
		}
		if passX, passY = x, y.High; passY >= nearLimit*p.limit {
			break
		}
	}
	return passX, passY
}

// coarseSearch reports whether shield changes are searched on the coarse mesh.
func coarseSearch(m *probe.Model) bool {
	in, _ := m.InSpace()
	return in && field.Saturable(m.Layout)
}

// searchFor returns what the search follows: g.Search, and where saturating iron is
// solved in space g.Draft of the coarse mesh, scaled to the value of the unchanged layout.
func searchFor(m *probe.Model, g *ShieldGoal,
	before bounded.Estimate) (func(*probe.Model) (bounded.Estimate, error), error) {
	if !coarseSearch(m) {
		return func(n *probe.Model) (bounded.Estimate, error) { return g.Search(n.Stated()) }, nil
	}
	draft := g.drafted()
	drawn, err := draft(m.Drafted())
	if err != nil {
		return nil, err
	}
	scale := before.High / drawn.High
	return func(n *probe.Model) (bounded.Estimate, error) {
		y, err := draft(n.Drafted())
		return y.Scale(scale), err
	}, nil
}

// withShield returns a copy of the layout in which shield i is s.
func withShield(m *probe.Model, i layout.ShieldIndex, s layout.Shield) *layout.Layout {
	c := *m.Layout
	c.Shields = append([]layout.Shield(nil), c.Shields...)
	c.Shields[i] = s
	return &c
}

// roomFor reports whether shield i keeps off all metal and all elements; where it
// stood nearer than that already, it must not come nearer.
func roomFor(was, is *layout.Layout, i layout.ShieldIndex) bool {
	old, now := was.Shields[i].Region(), is.Shields[i].Region()
	far := func(other geom.Region) bool {
		before, _, _ := geom.GapRegionsM(old, other)
		after, _, _ := geom.GapRegionsM(now, other)
		return after >= math.Min(before, closestM/10)*(1-1e-9)
	}
	for b := range is.Bars {
		if !far(geom.Solid(is.Bars[b].Polygon())) {
			return false
		}
	}
	for k := range is.Shields {
		if layout.ShieldIndex(k) != i && !far(is.Shields[k].Region()) {
			return false
		}
	}
	for k := range is.Sensors {
		least := clearOfMetalM(is, layout.SensorIndex(k)) * 0.999
		for _, e := range is.Sensors[k].Elements() {
			if now.DistanceM(e.At.XY()) < math.Min(least, old.DistanceM(e.At.XY())) {
				return false
			}
		}
	}
	return true
}
