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
// With J the eddy currents of the section with its iron and J' those of the bars by themselves,
// iron of finite depth leaves something between: 1 − s/2 of J and s/2 of J', s the share endShareOf of the
// iron at its middle. Model errors, named
//
//	iron in the eddy currents  s(z) of the field of J − J'
//	ends of the bars           endShare of the field of the eddy currents
//	mesh of the eddy currents  eddyMesh of it
//	strands                    what the section, where their field is known exactly, corrects
type phasorField struct {
	space         *spaceField
	strands       []*strands        // of each bar
	of            *iron.Alternating // of each bar
	parts         *iron.Alternating // on the coarse mesh, of each bar in turn: eddy currents, J − J'; nil without
	weights       [][]complex128    // of the strands, for each bar
	with, without *fem.Solution     // of the section
	keep          float64           // the part of J
}

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

// strandMemory is the part of memory that belongs to strands, made once.
type strandMemory struct {
	once  sync.Once
	list  []*strands
	loops *iron.Loops

	mu    sync.Mutex
	alone map[float64]*fem.Solution // the bars by themselves, by frequency
}

func (m *Model) strandsOf(bars int) ([]*strands, *iron.Loops, error) {
	c := m.cache
	in, err := m.conductors()
	c.strands.once.Do(func() {
		c.strands.list = make([]*strands, bars)
		for i := range m.Layout.Bars {
			if b := &m.Layout.Bars[i]; err == nil && b.SigmaSPerM > 0 {
				c.strands.list[i] = newStrands(b, in[i], ironClearM(m.Layout, b))
			}
		}
		c.strands.loops = loopsOf(c.strands.list)
	})
	return c.strands.list, c.strands.loops, err
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
	loops := iron.NewLoops(nil)
	sums, parts := make([]iron.Sum, n), make([]iron.Sum, 2*n)
	for b := range sums {
		sums[b].Basis = make([]complex128, n)
		sums[b].Basis[b] = 1
	}
	if crowds(l, freqHz) {
		var err error
		if p.strands, loops, err = m.strandsOf(n); err != nil {
			return nil, err
		}
		if p.without, err = m.barsAlone(freqHz); err != nil {
			return nil, err
		}
		p.keep = 1 - ironShare(l, math.NaN())/2
		iron, alone := weights(p.strands, with.EddyCurrents()), weights(p.strands, p.without.EddyCurrents())
		for b := range sums {
			both, diff := make([]complex128, len(iron[b])), make([]complex128, len(iron[b]))
			for i, w := range iron[b] {
				diff[i] = w - alone[b][i]
				both[i] = alone[b][i] + complex(p.keep, 0)*diff[i]
			}
			p.weights = append(p.weights, both)
			sums[b].Loops, parts[2*b].Loops, parts[2*b+1].Loops = both, both, diff
			parts[2*b].Basis, parts[2*b+1].Basis = make([]complex128, n), make([]complex128, n)
		}
		if p.parts, err = in.problem.Alternating(mu, m.barBasis(in.sources[:n]), loops, parts, true); err != nil {
			return nil, unknownInSpace(err)
		}
	}
	var err error
	if p.of, err = in.problem.Alternating(mu, m.barBasis(in.sources[:n]), loops, sums, false); err != nil {
		return nil, unknownInSpace(err)
	}
	return p, nil
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

// ironShare returns the largest endShareOf of pieces of iron at height zM, NaN for that of
// each at its own middle.
func ironShare(l *layout.Layout, zM float64) float64 {
	worst := 0.0
	for i := range l.Shields {
		s := &l.Shields[i]
		if !l.Materials[s.Material].Magnetic() {
			continue
		}
		toEndM := s.DepthM.V / 2
		if !math.IsNaN(zM) {
			toEndM -= math.Abs(zM - s.At.Z.V)
		}
		worst = math.Max(worst, endShareOf(s.Region().Box(), s.DepthM.V, toEndM))
	}
	return worst
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
	x, y := planeB(p.strands, q.XY(), p.weights[b])
	wx, wy := p.with.EddyB(q.XY())
	ax, ay := p.without.EddyB(q.XY())
	keep := complex(p.keep, 0)
	out := Vec{X: ax[b] + keep*(wx[b]-ax[b]) - x, Y: ay[b] + keep*(wy[b]-ay[b]) - y}
	if f.rough {
		return out
	}
	norm := func(k int) float64 {
		re, im, _ := p.parts.B(q, k)
		return phasor(re, im).Norm()
	}
	eddy, diff := norm(2*int(b)), norm(2*int(b)+1)
	ends := f.endShare(q.Z)
	left := 0.0
	if ends > 0 {
		n := len(p.weights)
		ux, uy := f.section.uniform(q.XY(), true)
		left = leftAlone * math.Max(math.Hypot(cmplx.Abs(wx[n]), cmplx.Abs(wy[n]))/ux.Norm(),
			math.Hypot(cmplx.Abs(wx[n+1]), cmplx.Abs(wy[n+1]))/uy.Norm())
		re, im, _ := p.of.B(q, int(b))
		left *= phasor(re, im).Norm()
	}
	out.Bound = math.Max(strandShare, ends)*out.Norm() + ends*math.Max(eddy, left) + eddyMesh*eddy + ironShare(f.layout, q.Z)*diff
	return out
}

// strandShare is the part of what the section corrects that may be off in space and in
// the iron's answer to it.
const strandShare = 0.2

// wall returns the flux density of a piece of iron for currents of the bars.
func (p *phasorField) wall(f *Field, piece int, zM float64, peakA []complex128) Wall {
	w := p.of.Wall(piece, peakA)
	slack, rms := 0.0, 0.0
	if p.parts != nil {
		add := func(k int, share float64) {
			in := make([]complex128, 2*len(peakA))
			for b, a := range peakA {
				in[2*b+k] = a
			}
			v := p.parts.Wall(piece, in)
			slack += share * math.Max(v.PeakT, v.EndT)
			rms += share * v.RmsT
		}
		add(0, f.endShare(zM)+eddyMesh)
		add(1, ironShare(f.layout, math.NaN()))
	}
	return Wall{
		Peak: bounded.Around(w.PeakT, w.PeakBoundT+slack), RMS: bounded.Around(w.RmsT, w.RmsBoundT+rms),
		Most: bounded.Around(math.Max(w.PeakT, w.EndT), w.PeakBoundT+slack),
	}
}
