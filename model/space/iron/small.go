package iron

// small returns the potential of source j in linear iron with the permeabilities of small signals, solved once; d is its
// drive and op the operator of these permeabilities.
func (b *Basis) small(op *linearOperator, d *basicDrive, right []float64) ([]float64, error) {
	b.mu.Lock()
	phi := d.small
	b.mu.Unlock()
	if phi != nil {
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

// smallPotential returns the potential of a sum of sources in linear iron with the permeabilities of small signals, near which
// a state is sought; nil where sources have both parities about the mirror, so that linear iron has no such potential.
func (l *level) smallPotential(x mix) ([]float64, error) {
	split := x.basis.isSplit(l.m)
	var of []int
	for s, w := range x.weights {
		if w == 0 {
			continue
		}
		if split[s] {
			return nil, nil
		}
		of = append(of, s)
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
			out[i] += x.weights[of[j]] * v
		}
	}
	return out, nil
}

// right returns the right-hand side for permeabilities mu.
func (d *basicDrive) right(mu []float64) []float64 {
	right := append([]float64(nil), d.phi...)
	for p, row := range d.applied {
		for i, v := range row {
			right[i] += (mu[p] - 1) * v
		}
	}
	return right
}
