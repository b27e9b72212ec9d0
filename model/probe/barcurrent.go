package probe

import (
	"math"
	"math/cmplx"

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
		if r := cmplx.Abs(sum); top > 0 && r/top >= worst.Share {
			worst = Residue{Share: r / top, SumA: r, Role: c.Role}
		}
	}
	return worst
}
