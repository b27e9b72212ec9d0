package iron

import (
	"math/cmplx"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// Alternating holds the answers of iron that does not conduct along z to alternating
// sources, as peak phasors with e^{+jωt}: iron of complex permeability.
type Alternating struct {
	lin *Linear // real and imaginary part of each source in turn
}

// Sum is a source made of others, with phasors as weights.
type Sum struct {
	Basis []complex128 // of each source of the basis
	Loops []complex128 // of each loop
}

// Alternating solves for iron of complex relative permeabilities mu, one a piece, and sums of the
// sources of a basis and of loops. One real source and real permeabilities give what
// LinearOf gives. Where draft is set the coarse mesh answers alone, some per cent off.
//
// Source: that of the package with phasors; the complex permeability of sheet is
// closedform.SheetMu.
func (p *Problem) Alternating(mu []complex128, basis *Basis, loops *Loops, sums []Sum, draft bool) (*Alternating, error) {
	if len(mu) != len(p.pieces) {
		panic("iron: one permeability for each piece")
	}
	for i, m := range mu {
		if !(portable.Abs(m) > 1 && !cmplx.IsInf(m)) {
			return nil, &InputError{p.pieces[i].Name, "relative permeability must be above 1 and finite"}
		}
	}
	lin := &Linear{scale: p.scale, work: p.opt.Work}
	for _, w := range sums {
		for _, part := range []func(complex128) float64{re, im} {
			of, beside := basis.sum(parts(w.Basis, part)), parts(w.Loops, part)
			lin.sources = append(lin.sources, func(q geom.Point3) geom.Point3 { return of.at(q).Add(loops.at(q, beside)) })
		}
	}
	for i, l := range p.levels {
		if i == 1 && draft {
			lin.levels[1] = lin.levels[0]
			break
		}
		a, err := l.alternating(mu, basis, loops, sums)
		if err != nil {
			return nil, err
		}
		lin.levels[i] = a
	}
	return &Alternating{lin}, nil
}

func re(z complex128) float64 { return real(z) }
func im(z complex128) float64 { return imag(z) }

// parts returns the real or the imaginary parts of weights.
func parts(w []complex128, part func(complex128) float64) []float64 {
	out := make([]float64, len(w))
	for i, v := range w {
		out[i] = part(v)
	}
	return out
}

// B returns the flux density of sum k at q, iron and sources together, real and imaginary part, and a
// bound of its error. See Linear.B.
func (a *Alternating) B(q geom.Point3, k int) (re, im geom.Point3, bound Bound) {
	r := a.lin.reading(q)[2*k : 2*k+2]
	return r[0].b, r[1].b, r[0].bound.with(r[1].bound)
}

// Shift is by how much alternating iron differs from linear iron on the same meshes: each sum from the source of the same
// number. It may be used from several goroutines.
type Shift struct {
	of    *Alternating
	still *Linear
	kept  memo
}

// Against returns by how much a differs from still.
func (a *Alternating) Against(still *Linear) *Shift { return &Shift{of: a, still: still} }

// B returns sum k of the one less source k of the other at q, and its bound: what the
// meshes do to both alike leaves the difference.
func (s *Shift) B(q geom.Point3, k int) (re, im geom.Point3, bound Bound) {
	r := s.kept.at(q, func() []reading { return s.readings(q) })[2*k : 2*k+2]
	return r[0].b, r[1].b, r[0].bound.with(r[1].bound)
}

func (s *Shift) readings(q geom.Point3) []reading {
	spendReading(s.still.work, &s.of.lin.levels, len(s.of.lin.sources))
	airs, still := inAir(s.of.lin.sources, q), inAir(s.still.sources, q)
	of, from := viewsOf(&s.of.lin.levels, q, airs), viewsOf(&s.still.levels, q, still)
	var out []reading
	one := make([]float64, len(airs))
	for k := range airs {
		clear(one)
		one[k] = 1
		d := of.mixed(one)
		// the imaginary part of what does not alternate is none
		weights := make([]float64, len(still))
		air := airs[k]
		if k%2 == 0 {
			weights[k/2] = 1
			air = air.Sub(still[k/2])
		}
		without := from.mixed(weights)
		out = append(out, differing(&d, &without, air, s.of.lin.scale, changeShare, changeFloor))
	}
	return out
}

// Wall returns the flux densities in a piece when sum k has the phasor weights[k].
func (a *Alternating) Wall(piece int, weights []complex128) Wall {
	both := make([]complex128, 0, 2*len(weights))
	for _, w := range weights {
		both = append(both, w, portable.Times(w, 1i))
	}
	return a.lin.Wall(piece, both)
}

// alternating solves (I + K χ) φ = φ_s + (1/4π) Σ G χ R with complex χ; the answer holds real
// and imaginary part of each sum in turn.
func (l *level) alternating(mu []complex128, basis *Basis, loops *Loops, sums []Sum) (*answer, error) {
	m := l.m
	split := basis.isSplit(m)
	both := slices.Contains(split, true) || loops.isSplit(m)
	if both {
		l.aside()
	}
	var solved [2][][]geom.Point3
	solved[odd] = make([][]geom.Point3, 2*len(sums))
	for _, par := range []parity{even, odd} {
		if par == odd && !both {
			break
		}
		h, err := l.phasors(mu, basis, loops, sums, par, split)
		if err != nil {
			return nil, err
		}
		solved[par] = h
	}
	a := &answer{l: l}
	for side, h := range l.halves(solved) {
		if side == 1 && !both {
			a.mag[1], a.b[1] = a.mag[0], a.b[0]
			break
		}
		for s := 0; s < len(h); s += 2 {
			mag, b := m.magnetised(mu, h[s], h[s+1])
			for k, f := range sums[s/2].Basis {
				for e, v := range basis.ring(m, k, split[k]) {
					re, im := times(portable.Times(portable.Times(f, mu[m.piece[e]]), si.Mu0HPerM), v, geom.Point3{})
					b[0][e], b[1][e] = b[0][e].Add(re), b[1][e].Add(im)
				}
			}
			a.mag[side], a.b[side] = append(a.mag[side], mag[:]...), append(a.b[side], b[:]...)
		}
	}
	return a, nil
}

// magnetised returns magnetisation and flux density of a field, real and imaginary part.
func (m *tetra) magnetised(mu []complex128, re, im []geom.Point3) (mag, b [2][]geom.Point3) {
	for k := range 2 {
		mag[k], b[k] = make([]geom.Point3, len(re)), make([]geom.Point3, len(re))
	}
	for e := range re {
		r := mu[m.piece[e]]
		mag[0][e], mag[1][e] = times(r-1, re[e], im[e])
		b[0][e], b[1][e] = times(portable.Times(r, si.Mu0HPerM), re[e], im[e])
	}
	return mag, b
}

// times returns the real and the imaginary part of f (re + j im).
func times(f complex128, re, im geom.Point3) (geom.Point3, geom.Point3) {
	return re.Scale(real(f)).Sub(im.Scale(imag(f))), im.Scale(real(f)).Add(re.Scale(imag(f)))
}

// phasors returns the field H of the sums for one parity, without that of currents through closed rings, real and imaginary parts in turn.
func (l *level) phasors(mu []complex128, basis *Basis, loops *Loops, sums []Sum, par parity, split []bool) ([][]geom.Point3, error) {
	m := l.m
	n := len(m.nodes)
	op := newPhasorOperator(l.action(par), mu)
	var of []int
	for s := range split {
		if par == even || split[s] {
			of = append(of, s)
		}
	}
	drives, err := basis.driven(l, of, par, split)
	if err != nil {
		return nil, err
	}
	out := make([][]geom.Point3, 0, 2*len(sums))
	for _, w := range sums {
		right := make([]float64, 2*n)
		for k, phi := range loops.potentials(m, par) {
			addPhasor(right, w.Loops[k], phi)
		}
		var rest [2][]geom.Point3
		for j, s := range of {
			if f := w.Basis[s]; f != 0 {
				m.addDrive(right, &rest, f, drives[j], mu)
			}
		}
		start := make([]float64, 2*n) // linear iron at rest, where it was asked for
		for j, s := range of {
			if f := w.Basis[s]; f != 0 {
				addPhasor(start, f, basis.smallOf(drives[j]))
			}
		}
		phi, _, err := gmres(op, right, start, phasorResidual)
		if err != nil {
			return nil, err
		}
		out = append(out, m.fieldOf(phi[:n], rest[0]), m.fieldOf(phi[n:], rest[1]))
	}
	return out, nil
}

// addDrive adds f times the drive of a source to a right-hand side and to its rest.
func (m *tetra) addDrive(right []float64, rest *[2][]geom.Point3, f complex128, d *basicDrive, mu []complex128) {
	addPhasor(right, f, d.phi)
	for p, row := range d.applied {
		addPhasor(right, portable.Times(f, mu[p]-1), row)
	}
	if d.rest != nil && rest[0] == nil {
		rest[0], rest[1] = make([]geom.Point3, len(m.tets)), make([]geom.Point3, len(m.tets))
	}
	for e, v := range d.rest {
		rest[0][e], rest[1][e] = rest[0][e].Add(v.Scale(real(f))), rest[1][e].Add(v.Scale(imag(f)))
	}
}

// addPhasor adds f v to a phasor vector, real parts followed by imaginary ones.
func addPhasor[T float32 | float64](to []float64, f complex128, v []T) {
	if f == 0 {
		return
	}
	n := len(to) / 2
	re, im := to[:n], to[n:]
	for i, x := range v {
		re[i] += float64(real(f) * float64(x))
		im[i] += float64(imag(f) * float64(x))
	}
}

// phasorResidual is far below what meshes do to a phasor.
const phasorResidual = 1e-7

// phasorOperator is I + K χ for complex χ, on real parts followed by imaginary ones.
type phasorOperator struct {
	blocks // of the size of χ
	k      *action
	chi    []complex128
	in     []float64
}

func newPhasorOperator(k *action, mu []complex128) *phasorOperator {
	size := make([]float64, len(mu))
	for i, v := range mu {
		size[i] = 1 + portable.Abs(v-1)
	}
	n := len(k.m.nodes)
	o := &phasorOperator{blocks: newLinearOperator(k, size).blocks, k: k, chi: make([]complex128, n), in: make([]float64, 2*n)}
	for i, p := range k.m.nodePiece {
		o.chi[i] = mu[p] - 1
	}
	return o
}

func (o *phasorOperator) precondition(x []float64) { o.blocks.solve(x, 2) }

func (o *phasorOperator) multiply(x, y []float64) {
	n := len(x) / 2
	for j, c := range o.chi {
		v := portable.Times(c, complex(x[j], x[n+j]))
		o.in[j], o.in[n+j] = real(v), imag(v)
	}
	copy(y, x)
	o.k.timesTwo(o.in[:n], o.in[n:], y[:n], y[n:])
}
