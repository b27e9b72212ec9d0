package probe

import (
	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// leads is bounded.Leads for circuits.
func (m *Model) leads(value float64, c layout.CircuitIndex, top float64, of layout.CircuitIndex) bool {
	if of == layout.None {
		return true
	}
	return bounded.Leads(value, m.Layout.Circuits[c].ID, top, m.Layout.Circuits[of].ID)
}
