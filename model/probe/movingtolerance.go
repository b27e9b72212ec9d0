package probe

import (
	"math"

	"busgauss/model/bounded"
)

// withTolerances returns e, a number of alternating current, with what tolerances of sizes and materials add to it either
// way: of each the end that moves value further, all together.
func (m *Model) withTolerances(e bounded.Estimate, value func(*Model) (float64, error)) (bounded.Estimate, error) {
	list, err := m.resized()
	if err != nil {
		return e, err
	}
	low, high := 0.0, 0.0
	for i, k := range list {
		drawn, err := value(k.drawnMoving)
		if err != nil {
			return e, err
		}
		moved, err := value(k.moving)
		if err != nil {
			return e, err
		}
		low, high = math.Max(low, drawn-moved), math.Max(high, moved-drawn)
		if i+1 == len(list) || list[i+1].Name != k.Name {
			e.Low, e.High = e.Low-low, e.High+high
			low, high = 0, 0
		}
	}
	return e, nil
}
