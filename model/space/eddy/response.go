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

// Respond prepares the answer to the sources.
func (p *Problem) Respond(sources []Source) (*Response, error) {
	r := &Response{p: p}
	for k, l := range p.levels {
		parities := []parity{round}
		if l.m.mirror {
			parities = []parity{through, round}
		}
		fluxes := make([][][]float64, len(parities))
		for i, q := range parities {
			y, err := l.system(q)
			if err != nil {
				return nil, err
			}
			for _, s := range sources {
				fluxes[i] = append(fluxes[i], y.flux(s))
			}
		}
		for i, q := range parities {
			y, _ := l.system(q)
			if y.u.n == 0 || nothing(fluxes, i) {
				continue
			}
			r.parts[k] = append(r.parts[k], &part{g: newReduction(y, fluxes[i]), takes: map[int]int{}})
		}
	}
	return r, nil
}

// nothing reports whether the sources have nothing of a parity but rounding.
func nothing(fluxes [][][]float64, i int) bool {
	size := func(b [][]float64) (most float64) {
		for _, v := range b {
			for _, x := range v {
				most = math.Max(most, math.Abs(x))
			}
		}
		return most
	}
	most := 0.0
	for k := range fluxes {
		most = math.Max(most, size(fluxes[k]))
	}
	return !(size(fluxes[i]) > 1e-9*most)
}

// decade returns the number of the decade of frequency that freqHz belongs to. A space is
// grown for the top of it, so that what is asked first changes nothing.
func decade(freqHz float64) int {
	return max(0, int(math.Ceil(math.Log10(freqHz/decadeLowest)-1e-9)))
}

func (p *part) at(freqHz float64) [][]complex128 {
	p.mu.Lock()
	defer p.mu.Unlock()
	for d := range decade(freqHz) + 1 {
		if _, ok := p.takes[d]; !ok {
			p.takes[d] = p.g.reach(decadeLowest * math.Pow(10, float64(d)))
		}
	}
	return p.g.solveAt(freqHz, p.takes[decade(freqHz)])
}
