package eddy

import "fmt"

// Steps of work, rounded up from times of the example layouts, a thousand millions a second of one processor.
const (
	kernelSteps  = 30  // the mean of 1/r over a pair of cells
	panelSteps   = 60  // the potential of a side or the field of a cell at a node
	readingSteps = 120 // the field of a cell at a place
)

// what names the problem for people.
func (p *Problem) what() string {
	return fmt.Sprintf("eddy currents of %d cells in space", len(p.levels[1].m.cells))
}

// steps is what the matrices take that hang on the geometry and on permeabilities, and the start with so many sources.
func (p *Problem) steps(iron bool, sources int) float64 {
	sum := 0.0
	for _, l := range p.levels {
		sides := 1.0
		if l.m.mirror {
			sides = 2
		}
		n := float64(len(l.m.cells))
		sum += float64(sources) * n * 8 * 100 * sides // fluxes
		if !iron {
			sum += kernelSteps * n * n / 2 * sides
			continue
		}
		outer, all := float64(l.m.onSurface()), float64(len(l.m.nodes))
		sum += sides * (panelSteps*sides*outer*2*n + outer*outer*outer/5 + outer*outer*30 + outer*all*15)
	}
	return sum
}

// onSurface returns how many nodes lie on the surface.
func (m *mesh) onSurface() int {
	on := make([]bool, len(m.nodes))
	n := 0
	for _, f := range m.surface(through) {
		for _, i := range f {
			if !on[i] {
				on[i] = true
				n++
			}
		}
	}
	return n
}

// growSteps is what the next block of a space takes, and the energies after it.
func (g *reduction) growSteps() float64 {
	w, k, n := float64(len(g.v)-g.next), float64(len(g.v)), float64(g.y.u.n)
	cells := float64(len(g.y.m.cells))
	each := 1.5 * cells * cells
	if i := g.y.iron; i != nil {
		outer := float64(i.counts[0])
		each = outer*outer + 500*cells
	}
	energies := k * k * k / 2 // complex, of a symmetric matrix half
	return w*(each+n*(2*k+150)) + energies
}

// bytes is what a response keeps for now.
func (r *Response) Bytes() int64 {
	sum := 0
	for _, parts := range r.parts {
		for _, p := range parts {
			p.mu.Lock()
			sum += len(p.g.v)*(p.g.y.u.n+3*len(p.g.y.m.cells)) + len(p.g.b)*p.g.y.u.n
			if i := p.g.y.iron; i != nil {
				sum += i.counts[0]*i.counts[0] + len(p.g.v)*i.counts[0]
			}
			p.mu.Unlock()
		}
	}
	return 8 * int64(sum)
}

// light returns the system as readings need it: without the factors of its iron.
func (y *system) light() *system {
	out := &system{m: y.m, p: y.p, u: y.u}
	if y.iron != nil {
		iron := *y.iron
		iron.lu.Data, iron.within, iron.stiff = nil, nil, nil
		out.iron = &iron
	}
	return out
}
