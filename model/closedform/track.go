package closedform

import (
	"math"

	"busgauss/model/portable"
)

// TrackRiseK returns the temperature rise of a track on the outer layer of a printed board
// with a steady current:
//
//	ΔT = (I / (0.048 A^0.725))^(1/0.44), A in square mil
//
// Fitted to tracks up to 35 A and 700 square mil, of which the laminate carries off most of the heat; NaN
// beyond. Tracks inside a board get some five times as warm by the same source (0.024 for 0.048).
// Source: IPC-2221, 6.2, curve fit of its figure 6-4 (from memory).
func TrackRiseK(currentA, areaM2 float64) float64 {
	const squareMilM2 = 25.4e-6 * 25.4e-6
	area := areaM2 / squareMilM2
	if !(currentA >= 0 && currentA <= 35 && area > 0 && area <= 700) {
		return math.NaN()
	}
	return portable.Pow(currentA/(0.048*portable.Pow(area, 0.725)), 1/0.44)
}
