package iron

import (
	"slices"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/parallel"
)

// Basis is a list of unit sources, such as bars that carry one ampere. Its line
// integrals along the edges of a mesh are kept, so that many sums of the same sources
// cost little. It may be used from several goroutines.
type Basis struct {
	sources []Source
	mu      sync.Mutex
	kept    map[keptKey][]float64
	drives  map[keptKey]*basicDrive
}

// basicDrive is the drive of one source of a basis.
type basicDrive struct {
	drive
	applied [][]float64 // of each piece, (1/4π) Σ G R over it at every node; nil without rest
	small   []float64   // the potential in linear iron with the permeabilities of small signals; nil before it is solved
}

type keptKey struct {
	m      *tetra
	source int
	par    parity
	split  bool
	parts  int
}

// NewBasis returns the basis of sources, in their order.
func NewBasis(sources []Source) *Basis {
	return &Basis{sources: sources, kept: map[keptKey][]float64{}, drives: map[keptKey]*basicDrive{}}
}

// sum returns the sum of the sources times weights.
func (b *Basis) sum(weights []float64) mix { return mix{b, weights} }

// mix is a sum of the sources of a basis, times weights.
type mix struct {
	basis   *Basis
	weights []float64
}

// one returns source i alone.
func (b *Basis) one(i int) mix {
	w := make([]float64, len(b.sources))
	w[i] = 1
	return mix{b, w}
}

// at returns the flux density at r in tesla.
func (x mix) at(r geom.Point3) geom.Point3 {
	var sum geom.Point3
	for i, w := range x.weights {
		if w != 0 {
			sum = sum.Add(x.basis.sources[i](r).Scale(w))
		}
	}
	return sum
}

// circulation returns the line integrals of m.circulation for the sum.
func (x mix) circulation(m *tetra, par parity, split bool, parts int) []float64 {
	out := make([]float64, len(m.edges))
	for i, w := range x.weights {
		if w == 0 {
			continue
		}
		for e, v := range x.basis.circulation(m, i, par, split, parts) {
			out[e] += float64(w * v)
		}
	}
	return out
}

func (b *Basis) circulation(m *tetra, i int, par parity, split bool, parts int) []float64 {
	key := keptKey{m, i, par, split, parts}
	b.mu.Lock()
	c, ok := b.kept[key]
	b.mu.Unlock()
	if ok {
		return c
	}
	if !split {
		c = m.circulation(b.sources[i], parts)
		b.mu.Lock()
		b.kept[key] = c
		b.mu.Unlock()
		return c
	}
	both := m.splitCirculation(b.sources[i], parts)
	b.mu.Lock()
	defer b.mu.Unlock()
	for p := range both {
		key.par = parity(p)
		b.kept[key] = both[p]
	}
	return both[par]
}

// check returns the line integrals along a few edges, every edge in so many parts.
func (x mix) check(m *tetra, par parity, split bool, parts int, edges []int) []float64 {
	out := make([]float64, len(edges))
	parallel.Each(len(edges), maxWorkers, func(_, i int) {
		e := m.edges[edges[i]]
		out[i] = m.along(e, parts, func(r geom.Point3) geom.Point3 {
			h := x.at(r)
			if split {
				other := flip(x.at(m.reflect(r)))
				if par == odd {
					other = other.Scale(-1)
				}
				h = h.Add(other).Scale(0.5)
			}
			return h
		})
	})
	return out
}

// driven returns the drives of some sources on a mesh, each made once; split[i] says that
// source i has both parts about the mirror. It may make the kernel of the mesh.
func (b *Basis) driven(l *level, of []int, par parity, split []bool) ([]*basicDrive, error) {
	m := l.m
	out := make([]*basicDrive, len(of))
	var rests []field
	var at [][2]int // of each rest: its drive and piece
	for j, s := range of {
		key := keptKey{m: m, source: s, par: par, split: split[s]}
		b.mu.Lock()
		out[j] = b.drives[key]
		b.mu.Unlock()
		if out[j] != nil {
			continue
		}
		d, err := m.drive(b.one(s), par, split[s])
		if err != nil {
			return nil, err
		}
		out[j] = &basicDrive{drive: d}
		if d.rest == nil {
			continue
		}
		out[j].applied = make([][]float64, m.pieces)
		for p, r := range m.tetRange {
			v := d.rest[r[0]:r[1]]
			if slices.ContainsFunc(v, func(x geom.Point3) bool { return x != geom.Point3{} }) {
				rests, at = append(rests, field{p, v}), append(at, [2]int{j, p})
			}
		}
	}
	if rests != nil {
		for k, row := range l.apply(par, rests) {
			out[at[k][0]].applied[at[k][1]] = row
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for j, s := range of {
		b.drives[keptKey{m: m, source: s, par: par, split: split[s]}] = out[j]
	}
	return out, nil
}

// ring returns what the drive of a source, made before, has of currents through closed rings; nil without.
func (b *Basis) ring(m *tetra, source int, split bool) []geom.Point3 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.drives[keptKey{m: m, source: source, par: even, split: split}].ring
}

// isSplit says of each source whether it has both parts about the mirror of m.
func (b *Basis) isSplit(m *tetra) []bool {
	out := make([]bool, len(b.sources))
	if m.mirror {
		for s, src := range b.sources {
			_, out[s] = m.parities(src)
		}
	}
	return out
}
