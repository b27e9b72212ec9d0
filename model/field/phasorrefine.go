package field

import (
	"sync"

	"busgauss/model/space/iron"
)

// refinedPhasorField returns that of the first level on finer meshes of the iron, with bars and iron as one problem where they
// are such as package eddy takes; in is its field at steady current. The parts of the eddy currents, which bound what
// strands leave out, stay those of the first level.
func (m *Model) refinedPhasorField(in *spaceField, freqHz float64, ranges []muRange, pick func(muRange) float64, mu []complex128) (*phasorField, error) {
	first := *m
	first.level = 0
	still, err := first.spaceField()
	if err != nil {
		return nil, err
	}
	of, err := first.phasorFieldOf(still, freqHz, ranges, pick)
	if err != nil {
		return nil, err
	}
	p := &phasorField{
		space: in, lay: of.lay, alternating: of.alternating, steps: of.steps, parts: of.parts,
		alone: of.alone, answer: of.answer, with: of.with, without: of.without, late: of.late,
	}
	if p.parts != nil {
		if p.metals, err = m.barsInIron(freqHz, ranges, pick); err != nil {
			return nil, err
		}
	}
	solve, steps := p.alternating, p.steps(in.problem)
	if p.metals != nil {
		p.walls = sync.OnceValue(func() *iron.Alternating {
			if m.cache.work.Take(p.steps(in.problem), "alternating iron in space") != nil {
				return of.of
			}
			if fine, err := p.alternating(in.problem); err == nil {
				return fine
			}
			return of.of // whose bounds are wider
		})
		n := len(m.Layout.Bars)
		steps = in.problem.LinearSteps(2 * n)
		solve = func(on *iron.Problem) (*iron.Alternating, error) {
			return on.Alternating(mu, m.barBasis(in.sources[:n]), iron.NewLoops(nil), alone(n), false)
		}
	}
	if err := m.cache.work.Take(steps, "alternating iron in space"); err != nil {
		return nil, &Unknown{err.Error()}
	}
	if p.of, err = solve(in.problem); err != nil {
		return nil, unknownInSpace(err)
	}
	p.shift = p.of.Against(in.iron)
	return p, nil
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
