package eddy

import (
	"fmt"
	"math"
	"sync"

	"busgauss/model/portable"
	"busgauss/model/work"
)

// level is one mesh with what its geometry alone decides, made when first needed.
type level struct {
	m       *mesh
	once    sync.Once
	k       *kernel
	mu      sync.Mutex
	systems [2]*system
	errs    [2]error

	shapes    [2]*potentials // of magnetic metal
	shapeErrs [2]error
	iron      [2]madeIron // the latest of each parity
}

// madeIron is a permeable with its permeabilities in words.
type madeIron struct {
	key string
	of  *permeable
}

func newLevel(m *mesh) *level { return &level{m: m} }

// parities returns those that the sources may have; with iron, where they are dear, after a look at a choice of cells.
func (l *level) parities(iron bool, sources []Source) []parity {
	if !l.m.mirror {
		return []parity{round}
	}
	if !iron {
		return []parity{through, round}
	}
	var some [2]bool
	for _, s := range sources {
		var part [2]float64
		for c := 0; c < len(l.m.cells); c += max(1, len(l.m.cells)/64) {
			q := l.m.body[c].gauss[0]
			a, b := s(q), s(l.m.below(q))
			b.Z = -b.Z
			part[through] = math.Max(part[through], a.Add(b).Norm())
			part[round] = math.Max(part[round], a.Sub(b).Norm())
		}
		for p := range part {
			some[p] = some[p] || part[p] > roundedFlux*(part[through]+part[round])
		}
	}
	var out []parity
	for p, is := range some {
		if is {
			out = append(out, parity(p))
		}
	}
	return out
}

// system returns the system of one parity; of metal that is not magnetic where mu is nil.
func (l *level) system(p parity, mu []float64) (*system, error) {
	if mu == nil {
		l.once.Do(func() { l.k = l.m.kernel() })
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.systems[p] == nil && l.errs[p] == nil {
		l.systems[p], l.errs[p] = newSystem(l.m, p)
	}
	if l.errs[p] != nil {
		return nil, l.errs[p]
	}
	out := *l.systems[p]
	if mu == nil {
		out.k = l.k
		return &out, nil
	}
	if l.shapes[p] == nil && l.shapeErrs[p] == nil {
		l.shapes[p], l.shapeErrs[p] = newPotentials(l.m, p)
	}
	if l.shapeErrs[p] != nil {
		return nil, l.shapeErrs[p]
	}
	// One at a time is kept: those of other permeabilities belong to the responses that were made with them.
	key := fmt.Sprint(p, mu)
	if l.iron[p].key == key {
		out.iron = l.iron[p].of
		return &out, nil
	}
	var err error
	if out.iron, err = newPermeable(l.shapes[p], mu); err == nil {
		l.iron[p] = madeIron{key, out.iron}
	}
	return &out, err
}

// Response is what the walls do to some sources, at any frequency.
type Response struct {
	parts [2][]*part // of each mesh: one a parity that the sources have
}

// part is a reduction with the vectors that each decade of frequency takes.
type part struct {
	work  *work.Budget
	what  string
	mu    sync.Mutex
	g     *reduction
	takes map[int]int
	still [][]float64 // of each source, what steady iron answers, in moments of cells; nil without iron
}

// Respond prepares the answer to the sources, and to others of which combinations
// take small amounts only: these count to some hundredths.
func (p *Problem) Respond(sources, small []Source) (*Response, error) {
	return p.respond(nil, sources, small)
}

// Opened reports whether a piece has an opening through it, which RespondIron does not take.
func (p *Problem) Opened() bool { return len(p.levels[1].m.holes) > 0 }

// RespondIron is Respond for pieces of relative permeabilities mu, one a piece, 1 or above. The error is an *InputError where
// a piece has an opening through it.
func (p *Problem) RespondIron(mu []float64, sources, small []Source) (*Response, error) {
	if p.Opened() {
		return nil, &InputError{What: "iron that conducts and has an opening through it, or a piece beside it"}
	}
	for _, v := range mu {
		if !(v >= 1 && !math.IsInf(v, 1)) {
			return nil, &InputError{What: "relative permeability must be 1 or above and finite"}
		}
	}
	return p.respond(mu, sources, small)
}

func (p *Problem) respond(mu []float64, sources, small []Source) (*Response, error) {
	if err := p.work.Take(p.steps(mu != nil, len(sources)+len(small)), p.what()); err != nil {
		return nil, err
	}
	r := &Response{}
	whole := len(sources)
	sources = append(sources[:whole:whole], small...)
	for k, l := range p.levels {
		var systems []*system
		for _, q := range l.parities(mu != nil, sources) {
			y, err := l.system(q, mu)
			if err != nil {
				return nil, err
			}
			systems = append(systems, y)
		}
		b, still, err := l.drives(systems, sources)
		if err != nil {
			return nil, err
		}
		some := cleared(b)
		for i, y := range systems {
			if some[i] {
				r.parts[k] = append(r.parts[k], &part{work: p.work, what: p.what(), g: newReduction(y, b[i], whole), takes: map[int]int{}, still: still[i]})
			}
		}
	}
	return r, nil
}

// drives returns b of each source by parity, and what steady iron answers.
func (l *level) drives(systems []*system, sources []Source) (b, still [][][]float64, err error) {
	b, still = make([][][]float64, len(systems)), make([][][]float64, len(systems))
	room := make([][2][12]float64, len(l.m.cells))
	for _, s := range sources {
		for i, v := range fluxes(systems, s, room) {
			b[i] = append(b[i], v)
		}
	}
	if systems[0].iron == nil {
		return b, still, nil
	}
	answers, err := driven(systems, sources)
	for i, y := range systems {
		for s, h := range answers[i] {
			for k, v := range y.drives(h) {
				b[i][s][k] += v
			}
			still[i] = append(still[i], y.iron.moments(h))
		}
	}
	return b, still, err
}

// cleared sets to nought what a source has of one parity by rounding alone, and reports
// for each parity whether any source has something of it.
func cleared(fluxes [][][]float64) (some []bool) {
	some = make([]bool, len(fluxes))
	for s := range fluxes[0] {
		size, most := make([]float64, len(fluxes)), 0.0
		for p := range fluxes {
			for _, x := range fluxes[p][s] {
				size[p] = math.Max(size[p], math.Abs(x))
			}
			most = math.Max(most, size[p])
		}
		for p := range fluxes {
			if size[p] > roundedFlux*most {
				some[p] = true
				continue
			}
			clear(fluxes[p][s])
		}
	}
	return some
}

const roundedFlux = 1e-9 // of the largest flux of a source

// decade returns the number of the decade of frequency that freqHz belongs to. A space is
// grown for the top of it, so that what is asked first changes nothing.
func decade(freqHz float64) int {
	return max(0, int(math.Ceil(portable.Log10(freqHz/decadeLowest)-1e-9)))
}

// at returns the currents of combinations of sources; with iron see Response.Against.
func (p *part) at(freqHz float64, weights [][]complex128, base *part) (flow, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for d := range decade(freqHz) + 1 {
		if _, ok := p.takes[d]; !ok {
			n, err := p.g.reach(decadeLowest*portable.Pow(10, float64(d)), func(steps float64) error { return p.work.Take(steps, p.what) })
			if err != nil {
				return flow{}, err
			}
			p.takes[d] = n
		}
	}
	n := p.takes[decade(freqHz)]
	n3 := float64(n) * float64(n) * float64(n)
	if err := p.work.Take(4*n3/3+float64(float64(len(weights)*n)*(4*float64(n)+float64(6*float64(len(p.g.y.m.cells))))), p.what); err != nil {
		return flow{}, err
	}
	f := flow{y: p.g.y.light(), work: p.work}
	cells := len(p.g.y.m.cells)
	for k, y := range p.g.solveAt(freqHz, n, weights) {
		m := make([]vec3, cells)
		var leaves []complex128
		if p.still != nil {
			leaves = make([]complex128, p.g.y.iron.counts[0])
		}
		add := func(w complex128, moments []float64) {
			for j, x := range moments {
				v := complex(float64(real(w)*x), float64(imag(w)*x))
				if j < 3*cells {
					m[j/3][j%3] += v
				} else {
					leaves[j-3*cells] += v
				}
			}
		}
		for i, v := range y {
			add(v, p.g.moments[i])
		}
		for s, w := range weights[k] {
			switch {
			case p.still == nil || w == 0:
			case s >= p.g.whole:
				add(w, p.still[s])
			case base != nil && base != p:
				add(w, p.still[s])
				add(-w, base.still[s])
			}
		}
		f.moments, f.leaves = append(f.moments, m), append(f.leaves, leaves)
	}
	return f, nil
}
