package field

import (
	"math"
	"math/cmplx"
	"slices"
	"sync"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
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
	of            *iron.Alternating      // of each bar
	parts         *iron.Alternating      // on the coarse mesh, of each bar in turn: see partsOf; nil without eddy currents
	alone         [][]complex128         // J' in strands, for each bar
	answer        [][shapes][]complex128 // in sparse strands, to the shapes of profiles, for each bar: J − J', and to uniform fields
	with, without *fem.Solution          // of the section
	late          []float64              // for each bar, the part of the eddy currents that is not a quarter period late
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

// insulated reports whether all iron of l is such that it may be solved with its complex
// permeability, and nothing but bars conducts along z.
func insulated(l *layout.Layout) bool {
	for i := range l.Shields {
		if m := &l.Materials[l.Shields[i].Material]; m.SigmaSPerM.V > 0 && !m.SheetM.Set {
			return false
		}
	}
	for i := range l.Bars {
		b := &l.Bars[i]
		if b.SigmaSPerM > 0 && (len(b.Cuts) > 0 || !(ironClearM(l, b) > 0)) {
			return false // the flow round cuts is none of the section; strands in iron have no potential there
		}
	}
	return true
}

// ironClearM returns the distance of the nearest iron from the box about the section of b; 0
// where they overlap.
func ironClearM(l *layout.Layout, b *layout.Bar) float64 {
	var box geom.Polygon
	in := b.SectionCorners().Box()
	for _, p := range []geom.Point{in.Min, {X: in.Max.X, Y: in.Min.Y}, in.Max, {X: in.Min.X, Y: in.Max.Y}} {
		box = append(box, b.At.Point().Add(p.Rotate(b.TurnRad.V)))
	}
	least := math.Inf(1)
	for i := range l.Shields {
		r := l.Shields[i].Region()
		if !l.Materials[l.Shields[i].Material].Magnetic() {
			continue
		}
		if geom.OverlapRegions(r, geom.Solid(box)) {
			return 0
		}
		for _, p := range box {
			least = math.Min(least, r.DistanceM(p))
		}
		for _, ring := range append([]geom.Polygon{r.Outer}, r.Holes...) {
			for _, p := range ring {
				least = math.Min(least, box.DistanceM(p))
			}
		}
	}
	return least
}

// strandLayout is what stands in space for the eddy currents of bars: strands along each bar, and stretches
// of strands along its profile.
type strandLayout struct {
	strands, sparse []*strands // of each bar that conducts; else nil
	profiles        []*profile
	loops           *iron.Loops // strands of all bars, then stretches
	dbg             []iron.Loop
	count           int // of strands
}

// strandMemory is the part of memory that belongs to strands.
type strandMemory struct {
	mu    sync.Mutex
	of    map[*spaceField]*strandLayout
	alone map[float64]*fem.Solution // the bars by themselves, by frequency
}

// strandsOf lays the strands for the iron of a field, once.
func (m *Model) strandsOf(in *spaceField) (*strandLayout, error) {
	c := &m.cache.strands
	c.mu.Lock()
	defer c.mu.Unlock()
	if lay, ok := c.of[in]; ok {
		return lay, nil
	}
	l := m.Layout
	still, err := m.roughSection(0, m.smallSignal(), func(r muRange) float64 { return r.low })
	if err != nil {
		return nil, err
	}
	n := len(l.Bars)
	lay := &strandLayout{strands: make([]*strands, n), sparse: make([]*strands, n), profiles: make([]*profile, n)}
	var loops, stretches []iron.Loop
	for k := range l.Bars {
		b := &l.Bars[k]
		if !(b.SigmaSPerM > 0) {
			continue
		}
		clearM := ironClearM(l, b)
		lay.strands[k] = newStrands(b, in.bars[k], clearM, strandError)
		lay.sparse[k] = newStrands(b, in.bars[k], clearM, stretchError)
		lay.profiles[k] = newProfile(l, in, still, k)
		for _, s := range lay.strands[k].of {
			loops = append(loops, iron.Loop{B: s.B, PotentialA: s.PotentialA})
		}
		stretches = append(stretches, lay.profiles[k].stretches(in.bars[k], lay.sparse[k])...)
	}
	lay.count = len(loops)
	lay.loops = iron.NewLoops(append(loops, stretches...))
	if c.of == nil {
		c.of = map[*spaceField]*strandLayout{}
	}
	c.of[in] = lay
	return lay, nil
}

// weights returns the currents of all loops for alone in the strands, times one, and those that answer to each
// shape in the stretches, by a profile.
func (y *strandLayout) weights(one complex128, alone []complex128, answer [shapes][]complex128, of func(*profile) boxes) []complex128 {
	out := make([]complex128, 0, y.count)
	for _, w := range alone {
		out = append(out, one*w)
	}
	first := 0
	for k, s := range y.sparse {
		if s == nil {
			continue
		}
		w := of(y.profiles[k])
		for j := range y.profiles[k].edgeM {
			for i := range s.at {
				var sum complex128
				for n := range answer {
					sum += complex(w[n][j], 0) * answer[n][first+i]
				}
				out = append(out, sum)
			}
		}
		first += len(s.at)
	}
	return out
}

// barsAlone returns the plane section at freqHz without its shields, solved once.
func (m *Model) barsAlone(freqHz float64) (*fem.Solution, error) {
	c := &m.cache.strands
	c.mu.Lock()
	defer c.mu.Unlock()
	if s, ok := c.alone[freqHz]; ok {
		return s, nil
	}
	l := *m.Layout
	l.Shields, l.Sensors = nil, nil
	s, err := solveWith(&l, freqHz, levelCertainty[0], nil, nil)
	if err == nil {
		if c.alone == nil {
			c.alone = map[float64]*fem.Solution{}
		}
		c.alone[freqHz] = s
	}
	return s, err
}

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
		low, err := m.newPhasorField(in, freqHz, ranges, func(r muRange) float64 { return r.low })
		if err != nil || !slices.ContainsFunc(ranges, muRange.open) {
			return []*phasorField{low}, err
		}
		high, err := m.newPhasorField(in, freqHz, ranges, func(r muRange) float64 { return r.high })
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
func (m *Model) roughSection(freqHz float64, ranges []muRange, pick func(muRange) float64) (*fem.Solution, error) {
	l := *m.Layout
	l.Sensors = nil // no place asks for more
	return solveWith(&l, freqHz, levelCertainty[0], ranges, pick)
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
	p := &phasorField{space: in}
	n := len(l.Bars)
	basis := m.barBasis(in.sources[:n])
	sums := make([]iron.Sum, n)
	for b := range sums {
		sums[b].Basis = make([]complex128, n)
		sums[b].Basis[b] = 1
	}
	loops := iron.NewLoops(nil)
	if crowds(l, freqHz) {
		var err error
		if p.with, err = m.roughSection(freqHz, ranges, pick); err != nil {
			return nil, err
		}
		if err = m.addEddies(p, mu, freqHz, sums); err != nil {
			return nil, err
		}
		loops = p.lay.loops
	}
	var err error
	if p.of, err = in.problem.Alternating(mu, basis, loops, sums, false); err != nil {
		return nil, unknownInSpace(err)
	}
	return p, nil
}

// addEddies adds the eddy currents to the sums of the bars, and solves for their parts.
func (m *Model) addEddies(p *phasorField, mu []complex128, freqHz float64, sums []iron.Sum) (err error) {
	if p.lay, err = m.strandsOf(p.space); err != nil {
		return err
	}
	if p.without, err = m.barsAlone(freqHz); err != nil {
		return err
	}
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
	p.parts, err = p.space.problem.Alternating(mu, m.barBasis(p.space.sources[:n]), p.lay.loops, parts, true)
	if err != nil {
		return unknownInSpace(err)
	}
	return nil
}

// inTime returns the share of currents in phase with what drives them: 0 while eddy currents do not hinder
// the field, near 1 where they shut it out.
func inTime(a []complex128) float64 {
	re, all := 0.0, 0.0
	for _, v := range a {
		re += real(v) * real(v)
		all += real(v)*real(v) + imag(v)*imag(v)
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
		v.Bound = bound + e + 1e-9*v.Norm()
	}
	return v.Add(p.eddies(f, q, b))
}

// change returns by how much at differs from steady current in the iron of small signals.
func (p *phasorField) change(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	re, im, bound := p.of.Change(q, int(b), p.space.iron, int(b))
	v := phasor(re, im)
	if !f.rough {
		v.Bound = bound
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
	near := p.lay.nearest(q)
	keep := p.lay.profiles[near]
	n := len(p.alone) - 2
	ax, ay := planeB(p.lay.strands, q.XY(), p.alone[b])
	wx, wy := p.with.EddyB(q.XY())
	ox, oy := p.without.EddyB(q.XY())
	out := Vec{X: ox[b] - ax, Y: oy[b] - ay}
	known := [shapes]Vec{asEndless: {X: wx[b] - ox[b], Y: wy[b] - oy[b]}, alongX: {X: ox[n], Y: oy[n]}, alongY: {X: ox[n+1], Y: oy[n+1]}}
	for k, w := range keep.between(int(b), p.late[b]) {
		x, y := planeB(p.lay.sparse, q.XY(), p.answer[b][k])
		share := complex(keep.value(w, q.Z), 0)
		out.X, out.Y = out.X+share*(known[k].X-x), out.Y+share*(known[k].Y-y)
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
	out.Bound = math.Max(strandShare, ends)*out.Norm() + ends*math.Max(all, left) + eddyMesh*all +
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
	doubt := (rest+answerShare+lateShare*p.late[b])*iron + smoothShare*smoothing
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

// nearest returns the conducting bar whose centre is nearest to q.
func (y *strandLayout) nearest(q geom.Point3) int {
	best, least := -1, math.Inf(1)
	for k, s := range y.strands {
		if s == nil {
			continue
		}
		if d := q.XY().Sub(s.bar.Centre()).Norm(); d < least {
			best, least = k, d
		}
	}
	return best
}

// strandEnds returns the share of the field of eddy currents that may be missing or too much at height zM because bars end
// or bend. At a straight end, e away, the strands end with the bar; what they leave out is how the currents turn round over less
// than a width w there. Over a length ℓ a row of dipoles makes ℓ/e³ of what an endless one makes over 2/w², so that both
// ends are within
//
//	3 (w/e)³,  1 nearer than 3/2 w
//
// Beyond a bend the currents are driven by another field: there it is endShareOf.
func strandEnds(f *Field, zM float64) float64 {
	worst := 0.0
	for i := range f.layout.Bars {
		b := &f.layout.Bars[i]
		lengthM := pathM(b)
		if !(b.SigmaSPerM > 0) || crowding(b, f.FreqHz) < nothingCrowds || lengthM == 0 {
			continue
		}
		at := layout.Sensor{}
		at.At.Z.V = zM
		toEndM, box := straightM(b, &at), b.Polygon().Box()
		if len(b.Run) > 0 {
			worst = math.Max(worst, endShareOf(box, lengthM, toEndM))
			continue
		}
		widthM := math.Max(box.Size().X, box.Size().Y)
		if !(toEndM > 1.5*widthM) {
			return 1
		}
		worst = math.Max(worst, math.Min(1, 3*math.Pow(widthM/toEndM, 3)))
	}
	return worst
}

// uniformAnswer returns what eddy currents make of a uniform field at q, over what of it is there.
func uniformAnswer(s *fem.Solution, q geom.Point3, dir int, eddyX, eddyY complex128) float64 {
	x, y := s.RoughUniform(q.XY(), dir)
	return math.Hypot(cmplx.Abs(eddyX), cmplx.Abs(eddyY)) / math.Hypot(cmplx.Abs(x), cmplx.Abs(y))
}

// strandShare is the part of what the section corrects that may be off in space and in
// the iron's answer to it.
const strandShare = 0.2

// wall returns the flux density of a piece of iron for currents of the bars.
func (p *phasorField) wall(f *Field, piece int, zM float64, peakA []complex128) Wall {
	w := p.of.Wall(piece, peakA)
	slack, rms := 0.0, 0.0
	if p.parts != nil {
		part := func(k int, of func(b layout.BarIndex) float64) (peakT, rmsT float64) {
			in := make([]complex128, partsOf*len(peakA))
			for b, a := range peakA {
				in[partsOf*b+k] = a * complex(of(layout.BarIndex(b)), 0)
			}
			v := p.parts.Wall(piece, in)
			return math.Max(v.PeakT, v.EndT), v.RmsT
		}
		for k, of := range [partsOf]func(layout.BarIndex) float64{
			allEddies:  func(layout.BarIndex) float64 { return strandEnds(f, zM) + eddyMesh },
			ironEddies: func(b layout.BarIndex) float64 { return p.ironDoubt(b, true, 1, 0) },
			smoothing:  func(b layout.BarIndex) float64 { return p.ironDoubt(b, true, 0, 1) },
		} {
			peak, r := part(k, of)
			slack += peak
			rms += r
		}
	}
	return Wall{
		Peak: bounded.Around(w.PeakT, w.PeakBoundT+slack), RMS: bounded.Around(w.RmsT, w.RmsBoundT+rms),
		Most: bounded.Around(math.Max(w.PeakT, w.EndT), w.PeakBoundT+slack),
	}
}
