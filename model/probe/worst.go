package probe

// Weakest returns a model in which every wall is as thin and every iron as weak as tolerances and temperature let
// them be, and whether that differs from m.
func (m *Model) Weakest() (*Model, bool) {
	l, weak := m.Layout.WithWeakestIron()
	l, thin := l.WithThinnestWalls()
	if !weak && !thin {
		return m, false
	}
	return m.Another("weakest iron", l), true
}

// drives takes the tolerances that let more flux into a wall beside those that Weakest takes: of places, openings and
// permeabilities.
func drives(k kind) bool { return k.placed() || k == opening || k == permeability }

// atWorst returns what measure says of the model with walls and iron as Weakest has them and with the other
// tolerances that take keeps at the ends at which its second result is largest; and by how much each of them raised
// that. They are followed in layout order, each with those before it at their worst, so that products of two count.
// The error is an *Unknown where there are more than can be solved.
func atWorst[T any](m *Model, take func(kind) bool, measure func(*Model) (T, float64, error)) (T, []float64, error) {
	at, _ := m.Weakest()
	worst, size, err := measure(at)
	if err != nil {
		return worst, nil, err
	}
	var list []pieceTolerance
	for _, t := range m.pieceTolerances() {
		if take(t.kind) {
			list = append(list, t)
		}
	}
	if err := m.solvable(2 * len(list)); err != nil {
		return worst, nil, err
	}
	steps := make([]float64, len(list))
	for i := range list {
		from, next := size, at
		for _, by := range list[i].ends {
			n := &Model{list[i].at(at.Model, by)}
			out, e, err := measure(n)
			if err != nil {
				return out, nil, err
			}
			if !(e <= size) {
				worst, size, next = out, e, n
			}
		}
		steps[i], at = size-from, next
	}
	return worst, steps, nil
}
