package iron

import (
	"math"
	"slices"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/si"
	"busgauss/model/work"
)

// answer is the magnetised iron of one mesh, for each source. The lower half of a
// mirrored mesh is kept as its mirror image.
type answer struct {
	l   *level
	mag [2][][]geom.Point3 // upper, lower; by source; of each tetrahedron, A/m
	b   [2][][]geom.Point3 // flux density, T

	table wallTable
}

// Linear holds the answers of linear iron to unit sources.
type Linear struct {
	scale   float64
	work    *work.Budget // that readings take from
	sources []Source
	levels  [2]*answer

	kept    memo
	wallsMu sync.Mutex
	walls   map[string]Wall // by piece and weights
}

// Linear solves for linear iron: one factorisation a mesh and parity, all sources on
// it. mu are the relative permeabilities of the pieces, above 0 (below 1 a body
// from which the field is kept out, such as a conductor without skin); nil takes MuRel, or
// where that is 0 the initial permeability of the curve.
func (p *Problem) Linear(mu []float64, sources []Source) (*Linear, error) {
	return p.LinearOf(mu, NewBasis(sources))
}

// LinearOf is Linear for the sources of a basis.
func (p *Problem) LinearOf(mu []float64, basis *Basis) (*Linear, error) {
	sources := basis.sources
	if mu == nil {
		for i := range p.pieces {
			mu = append(mu, p.pieces[i].muRel())
		}
	}
	if len(mu) != len(p.pieces) {
		panic("iron: one permeability for each piece")
	}
	for i, m := range mu {
		if !(m > 0 && !math.IsInf(m, 1)) {
			return nil, &InputError{p.pieces[i].Name, "relative permeability must be above 0 and finite"}
		}
	}
	out := &Linear{sources: sources, scale: p.scale, work: p.opt.Work}
	for i, l := range p.levels {
		a, err := l.linear(mu, basis)
		if err != nil {
			return nil, err
		}
		out.levels[i] = a
	}
	return out, nil
}

// linear solves (I + K χ) φ = φ_s + (1/4π) Σ G χ R for every source.
func (l *level) linear(mu []float64, basis *Basis) (*answer, error) {
	m, sources := l.m, basis.sources
	split := basis.isSplit(m)
	if slices.Contains(split, true) {
		l.aside()
	}
	var solved [2][][]geom.Point3 // field H by parity and source, without that of currents through closed rings
	for _, par := range []parity{even, odd} {
		solved[par] = make([][]geom.Point3, len(sources))
		var of []int
		for s := range sources {
			if par == even || split[s] {
				of = append(of, s)
			}
		}
		if len(of) == 0 {
			continue
		}
		fields, err := l.solve(mu, basis, of, par, split)
		if err != nil {
			return nil, err
		}
		for k, s := range of {
			solved[par][s] = fields[k]
		}
	}
	a := &answer{l: l}
	for side, of := range l.halves(solved) {
		for s, h := range of {
			ring := basis.ring(m, s, split[s])
			if side == 1 && solved[odd][s] == nil {
				a.mag[1], a.b[1] = append(a.mag[1], a.mag[0][s]), append(a.b[1], a.b[0][s])
				continue
			}
			mag, b := make([]geom.Point3, len(h)), make([]geom.Point3, len(h))
			for e := range h {
				r := mu[m.piece[e]]
				mag[e], b[e] = h[e].Scale(r-1), h[e].Scale(si.Mu0HPerM*r)
				if ring != nil {
					b[e] = b[e].Add(ring[e].Scale(si.Mu0HPerM * r))
				}
			}
			a.mag[side], a.b[side] = append(a.mag[side], mag), append(a.b[side], b)
		}
	}
	return a, nil
}

// halves returns the field H of every source in the upper half, and where the mesh is
// mirrored in the lower one, from its even and odd parts.
func (l *level) halves(solved [2][][]geom.Point3) (out [2][][]geom.Point3) {
	for side := range 2 {
		if side == 1 && !l.m.mirror {
			break
		}
		for s, h := range solved[even] {
			if o := solved[odd][s]; o != nil {
				h = slices.Clone(h)
				for e := range h {
					h[e] = h[e].Add(o[e].Scale(float64(1 - 2*side)))
				}
			}
			out[side] = append(out[side], h)
		}
	}
	return out
}

// solve returns the field H in A/m of the sources named, without that of currents through closed rings, for one parity.
func (l *level) solve(mu []float64, basis *Basis, of []int, par parity, split []bool) ([][]geom.Point3, error) {
	m := l.m
	drives, err := basis.driven(l, of, par, split)
	if err != nil {
		return nil, err
	}
	op := newLinearOperator(l.action(par), mu)
	out := make([][]geom.Point3, len(of))
	for j, d := range drives {
		var phi []float64
		if par == even && slices.Equal(mu, l.mu) {
			phi, err = basis.small(op, d, d.right(mu))
		} else {
			phi, _, err = gmres(op, d.right(mu), make([]float64, len(d.phi)), linearResidual)
		}
		if err != nil {
			return nil, err
		}
		out[j] = m.fieldOf(phi, d.rest)
	}
	return out, nil
}

// fieldOf returns −∇φ + rest, without that of currents through closed rings, in every tetrahedron.
func (m *tetra) fieldOf(phi []float64, rest []geom.Point3) []geom.Point3 {
	h := make([]geom.Point3, len(m.tets))
	for e := range h {
		h[e] = m.gradient(e, phi).Scale(-1)
		if rest != nil {
			h[e] = h[e].Add(rest[e])
		}
	}
	return h
}
