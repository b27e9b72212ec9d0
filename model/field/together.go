package field

import (
	"math/cmplx"

	"busgauss/model/layout"
)

// Together returns circuitA with what bars that are bonded to each other are given moved to the first of them: they
// have one field per ampere, so that the sum alone makes a field. A sum that arithmetic leaves of currents that
// cancel is nothing.
func Together(l *layout.Layout, circuitA []complex128) []complex128 {
	if len(l.Bonded) == 0 {
		return circuitA
	}
	out := append([]complex128(nil), circuitA...)
	for i := range l.Bonded {
		first, size := layout.CircuitIndex(layout.None), 0.0
		for _, b := range l.Bonded[i].Bars {
			c, _ := l.CircuitOf(b)
			if c == layout.None || l.Circuits[c].Kind != layout.Single {
				continue
			}
			size += cmplx.Abs(circuitA[c])
			if first == layout.None {
				first = c
				continue
			}
			out[first], out[c] = out[first]+out[c], 0
		}
		if first != layout.None && cmplx.Abs(out[first]) <= roundOff*size {
			out[first] = 0
		}
	}
	return out
}

// onFirst is Together for the currents of bars.
func onFirst(l *layout.Layout, barsA []complex128) []complex128 {
	if len(l.Bonded) == 0 {
		return barsA
	}
	out := append([]complex128(nil), barsA...)
	for i := range l.Bonded {
		var sum complex128
		size := 0.0
		for _, b := range l.Bonded[i].Bars {
			sum, size = sum+barsA[b], size+cmplx.Abs(barsA[b])
			out[b] = 0
		}
		if len(l.Bonded[i].Bars) > 0 && cmplx.Abs(sum) > roundOff*size {
			out[l.Bonded[i].Bars[0]] = sum
		}
	}
	return out
}

// settled is Together for the currents of bars, each of which keeps what it is given: where those of a bond cancel but
// for what arithmetic leaves, the last of them takes it.
func settled(l *layout.Layout, barsA []complex128) []complex128 {
	for i := range l.Bonded {
		bars, size := l.Bonded[i].Bars, 0.0
		var sum complex128
		for _, b := range bars {
			sum += barsA[b]
			size += cmplx.Abs(barsA[b])
		}
		if len(bars) == 0 || cmplx.Abs(sum) > roundOff*size {
			continue
		}
		sum = 0
		last := len(bars) - 1
		for _, b := range bars[:last] {
			sum += barsA[b]
		}
		barsA[bars[last]] = -sum
	}
	return barsA
}
