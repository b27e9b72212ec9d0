package field

import (
	"math"
	"sync"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space/iron"
	"busgauss/model/work"
)

// strandLayout is what stands in space for the eddy currents of bars: strands along each bar, and stretches
// of strands along its profile.
type strandLayout struct {
	strands, sparse []*strands // of each bar that conducts; else nil
	profiles        []*profile
	loops           *iron.Loops // strands of all bars, then stretches
	count           int         // of strands
}

// strandMemory is the part of memory that belongs to strands.
type strandMemory struct {
	mu      sync.Mutex
	of      map[*spaceField]*strandLayout
	aloneMu sync.Mutex
	alone   map[float64]*fem.Solution // the bars by themselves, by frequency
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
	still, err := m.roughSection(m.cache.work, 0, m.smallSignal(), func(r muRange) float64 { return r.low })
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
		out = append(out, portable.Times(one, w))
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
					sum += portable.Times(complex(w[n][j], 0), answer[n][first+i])
				}
				out = append(out, sum)
			}
		}
		first += len(s.at)
	}
	return out
}

// barsAlone returns the plane section at freqHz without its shields, solved once.
func (m *Model) barsAlone(on *work.Budget, freqHz float64) (*fem.Solution, error) {
	c := &m.cache.strands
	c.aloneMu.Lock()
	defer c.aloneMu.Unlock()
	if s, ok := c.alone[freqHz]; ok {
		return s, nil
	}
	l := *m.Layout
	l.Shields, l.Sensors = nil, nil
	s, err := m.solveWith(on, &l, freqHz, fem.Options{Certainty: levelCertainty[0]}, nil, nil)
	if err == nil {
		if c.alone == nil {
			c.alone = map[float64]*fem.Solution{}
		}
		c.alone[freqHz] = s
	}
	return s, err
}

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
		worst = math.Max(worst, math.Min(1, 3*portable.Pow(widthM/toEndM, 3)))
	}
	return worst
}

// uniformAnswer returns what eddy currents make of a uniform field at q, over what of it is there.
func uniformAnswer(s *fem.Solution, q geom.Point3, dir int, eddyX, eddyY complex128) float64 {
	x, y := s.RoughUniform(q.XY(), dir)
	return portable.Hypot(portable.Abs(eddyX), portable.Abs(eddyY)) / portable.Hypot(portable.Abs(x), portable.Abs(y))
}

// strandShare is the part of what the section corrects that may be off in space and in
// the iron's answer to it.
const strandShare = 0.2
