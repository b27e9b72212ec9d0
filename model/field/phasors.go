package field

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/space/iron"
	"busgauss/model/work"
)

// phasorField is the field of a layout in space at one frequency and one permeability of
// its iron, which does not conduct along z: sheet with its complex permeability, ferrite, iron of no stated
// conductivity. The bars carry even densities, exactly as steady ones do, and beside them the eddy currents of the
// plane section, which strands lay along their runs.
//
// With J the eddy currents of the section with its iron and J' those of the bars by themselves, a
// bar carries J' and along z what answers to the field that iron in space adds in its metal: see profile. Model errors, named
//
//	iron in the eddy currents  ironDoubt
//	ends of the bars           strandEnds of the field of the eddy currents
//	mesh of the eddy currents  eddyMesh of it
//	strands                    a fifth of what the section, where their field is known, corrects
type phasorField struct {
	space         *spaceField
	lay           *strandLayout
	of            *iron.Alternating                                 // of each bar
	alternating   func(on *iron.Problem) (*iron.Alternating, error) // which is of, on some meshes
	steps         func(on *iron.Problem) float64                    // of work that alternating takes
	shift         *iron.Shift                                       // of it against steady current
	parts         *iron.Alternating                                 // on the coarse mesh, of each bar in turn: see partsOf; nil without eddy currents
	alone         [][]complex128                                    // J' in strands, for each bar
	answer        [][shapes][]complex128                            // in sparse strands, to the shapes of profiles, for each bar: J − J', and to uniform fields
	with, without *fem.Solution                                     // of the section
	late          []float64                                         // for each bar, the part of the eddy currents that is not a quarter period late
	places        eddyPlaces

	metals *metalsAt                // at levels beyond the first, in place of strands at places: nil where they are not to be taken
	walls  func() *iron.Alternating // then: what of would be with the eddy currents in strands; else nil
}

// What phasorField.parts holds of each bar.
const (
	allEddies  = iota // the eddy currents
	ironEddies        // the part of J − J' in them
	smoothing         // what smoothing the profiles does in that
	partsOf           // how many
)

// eddyMesh is what the mesh of the section may leave out of the field of eddy currents: first
// meshes against finer ones are off by less (TestEddyMesh).
const eddyMesh = 0.03

// phasorSides makes the fields of both ends of the range of permeabilities when first asked for.
type phasorSides struct {
	once  sync.Once
	make  func() ([]*phasorField, error)
	sides []*phasorField
	err   error
}

func (p *phasorSides) solved() ([]*phasorField, error) {
	p.once.Do(func() { p.sides, p.err = p.make() })
	return p.sides, p.err
}

// at returns the sides that f stands for.
func (p *phasorSides) at(f *Field) ([]*phasorField, error) {
	sides, err := p.solved()
	if err == nil && f.end > 0 && len(sides) > 1 {
		sides = sides[f.end-1 : f.end]
	}
	return sides, err
}

// phasors returns the field in space at freqHz with iron in a range; nil where
// it is carried over from the section.
func (m *Model) phasors(in *spaceField, freqHz float64, ranges []muRange) *phasorSides {
	if in == nil || in.problem == nil || !m.insulated() {
		return nil
	}
	return &phasorSides{make: func() ([]*phasorField, error) {
		low, err := m.phasorFieldOf(in, freqHz, ranges, func(r muRange) float64 { return r.low })
		if err != nil || !slices.ContainsFunc(ranges, muRange.open) {
			return []*phasorField{low}, err
		}
		high, err := m.phasorFieldOf(in, freqHz, ranges, func(r muRange) float64 { return r.high })
		return []*phasorField{low, high}, err
	}}
}

// insulated is that of the layout of m, asked once.
func (m *Model) insulated() bool {
	c := m.cache
	c.insulatedOnce.Do(func() { c.insulated = insulated(m.Layout) })
	return c.insulated
}

// roughSection solves the plane section on its first mesh.
func (m *Model) roughSection(on *work.Budget, freqHz float64, ranges []muRange, pick func(muRange) float64) (*fem.Solution, error) {
	l := *m.Layout
	l.Sensors = nil // no place asks for more
	return m.solveWith(on, &l, freqHz, fem.Options{Certainty: levelCertainty[0], Meshes: m.cache.meshes}, ranges, pick)
}

// phasorFieldOf returns the field at freqHz with a permeability picked of each range, solved once: the end of one range is
// often that of another.
func (m *Model) phasorFieldOf(in *spaceField, freqHz float64, ranges []muRange, pick func(muRange) float64) (*phasorField, error) {
	key := []float64{freqHz, float64(m.linearLevel())} // levels beyond the first take bars and iron as one
	for i, r := range ranges {
		if in.piece[i] >= 0 {
			key = append(key, pick(r))
		}
	}
	in.phasorMu.Lock()
	made, ok := in.phasors[fmt.Sprint(key)]
	if !ok {
		if in.phasors == nil {
			in.phasors = map[string]*madePhasors{}
		}
		made = &madePhasors{}
		in.phasors[fmt.Sprint(key)] = made
	}
	in.phasorMu.Unlock()
	made.once.Do(func() { made.of, made.err = m.newPhasorField(in, freqHz, ranges, pick) })
	return made.of, made.err
}

// madePhasors is a field, or the reason why there is none.
type madePhasors struct {
	once sync.Once
	of   *phasorField
	err  error
}

func (m *Model) newPhasorField(in *spaceField, freqHz float64, ranges []muRange, pick func(muRange) float64) (*phasorField, error) {
	l := m.Layout
	var mu []complex128
	for i := range l.Shields {
		if in.piece[i] < 0 {
			continue
		}
		mat := &l.Materials[l.Shields[i].Material]
		mu = append(mu, closedform.SheetMu(freqHz, mat.SigmaSPerM.V, pick(ranges[i]), mat.SheetM.V))
	}
	if m.linearLevel() > 0 {
		return m.refinedPhasorField(in, freqHz, ranges, pick, mu)
	}
	p := &phasorField{space: in}
	n := len(l.Bars)
	basis := m.barBasis(in.sources[:n])
	sums := alone(n)
	loops, parts := iron.NewLoops(nil), []iron.Sum(nil)
	if crowds(l, freqHz) {
		var err error
		if p.lay, err = m.strandsOf(in); err != nil {
			return nil, err
		}
		if err = m.atOnce(
			func(on *work.Budget) (err error) { p.with, err = m.roughSection(on, freqHz, ranges, pick); return err },
			func(on *work.Budget) (err error) { p.without, err = m.barsAlone(on, freqHz); return err },
		); err != nil {
			return nil, err
		}
		parts = p.addEddies(sums)
		p.with.LetGo()
		p.without.LetGo()
		loops = p.lay.loops
	}
	p.alternating = func(on *iron.Problem) (*iron.Alternating, error) {
		return on.Alternating(mu, basis, loops, sums, false)
	}
	p.steps = func(on *iron.Problem) float64 { return on.LinearSteps(2 * len(sums)) }
	if err := m.cache.work.Take(p.steps(in.problem)+in.problem.LinearSteps(2*len(parts)), "alternating iron in space"); err != nil {
		return nil, &Unknown{err.Error()}
	}
	if err := m.atOnce(
		func(*work.Budget) (err error) { p.of, err = p.alternating(in.problem); return err },
		func(*work.Budget) (err error) {
			if parts != nil {
				p.parts, err = in.problem.Alternating(mu, basis, loops, parts, true)
			}
			return err
		},
	); err != nil {
		return nil, unknownInSpace(err)
	}
	p.shift = p.of.Against(in.iron)
	return p, nil
}

// atOnce calls all of todo at the same time, each with its part of the work that is left, and returns the first error in their
// order. What does not come about with its part is tried again with all that the others leave.
func (m *Model) atOnce(todo ...func(*work.Budget) error) error {
	errs := make([]error, len(todo))
	c := m.cache
	if c.shelf.Full() { // what is dropped hangs on the order
		for i := range todo {
			errs[i] = todo[i](c.work)
		}
	} else {
		parts := c.work.Fork(len(todo))
		parallel.Each(len(todo), len(todo), func(_, i int) { errs[i] = todo[i](parts[i]) })
		c.work.Join(parts)
		for i := range todo {
			if parts[i].Over() != nil {
				errs[i] = todo[i](c.work)
			}
		}
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// addEddies adds the eddy currents to the sums of the bars and returns their parts: see partsOf.
func (p *phasorField) addEddies(sums []iron.Sum) []iron.Sum {
	with, without := p.with.EddyCurrents(), p.without.EddyCurrents()
	p.alone = weights(p.lay.strands, without)
	n := len(sums)
	diff, still := weights(p.lay.sparse, with), weights(p.lay.sparse, without)
	for b := range sums {
		for i := range diff[b] {
			diff[b][i] -= still[b][i]
		}
		p.answer = append(p.answer, [shapes][]complex128{asEndless: diff[b], alongX: still[n], alongY: still[n+1]})
	}
	parts := make([]iron.Sum, partsOf*n)
	for b := range sums {
		late := inTime(with.A[b])
		smooth := func(of *profile) boxes { return of.between(b, late) }
		all := p.lay.weights(1, p.alone[b], p.answer[b], smooth)
		iron := p.lay.weights(0, p.alone[b], p.answer[b], (*profile).whole)
		left := p.lay.weights(0, p.alone[b], p.answer[b], func(of *profile) boxes { return of.step(b) })
		sums[b].Loops = all
		for k, w := range [partsOf][]complex128{allEddies: all, ironEddies: iron, smoothing: left} {
			parts[partsOf*b+k] = sums[b]
			parts[partsOf*b+k].Basis, parts[partsOf*b+k].Loops = make([]complex128, n), w
		}
		p.late = append(p.late, late)
	}
	return parts
}

// inTime returns the share of currents in phase with what drives them: 0 while eddy currents do not hinder
// the field, near 1 where they shut it out.
func inTime(a []complex128) float64 {
	re, all := 0.0, 0.0
	for _, v := range a {
		re += float64(real(v) * real(v))
		all += float64(real(v)*real(v)) + float64(imag(v)*imag(v))
	}
	if all == 0 {
		return 0
	}
	return math.Sqrt(re / all)
}

// crowds reports whether eddy currents of bars change anything worth a bound.
func crowds(l *layout.Layout, freqHz float64) bool {
	for i := range l.Bars {
		if crowding(&l.Bars[i], freqHz) >= nothingCrowds {
			return true
		}
	}
	return false
}

// at returns the flux density at q in T/A of bar b.
func (p *phasorField) at(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	re, im, bound := p.of.B(q, int(b))
	v := phasor(re, im)
	if !f.rough {
		_, e := p.space.bars[b].B(q)
		v = v.inIron(bound, e+float64(1e-9*v.Norm()))
	}
	return v.Add(p.eddies(f, q, b))
}

// change returns by how much at differs from steady current in the iron of small signals.
func (p *phasorField) change(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	re, im, bound := p.shift.B(q, int(b))
	v := phasor(re, im)
	if !f.rough {
		v = v.inIron(bound, 0)
	}
	return v.Add(p.eddies(f, q, b))
}

func phasor(re, im geom.Point3) Vec {
	return Vec{X: complex(re.X, im.X), Y: complex(re.Y, im.Y), Z: complex(re.Z, im.Z)}
}

// eddies returns what the section corrects of the strands' own field at q, in air, with the
// bounds of what eddy currents do there.
func (p *phasorField) eddies(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	if p.parts == nil {
		return Vec{}
	}
	if p.metals != nil {
		return p.metals.change(q, int(b), 0)
	}
	near := p.lay.nearest(q)
	keep := p.lay.profiles[near]
	n := len(p.alone) - 2
	ax, ay := planeB(p.lay.strands, q.XY(), p.alone[b])
	wx, wy, ox, oy := p.places.at(p, q.XY())
	out := Vec{X: ox[b] - ax, Y: oy[b] - ay}
	known := [shapes]Vec{asEndless: {X: wx[b] - ox[b], Y: wy[b] - oy[b]}, alongX: {X: ox[n], Y: oy[n]}, alongY: {X: ox[n+1], Y: oy[n+1]}}
	for k, w := range keep.between(int(b), p.late[b]) {
		x, y := planeB(p.lay.sparse, q.XY(), p.answer[b][k])
		share := complex(keep.value(w, q.Z), 0)
		out.X, out.Y = out.X+portable.Times(share, known[k].X-x), out.Y+portable.Times(share, known[k].Y-y)
	}
	if f.rough {
		return out
	}
	part := func(k int) float64 {
		re, im, _ := p.parts.B(q, partsOf*int(b)+k)
		return phasor(re, im).Norm()
	}
	ends := strandEnds(f, q.Z)
	left := 0.0
	if ends > 0 {
		left = leftAlone * math.Max(uniformAnswer(p.with, q, 0, wx[n], wy[n]), uniformAnswer(p.with, q, 1, wx[n+1], wy[n+1]))
		re, im, _ := p.of.B(q, int(b))
		left *= phasor(re, im).Norm()
	}
	all := part(allEddies)
	out.Bound = float64(math.Max(strandShare, ends)*out.Norm()) + float64(ends*math.Max(all, left)) + float64(eddyMesh*all) +
		p.ironDoubt(b, int(b) == near, part(ironEddies), part(smoothing))
	return out
}

// ironDoubt returns what iron of finite depth changes in the eddy currents may be off by, beside the bar that carries
// the current and beside another. Against a solution of first order in ω by finite differences (TestFirstOrderEddies)
// and against bars that shut the field out (TestBarsWithoutSkin) the errors lay below.
func (p *phasorField) ironDoubt(b layout.BarIndex, own bool, iron, smoothing float64) float64 {
	rest := 0.0
	for _, k := range p.lay.profiles {
		if k != nil {
			rest = math.Max(rest, k.rest[b])
		}
	}
	doubt := float64((rest+answerShare+float64(lateShare*p.late[b]))*iron) + float64(smoothShare*smoothing)
	if own {
		return doubtOwn * doubt
	}
	return doubtBeside * doubt
}

const (
	answerShare = 0.05 // of what endless iron changes
	lateShare   = 0.1  // of that, times the part in phase with the drive: iron changes the answer itself
	smoothShare = 0.6  // of what smoothing the profile changes

	doubtOwn, doubtBeside = 1.3, 0.6
)
