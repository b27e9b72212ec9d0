package iron

import "busgauss/model/geom"

// small returns the potential of source j in linear iron with the permeabilities of small signals, solved once; d is its
// drive and op the operator of these permeabilities.
func (b *Basis) small(op *linearOperator, d *basicDrive, right []float64) ([]float64, error) {
	if phi := b.smallOf(d); phi != nil {
		return phi, nil
	}
	phi, _, err := gmres(op, right, make([]float64, len(right)), linearResidual)
	b.mu.Lock()
	defer b.mu.Unlock()
	if err == nil {
		d.small = phi
	}
	return phi, err
}

// smallOf returns what small made; nil before.
func (b *Basis) smallOf(d *basicDrive) []float64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return d.small
}

// shared says whether the drives of single sources, which linear iron asks for too, serve the states of p: not where a source
// has both parities about the mirror. of are those that have a weight.
func (p *Problem) shared(l *level, x mix, par parity) (of []int, split []bool, ok bool) {
	if par == odd || p.aside {
		return nil, nil, false
	}
	split = x.basis.isSplit(l.m)
	for s, w := range x.weights {
		if w == 0 {
			continue
		}
		if split[s] {
			return nil, nil, false
		}
		of = append(of, s)
	}
	return of, split, true
}

// small returns the potential of a sum of sources in linear iron on mesh k, near which a state is sought; nil where their
// drives are not shared.
func (p *Problem) small(k int, x mix, par parity) ([]float64, error) {
	l := p.levels[k]
	of, split, ok := p.shared(l, x, par)
	if !ok {
		return nil, nil
	}
	drives, err := x.basis.driven(l, of, even, split)
	if err != nil {
		return nil, err
	}
	op := newLinearOperator(l.action(even), l.mu)
	out := make([]float64, len(l.m.nodes))
	for j, d := range drives {
		phi, err := x.basis.small(op, d, d.right(l.mu))
		if err != nil {
			return nil, err
		}
		for i, v := range phi {
			out[i] += float64(x.weights[of[j]] * v)
		}
	}
	return out, nil
}

// driveOf returns the drive of a sum of sources on mesh k.
func (p *Problem) driveOf(k int, x mix, par parity) (drive, error) {
	l := p.levels[k]
	of, split, ok := p.shared(l, x, par)
	if !ok {
		return l.m.drive(x, par, false)
	}
	drives, err := x.basis.driven(l, of, even, split)
	d := drive{phi: make([]float64, len(l.m.nodes))}
	if err != nil {
		return d, err
	}
	for j, one := range drives {
		w := x.weights[of[j]]
		for i, v := range one.phi {
			d.phi[i] += float64(w * v)
		}
		d.rest, d.ring = plus(d.rest, one.rest, w), plus(d.ring, one.ring, w)
	}
	return d, nil
}

// plus adds w v to a sum, each nil where it is nothing.
func plus(sum, v []geom.Point3, w float64) []geom.Point3 {
	if sum == nil && v != nil {
		sum = make([]geom.Point3, len(v))
	}
	for e, x := range v {
		sum[e] = sum[e].Add(x.Scale(w))
	}
	return sum
}

// right returns the right-hand side for permeabilities mu.
func (d *basicDrive) right(mu []float64) []float64 {
	right := append([]float64(nil), d.phi...)
	for p, row := range d.applied {
		for i, v := range row {
			right[i] += float64((mu[p] - 1) * v)
		}
	}
	return right
}
