package probe

import "math"

// balance returns where f, the heat that leaves less what is made, turns positive; NaN
// where it is not a number. False position with the values of a stale end halved (Illinois), by halves where that is slow.
//
// Source: M. Dowell, P. Jarratt, BIT 11 (1971) 168 (from memory).
func balance(f func(riseK float64) float64) float64 {
	if math.IsNaN(f(1)) {
		return math.NaN()
	}
	low, high := 0.0, 1.0
	atLow, atHigh := math.NaN(), f(high)
	for !(atHigh >= 0) {
		low, high, atLow = high, 2*high, atHigh
		if high > HottestK {
			return HottestK
		}
		atHigh = f(high)
	}
	if low == 0 {
		atLow = f(low)
	}
	moved := 0 // the end that moved last: -1 the lower, 1 the upper
	for i := 0; i < 150; i++ {
		least := float64(2e-13 * high)
		if high-low <= 2*least {
			break
		}
		mid := (low + high) / 2
		if by := low - atLow*(high-low)/(atHigh-atLow); i%4 < 3 && low <= by && by <= high {
			mid = math.Min(math.Max(by, low+least), high-least) // never so near an end that the other stays
		}
		switch v := f(mid); {
		case v >= 0:
			high, atHigh = mid, v
			if moved > 0 {
				atLow /= 2
			}
			moved = 1
		default:
			low, atLow = mid, v
			if moved < 0 {
				atHigh /= 2
			}
			moved = -1
		}
	}
	return high
}
