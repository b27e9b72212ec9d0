package probe

import "busgauss/model/layout"

// Unknowns returns how many unknowns the plane field has that answers for
// component c of the duty of m, 0 for a closed form.
func (m *Model) Unknowns(c *layout.Component) int {
	if m.exactIron() && c.FreqHz == 0 {
		if n, err := m.state(instantCurrents([]layout.Component{*c}, 0)); err == nil {
			return n.(sectionState).of.Unknowns
		}
	}
	if f, err := m.Field(c.FreqHz); err == nil && f.plane != nil {
		return f.plane.low.Unknowns
	}
	return 0
}
