package probe

import (
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// BarCurrent returns the net current of bar b in duty d, in time: what its circuit carries times its share, and
// what circulates in bars that are joined. The left-over of a waveform divides as direct current does.
func (m *Model) BarCurrent(b layout.BarIndex, d *layout.Duty) (*waveform.Signal, error) {
	cur := waveform.Of(m.Layout, d)
	out := &waveform.Signal{}
	flows := func(c *waveform.Component, freqHz float64) (complex128, error) {
		at := *c
		at.FreqHz = freqHz
		barsA, err := m.BarsA(&at)
		if err != nil {
			return 0, err
		}
		return barsA[b], nil
	}
	for i := range cur.Components {
		c := &cur.Components[i]
		a, err := flows(c, c.FreqHz)
		if err != nil {
			return nil, err
		}
		out.Lines = append(out.Lines, waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: a})
	}
	for i := range cur.Offsets { // which flow as direct current
		c := &cur.Offsets[i]
		a, err := flows(c, 0)
		if err != nil {
			return nil, err
		}
		out.Offset = append(out.Offset, waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: a})
	}
	for k, a := range cur.LeftOverA {
		if a == 0 {
			continue
		}
		alone := waveform.Component{PeakA: make([]complex128, len(cur.LeftOverA))}
		alone.PeakA[k] = complex(a, 0)
		part, err := flows(&alone, 0)
		if err != nil {
			return nil, err
		}
		out.LeftOver += cmplx.Abs(part)
	}
	return out, nil
}

// Residue is how far the currents of a duty are from coming back at one frequency of it.
type Residue struct {
	Share float64 // |sum over all bars| over the largest current of a circuit
	SumA  float64 // the sum, A peak
	Role  string  // of the component
	// Lost are circuits whose whole current the sum is, and Small such as carry no more than the sum, so that a return
	// that is missing would look like rounding of the largest: in the component where the sum is the largest part of theirs.
	Lost, Small []layout.CircuitIndex
}

// ResidueOf returns the residue of duty d at the frequency where it is largest, the last of equals. The bars of
// a circuit in series carry its current out and back, those of a parallel one carry it once between them.
//
// Source: charge is conserved; what flows out along z comes back somewhere.
func ResidueOf(l *layout.Layout, d *layout.Duty) Residue {
	once := make([]float64, len(l.Circuits))
	for i := range l.Circuits {
		if c := &l.Circuits[i]; c.Kind == layout.Parallel {
			once[i] = 1
		} else {
			for _, k := range c.Members {
				once[i] += k.Factor
			}
		}
	}
	var worst Residue
	for _, c := range waveform.Of(l, d).Components {
		var sum complex128
		top := 0.0
		for i, a := range c.PeakA {
			sum += a * complex(once[i], 0)
			top = math.Max(top, cmplx.Abs(a))
		}
		r := cmplx.Abs(sum)
		if top == 0 {
			continue
		}
		if !(r/top < worst.Share) {
			worst.Share, worst.SumA, worst.Role = r/top, r, c.Role
		}
		for i, a := range c.PeakA {
			one := a * complex(once[i], 0)
			switch size := cmplx.Abs(one); {
			case size <= noSum*top || r <= noSum*top:
			case cmplx.Abs(sum-one) <= wholeCurrent*size:
				worst.Lost = addOnce(worst.Lost, layout.CircuitIndex(i))
			case size <= r:
				worst.Small = addOnce(worst.Small, layout.CircuitIndex(i))
			}
		}
	}
	return worst
}

// wholeCurrent is the share of a current within which a sum is that current and nothing else.
const wholeCurrent = 1e-3

func addOnce(list []layout.CircuitIndex, c layout.CircuitIndex) []layout.CircuitIndex {
	if slices.Contains(list, c) {
		return list
	}
	return append(list, c)
}
