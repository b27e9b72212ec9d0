package field

import (
	"busgauss/model/space/iron"
)

// refine takes the bars and the iron as one problem where they are such as package eddy takes.
func (p *phasorField) refine(m *Model, freqHz float64, ranges []muRange, pick func(muRange) float64, mu []complex128, basis *iron.Basis) error {
	var err error
	if p.metals, err = m.barsInIron(freqHz, ranges, pick); err != nil || p.metals == nil {
		return err
	}
	if err := m.cache.work.Take(p.space.problem.LinearSteps(2*len(m.Layout.Bars)), "alternating iron in space"); err != nil {
		return &Unknown{err.Error()}
	}
	if p.even, err = p.space.problem.Alternating(mu, basis, iron.NewLoops(nil), alone(len(m.Layout.Bars)), false); err != nil {
		return unknownInSpace(err)
	}
	p.moved = p.even.Against(p.space.iron)
	return nil
}

// alone returns the sums that are one of n sources each.
func alone(n int) []iron.Sum {
	sums := make([]iron.Sum, n)
	for b := range sums {
		sums[b].Basis = make([]complex128, n)
		sums[b].Basis[b] = 1
	}
	return sums
}
