package probe

import (
	"math"

	"busgauss/model/layout"
)

// strayOfTolerances returns what tolerances of sizes, materials and legs add to the ratio of the stray of s in duty d, and to that at the
// worst phases: of each the end that adds more, all together.
func (m *Model) strayOfTolerances(s *layout.Sensor, d *layout.Duty) (ratio, worst float64, err error) {
	list, err := m.displaced(append(m.sizeTolerances(), m.legTolerances()...))
	if err != nil {
		return 0, 0, err
	}
	top, topWorst := 0.0, 0.0
	for i, k := range list {
		drawn, err := k.Drawn.strayDrawn(s, d)
		if err != nil {
			return 0, 0, err
		}
		moved, err := k.Model.strayDrawn(s, d)
		if err != nil {
			return 0, 0, err
		}
		top = math.Max(top, moved.Ratio.Value-drawn.Ratio.Value)
		topWorst = math.Max(topWorst, moved.WorstCase.Value-drawn.WorstCase.Value)
		if i+1 == len(list) || list[i+1].Name != k.Name {
			ratio, worst, top, topWorst = ratio+top, worst+topWorst, 0, 0
		}
	}
	return ratio, worst, nil
}
