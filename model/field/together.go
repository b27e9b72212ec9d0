package field

import (
	"busgauss/model/layout"
	"busgauss/model/portable"
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
		first := layout.CircuitIndex(layout.None)
		var given []complex128
		for _, b := range l.Bonded[i].Bars {
			c, _ := l.CircuitOf(b)
			if c == layout.None || l.Circuits[c].Kind != layout.Single {
				continue
			}
			if first == layout.None {
				first = c
			}
			given, out[c] = append(given, circuitA[c]), 0
		}
		if first != layout.None {
			out[first] = sumOf(given)
		}
	}
	return out
}

// sumOf returns the sum of the currents of a bond, nothing where it is what arithmetic leaves of such as cancel.
func sumOf(given []complex128) (sum complex128) {
	size := 0.0
	for _, a := range given {
		sum, size = sum+a, size+portable.Abs(a)
	}
	if portable.Abs(sum) <= roundOff*size {
		return 0
	}
	return sum
}

// inBond returns what each bar of a bond carries.
func inBond(b *layout.Bond, barsA []complex128) []complex128 {
	out := make([]complex128, len(b.Bars))
	for k, bar := range b.Bars {
		out[k] = barsA[bar]
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
		for k, b := range l.Bonded[i].Bars {
			out[b] = 0
			if k == 0 {
				out[b] = sumOf(inBond(&l.Bonded[i], barsA))
			}
		}
	}
	return out
}

// settled is Together for the currents of bars, each of which keeps what it is given: where those of a bond cancel but
// for what arithmetic leaves, the last of them takes it.
func settled(l *layout.Layout, barsA []complex128) []complex128 {
	for i := range l.Bonded {
		given := inBond(&l.Bonded[i], barsA)
		last := len(given) - 1
		if last < 0 || sumOf(given) != 0 {
			continue
		}
		var others complex128
		for _, a := range given[:last] {
			others += a
		}
		barsA[l.Bonded[i].Bars[last]] = -others
	}
	return barsA
}
