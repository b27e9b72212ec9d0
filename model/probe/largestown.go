package probe

import (
	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// LargestOwn returns the duty of the kinds given in which the current that s reads peaks highest, of equals
// the one whose name comes first, and that peak in amperes: see OwnPeakA. Nil and 0 where it carries none in any.
func (m *Model) LargestOwn(s *layout.Sensor, kinds ...layout.DutyKind) (*layout.Duty, float64, error) {
	var best *layout.Duty
	top := 0.0
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		for _, k := range kinds {
			if d.Kind != k {
				continue
			}
			own, err := m.OwnCurrent(s, d)
			if err != nil {
				return nil, 0, err
			}
			if a := own.PeakAbs().High; best == nil && a > top || best != nil && bounded.Leads(a, d.ID, top, best.ID) {
				best, top = d, a
			}
		}
	}
	return best, top, nil
}
