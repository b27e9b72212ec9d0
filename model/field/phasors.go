package field

import (
	"math"
	"math/cmplx"
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
// bar carries J' + w(z) (J − J') along z, w the smoothed profile of the field that the iron in space adds in its
// metal: see profile. Model errors, named
//
//	iron in the eddy currents  what of that field is not along the section's, half of the part in phase with
//	                           the drive, where iron changes the answer itself, and three tenths of what smoothing does
//	ends of the bars           endShare of the field of the eddy currents
//	mesh of the eddy currents  eddyMesh of it
//	strands                    a fifth of what the section, where their field is known, corrects
type phasorField struct {
	space         *spaceField
	lay           *strandLayout
	of            *iron.Alternating // of each bar
	parts         *iron.Alternating // on the coarse mesh, of each bar in turn: see partsOf; nil without eddy currents
	alone, diff   [][]complex128    // J' in strands and J − J' in stretches, for each bar
	with, without *fem.Solution     // of the section
	late          []float64         // for each bar, the part of the eddy currents that is not a quarter period late
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
const eddyMesh = 0.02

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
	l := *m.Layout
	l.Sensors = nil // no place needs more than the first mesh
	still, err := solveWith(&l, 0, levelCertainty[0], m.smallSignal(), func(r muRange) float64 { return r.low })
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
		clearM := ironClearM(&l, b)
		lay.strands[k] = newStrands(b, in.bars[k], clearM, strandError)
		lay.sparse[k] = newStrands(b, in.bars[k], clearM, stretchError)
		lay.profiles[k] = newProfile(&l, in, still, k)
		for _, s := range lay.strands[k].of {
			loops = append(loops, iron.Loop{B: s.B, PotentialA: s.PotentialA})
		}
		stretches = append(stretches, lay.profiles[k].stretches(in.bars[k], lay.sparse[k])...)
	}
	lay.count = len(loops)
	lay.loops = iron.NewLoops(append(loops, stretches...))
	lay.dbg = append(loops, stretches...)
	if c.of == nil {
		c.of = map[*spaceField]*strandLayout{}
	}
	c.of[in] = lay
	return lay, nil
}

// weights returns the currents of all loops for alone in the strands, times one, and diff in the stretches by a
// profile.
func (y *strandLayout) weights(one complex128, alone, diff []complex128, boxes func(*profile) []float64) []complex128 {
	out := make([]complex128, 0, y.count)
	for _, w := range alone {
		out = append(out, one*w)
	}
	first := 0
	for k, s := range y.sparse {
		if s == nil {
			continue
		}
		of := diff[first : first+len(s.at)]
		first += len(s.at)
		for _, f := range boxes(y.profiles[k]) {
			for _, w := range of {
				out = append(out, complex(f, 0)*w)
			}
		}
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
	l.Shields = nil
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

// phasors returns the field in space at freqHz with iron in a range, over the section f; nil where
// it is carried over from the section.
func (m *Model) phasors(in *spaceField, section section, freqHz float64, ranges []muRange) *phasorSides {
	plane, ok := section.(*plane)
	if !ok || in == nil || in.problem == nil || !insulated(m.Layout) {
		return nil
	}
	return &phasorSides{make: func() ([]*phasorField, error) {
		low, err := m.newPhasorField(in, plane.low, freqHz, ranges, func(r muRange) float64 { return r.low })
		if err != nil || plane.high == nil {
			return []*phasorField{low}, err
		}
		high, err := m.newPhasorField(in, plane.high, freqHz, ranges, func(r muRange) float64 { return r.high })
		return []*phasorField{low, high}, err
	}}
}

func (m *Model) newPhasorField(in *spaceField, with *fem.Solution, freqHz float64, ranges []muRange, pick func(muRange) float64) (*phasorField, error) {
	l := m.Layout
	var mu []complex128
	for i := range l.Shields {
		if in.piece[i] < 0 {
			continue
		}
		mat := &l.Materials[l.Shields[i].Material]
		mu = append(mu, closedform.SheetMu(freqHz, mat.SigmaSPerM.V, pick(ranges[i]), mat.SheetM.V))
	}
	p := &phasorField{space: in, with: with}
	n := len(l.Bars)
	basis := m.barBasis(in.sources[:n])
	sums := make([]iron.Sum, n)
	for b := range sums {
		sums[b].Basis = make([]complex128, n)
		sums[b].Basis[b] = 1
	}
	loops := iron.NewLoops(nil)
	if crowds(l, freqHz) {
		if err := m.addEddies(p, mu, freqHz, sums); err != nil {
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
	p.diff = weights(p.lay.sparse, with)
	for b, w := range weights(p.lay.sparse, without) {
		for i := range w {
			p.diff[b][i] -= w[i]
		}
	}
	n := len(sums)
	parts := make([]iron.Sum, partsOf*n)
	for b := range sums {
		late := inTime(with.A[b])
		smooth := func(of *profile) []float64 { return of.between(b, late) }
		all := p.lay.weights(1, p.alone[b], p.diff[b], smooth)
		iron := p.lay.weights(0, p.alone[b], p.diff[b], smooth)
		left := p.lay.weights(0, p.alone[b], p.diff[b], func(of *profile) []float64 { return of.step(b) })
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
	share := complex(keep.value(keep.between(int(b), p.late[b]), q.Z), 0)
	ax, ay := planeB(p.lay.strands, q.XY(), p.alone[b])
	dx, dy := planeB(p.lay.sparse, q.XY(), p.diff[b])
	wx, wy := p.with.EddyB(q.XY())
	ox, oy := p.without.EddyB(q.XY())
	out := Vec{X: ox[b] - ax + share*(wx[b]-ox[b]-dx), Y: oy[b] - ay + share*(wy[b]-oy[b]-dy)}
	if f.rough {
		return out
	}
	part := func(k int) float64 {
		re, im, _ := p.parts.B(q, partsOf*int(b)+k)
		return phasor(re, im).Norm()
	}
	ends := f.endShare(q.Z)
	left := 0.0
	if ends > 0 {
		n := len(p.alone) - 2
		ux, uy := f.section.uniform(q.XY(), true)
		left = leftAlone * math.Max(math.Hypot(cmplx.Abs(wx[n]), cmplx.Abs(wy[n]))/ux.Norm(),
			math.Hypot(cmplx.Abs(wx[n+1]), cmplx.Abs(wy[n+1]))/uy.Norm())
		re, im, _ := p.of.B(q, int(b))
		left *= phasor(re, im).Norm()
	}
	all := part(allEddies)
	out.Bound = math.Max(strandShare, ends)*out.Norm() + ends*math.Max(all, left) + eddyMesh*all +
		p.ironDoubt(b, part(ironEddies), part(smoothing))
	return out
}

// ironDoubt returns what the iron's part in the eddy currents may be off by.
func (p *phasorField) ironDoubt(b layout.BarIndex, iron, smoothing float64) float64 {
	rest := 0.0
	for _, k := range p.lay.profiles {
		if k != nil {
			rest = math.Max(rest, k.rest[b])
		}
	}
	return (rest+lateShare*p.late[b])*iron + smoothShare*smoothing
}

const (
	smoothShare = 0.3
	lateShare   = 0.5
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
			allEddies:  func(layout.BarIndex) float64 { return f.endShare(zM) + eddyMesh },
			ironEddies: func(b layout.BarIndex) float64 { return p.ironDoubt(b, 1, 0) },
			smoothing:  func(b layout.BarIndex) float64 { return p.ironDoubt(b, 0, 1) },
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
