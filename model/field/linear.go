package field

import (
	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
)

// OwnChange returns by how much what s reads of its own bar per ampere changes from
// small signals to currentA, where both stand on the same meshes in space.
func (m *Model) OwnChange(s *layout.Sensor, currentA float64) (bounded.Phasor, bool, error) {
	if !m.inSpace() || m.draft {
		return bounded.Phasor{}, false, nil
	}
	alone := make([]float64, len(m.Layout.Bars))
	alone[s.Reads] = currentA
	n, err := m.state(alone)
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	f, err := m.spaceField()
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	sign := 1.0
	if o, ok := n.(opposite); ok {
		n, sign = o.of, -1
		alone[s.Reads] = -currentA
	}
	solid, ok := n.(solidState)
	if !ok || f.iron == nil {
		return bounded.Phasor{}, false, nil
	}
	linear := f.iron
	if !solid.of.On(linear) {
		if linear, err = m.linearBeside(solid.of); err != nil {
			return bounded.Phasor{}, false, err
		}
	}
	var sum Vec
	for _, e := range s.Elements() {
		b, bound := solid.of.Change(e.At, linear, alone)
		v := steady(b)
		v.Bound = bound
		sum = sum.Add(v.Scale(complex(e.Sign, 0)))
	}
	return OnAxis(sum, s.Axis.U).Scale(complex(sign/currentA, 0)), true, nil
}

// linearBeside returns the linear field on the meshes of states whose sources break the
// symmetry of the iron, computed once.
func (m *Model) linearBeside(state *iron.State) (*iron.Linear, error) {
	c := m.cache
	c.spaceMu.Lock()
	defer c.spaceMu.Unlock()
	if c.beside == nil || !state.On(c.beside) {
		l, err := state.LinearOf(c.basis)
		if err != nil {
			return nil, unknownInSpace(err)
		}
		c.beside = l
	}
	return c.beside, nil
}
