package probe

import (
	"math"

	"busgauss/model/field"
	"busgauss/model/layout"
)

// addTolerances adds to each of worst, the sources at s, what shields, bars and materials within their tolerances let
// in of it: of each tolerance the end that lets in more, all together. Each end is taken for small signals, at the
// frequency of the source, and times how much more of a uniform field iron lets through that duty d fills, nil: foreign
// sources alone. Products of two tolerances are left out, and so is what several take from a source that is nearly
// nothing as drawn until it turns its sign. Without shields no tolerance changes a foreign source.
func (m *Model) addTolerances(s *layout.Sensor, d *layout.Duty, worst []source) error {
	if len(m.Layout.Shields) == 0 || len(worst) == 0 {
		return nil
	}
	list, err := m.Displacements()
	if err != nil || len(list) == 0 {
		return err
	}
	filled, err := m.filling(s, d, list[0].drawnMoving)
	if err != nil {
		return err
	}
	most := make([]float64, len(worst)) // by the tolerance at hand
	for i, k := range list {
		drawn, err := k.drawnMoving.Rough().sources(s, nil)
		if err != nil {
			return err
		}
		moved, err := k.moving.Rough().sources(s, nil)
		if err != nil {
			return err
		}
		last := i+1 == len(list) || list[i+1].Name != k.Name
		for e := range most {
			most[e] = math.Max(most[e], moved[e].axisT.Value-drawn[e].axisT.Value)
			if last {
				w := &worst[e].axisT
				w.Value, w.Low, w.High = w.Value+float64(filled*most[e]), w.Low+float64(filled*most[e]), w.High+float64(filled*most[e])
				most[e] = 0
			}
		}
	}
	return nil
}

// filling returns how many times more of a uniform field s reads while duty d and foreign sources fill the iron than
// with that of small signals; at least 1.
func (m *Model) filling(s *layout.Sensor, d *layout.Duty, small *Model) (float64, error) {
	if !field.Saturable(m.Layout) {
		return 1, nil
	}
	full, err := m.ForeignIn(s, d, 0)
	if err != nil {
		return 1, err
	}
	still, err := small.Foreign(s, 0)
	if err != nil {
		return 1, err
	}
	if f, t := full.Any().Value, still.Any().Value; t > 0 {
		return math.Max(1, f/t), nil
	}
	return 1, nil
}
