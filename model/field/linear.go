package field

import (
	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
)

// OwnChange returns by how much what s reads of its own current per ampere changes from
// small signals to currentA, where both stand on the same meshes in space.
func (m *Model) OwnChange(s *layout.Sensor, currentA float64) (bounded.Phasor, bool, error) {
	if !m.inSpace() || m.draft {
		return bounded.Phasor{}, false, nil
	}
	alone, err := m.aloneA(s, currentA)
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	n, err := m.state(alone)
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	f, err := m.spaceField()
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	solid, sign, ok := solidOf(n)
	if !ok || f.iron == nil {
		return bounded.Phasor{}, false, nil
	}
	for b := range alone {
		alone[b] *= sign
	}
	linear := f.iron
	if !solid.of.On(linear) {
		if linear, err = m.linearBeside(solid.of); err != nil {
			return bounded.Phasor{}, false, err
		}
	}
	sum := Summed(s.Elements(), func(e layout.Element) Vec {
		b, bound := solid.of.Change(e.At, linear, alone)
		return steady(b).inIron(bound, 0)
	})
	return sum.Axis.Scale(complex(sign/currentA, 0)), true, nil
}

// aloneA returns the current of every bar where s reads currentA and nothing else
// flows, A.
func (m *Model) aloneA(s *layout.Sensor, currentA float64) ([]float64, error) {
	if s.Leg != layout.None {
		out := make([]float64, len(m.Layout.Bars))
		out[s.Leg] = currentA
		return out, nil
	}
	circuitA := make([]float64, len(m.Layout.Circuits))
	circuitA[s.Circuit] = s.Sign * currentA
	return m.steadyBarsA(circuitA)
}

// linearBeside returns the linear field on the meshes of states whose sources break the
// symmetry of the iron, computed once.
func (m *Model) linearBeside(state *iron.State) (*iron.Linear, error) {
	c := m.cache
	c.spaceMu.Lock()
	defer c.spaceMu.Unlock()
	if c.beside == nil || !state.On(c.beside) {
		if err := c.work.Take(state.LinearSteps(c.basis), "iron in space"); err != nil {
			return nil, &Unknown{err.Error()}
		}
		l, err := state.LinearOf(c.basis)
		if err != nil {
			return nil, unknownInSpace(err)
		}
		c.beside = l
	}
	return c.beside, nil
}
