package field

import (
	"slices"
	"strings"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
	"busgauss/model/waveform"
	"busgauss/model/work"
)

// states returns the states of several sets of currents. In space they answer
// together: what hangs on a place alone is computed once for all of them.
func (m *Model) states(sets [][]float64) ([]ironState, error) {
	out := make([]ironState, len(sets))
	for i, set := range sets {
		s, err := m.state(set)
		if err != nil {
			return nil, err
		}
		out[i] = s
	}
	if !m.inSpace() || m.draft || m.extent().open || len(sets) < 2 {
		return out, nil
	}
	var key strings.Builder
	for _, set := range sets {
		key.WriteString(m.stateKey(set, 1))
		key.WriteByte(';')
	}
	c := m.cache
	c.stateMu.Lock()
	defer c.stateMu.Unlock()
	if in := c.groups[key.String()]; in != nil {
		if g, ok := in.Value().([]ironState); ok {
			return g, nil
		}
	}
	if c.groups == nil {
		c.groups = map[string]*work.Item{}
	}
	grouped := together(out)
	in := c.shelf.Item()
	in.Put(grouped, int64(len(out))*groupedBytes)
	c.groups[key.String()] = in
	return grouped, nil
}

// groupedBytes is what a state keeps in a group, with what it said at many places.
const groupedBytes = 1 << 20

// StatesOf returns the states at times of the main group of a duty; see Instants.
func (m *Model) StatesOf(cur *waveform.Currents, timesS []float64) ([]State, error) {
	sets, err := m.instantSets(cur, timesS)
	if err != nil {
		return nil, err
	}
	states, err := m.dutyStates(sets)
	out := make([]State, len(states))
	for i, s := range states {
		out[i] = State{s, m, sets[i]}
	}
	return out, err
}

// SteadyA returns the current of each circuit in the duty of m, which carries direct
// current alone, in amperes.
func (m *Model) SteadyA() []float64 {
	return m.Currents(m.duty).InstantA(0)
}

// dutyStates is states for the instants of one duty. In space the states of all duties
// of direct current answer together: rules ask for them at the same places.
func (m *Model) dutyStates(sets [][]float64) ([]ironState, error) {
	if !m.inSpace() || m.draft || len(sets) != 1 {
		return m.states(sets)
	}
	all := slices.Clone(sets)
	for i := range m.Layout.Duties {
		cur := m.Currents(&m.Layout.Duties[i])
		if !cur.Steady() {
			continue
		}
		set, err := m.steadyBarsA(cur.InstantA(0))
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(all, func(other []float64) bool { return slices.Equal(other, set) }) {
			all = append(all, set)
		}
	}
	slices.SortFunc(all, slices.Compare) // one order whoever asks: one group
	states, err := m.states(all)
	if err != nil {
		return m.states(sets) // of another duty
	}
	at := slices.IndexFunc(all, func(other []float64) bool { return slices.Equal(other, sets[0]) })
	return states[at : at+1], nil
}

// together joins states in space into one group; opposite ones stand in it once.
func together(states []ironState) []ironState {
	var members []*iron.State
	place := map[*iron.State]int{}
	out := make([]ironState, len(states))
	for i, s := range states {
		sign := 1.0
		for {
			o, ok := s.(opposite)
			if !ok {
				break
			}
			s, sign = o.of, -sign
		}
		solid := s.(solidState)
		k, ok := place[solid.of]
		if !ok {
			k = len(members)
			place[solid.of] = k
			members = append(members, solid.of)
		}
		out[i] = &groupedState{solid: solid, at0: k, sign: sign}
	}
	group := iron.NewGroup(members)
	for _, s := range out {
		s.(*groupedState).group = group
	}
	return out
}

// groupedState is a state in space that answers together with others.
type groupedState struct {
	group *iron.Group
	at0   int // its number in the group
	sign  float64
	solid solidState
}

func (s *groupedState) at(q geom.Point3, rough bool) Vec {
	b, bound := s.group.B(q, s.at0)
	v := steady(b.Scale(s.sign))
	if !rough {
		v = v.inIron(bound, s.solid.barsT(q))
	}
	return v
}

func (s *groupedState) wall(i layout.ShieldIndex) (Wall, error) { return s.solid.wall(i) }
