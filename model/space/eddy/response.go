package eddy

import (
	"math"
	"sync"
)

// level is one mesh with what its geometry alone decides, made when first needed.
type level struct {
	m       *mesh
	once    sync.Once
	k       *kernel
	mu      sync.Mutex
	systems [2]*system
	errs    [2]error
}

func newLevel(m *mesh) *level { return &level{m: m} }

func (l *level) system(p parity) (*system, error) {
	l.once.Do(func() { l.k = l.m.kernel() })
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.systems[p] == nil && l.errs[p] == nil {
		l.systems[p], l.errs[p] = newSystem(l.m, l.k, p)
	}
	return l.systems[p], l.errs[p]
}

// Response is what the walls do to some sources, at any frequency.
type Response struct {
	p     *Problem
	parts [2][]*part // of each mesh: one a parity that the sources have
}

// part is a reduction with the vectors that each decade of frequency takes.
type part struct {
	mu    sync.Mutex
	g     *reduction
	takes map[int]int
}

// Respond prepares the answer to the sources, and to others of which combinations take
// small amounts only: these count to some hundredths.
func (p *Problem) Respond(sources, small []Source) (*Response, error) {
	r := &Response{p: p}
	whole := len(sources)
	sources = append(sources[:whole:whole], small...)
	for k, l := range p.levels {
		parities := []parity{round}
		if l.m.mirror {
			parities = []parity{through, round}
		}
		var systems []*system
		for _, q := range parities {
			y, err := l.system(q)
			if err != nil {
				return nil, err
			}
			systems = append(systems, y)
		}
		b := make([][][]float64, len(parities))
		room := make([][2][12]float64, len(l.m.cells))
		for _, s := range sources {
			for i, v := range fluxes(systems, s, room) {
				b[i] = append(b[i], v)
			}
		}
		some := cleared(b)
		for i, y := range systems {
			if some[i] {
				r.parts[k] = append(r.parts[k], &part{g: newReduction(y, b[i], whole), takes: map[int]int{}})
			}
		}
	}
	return r, nil
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
	return max(0, int(math.Ceil(math.Log10(freqHz/decadeLowest)-1e-9)))
}

// at returns the currents of combinations of sources.
func (p *part) at(freqHz float64, weights [][]complex128) flow {
	p.mu.Lock()
	defer p.mu.Unlock()
	for d := range decade(freqHz) + 1 {
		if _, ok := p.takes[d]; !ok {
			p.takes[d] = p.g.reach(decadeLowest * math.Pow(10, float64(d)))
		}
	}
	n := p.takes[decade(freqHz)]
	f := flow{y: p.g.y}
	for _, y := range p.g.solveAt(freqHz, n, weights) {
		m := make([]vec3, len(p.g.y.m.cells))
		for i, v := range y {
			for j, x := range p.g.moments[i] {
				m[j/3][j%3] += complex(real(v)*x, imag(v)*x)
			}
		}
		f.moments = append(f.moments, m)
	}
	return f
}
