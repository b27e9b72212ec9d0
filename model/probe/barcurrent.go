package probe

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// BarCurrent returns the net current of bar b in duty d, in time: what its circuit carries times its share, and
// what circulates in bars that are joined. The left-over of a waveform divides as direct current does.
func (m *Model) BarCurrent(b layout.BarIndex, d *layout.Duty) (*waveform.Signal, error) {
	cur := m.Currents(d)
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
		out.LeftOver += portable.Abs(part)
	}
	return out, nil
}

// Residue is how far the currents of a duty are from coming back in one component of it.
type Residue struct {
	Share float64 // |sum over all bars| over the largest current of a circuit
	SumA  float64 // the sum, A peak
	Role  string  // of the component
	// Lost are circuits whose whole current in the component the sum is, and Small such as carry no more than the sum,
	// so that a return that is missing would look like rounding of the largest.
	Lost, Small []layout.CircuitIndex
}

// ResidueOf returns the residue of duty d in the component where it is largest, the last of equals.
func ResidueOf(l *layout.Layout, d *layout.Duty) Residue {
	worst, _ := LargestResidue(ResiduesOf(l, d), func(*Residue) bool { return true })
	return worst
}

// LargestResidue returns that of list, among those of which is is true, whose share is largest, the last of equals;
// false where there is none.
func LargestResidue(list []Residue, is func(*Residue) bool) (worst Residue, found bool) {
	for i := range list {
		if r := &list[i]; is(r) && !(r.Share < worst.Share) {
			worst, found = *r, true
		}
	}
	return worst, found
}

// ResiduesOf returns the residue of every component of duty d that carries a current. The bars of
// a circuit in series carry its current out and back, those of a parallel one carry it once between them.
//
// Source: charge is conserved; what flows out along z comes back somewhere.
func ResiduesOf(l *layout.Layout, d *layout.Duty) []Residue {
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
	var out []Residue
	for _, c := range waveform.Of(l, d).Components {
		var sum complex128
		top := 0.0
		for i, a := range c.PeakA {
			sum += portable.Times(a, complex(once[i], 0))
			top = math.Max(top, portable.Abs(a))
		}
		if top == 0 {
			continue
		}
		r := portable.Abs(sum)
		one := Residue{Share: r / top, SumA: r, Role: c.Role}
		for i, a := range c.PeakA {
			whole := portable.Times(a, complex(once[i], 0))
			switch size := portable.Abs(whole); {
			case size <= noSum*top || r <= noSum*top:
			case portable.Abs(sum-whole) <= wholeCurrent*size:
				one.Lost = append(one.Lost, layout.CircuitIndex(i))
			case size <= r:
				one.Small = append(one.Small, layout.CircuitIndex(i))
			}
		}
		out = append(out, one)
	}
	return out
}

// wholeCurrent is the share of a current within which a sum is that current and nothing else.
const wholeCurrent = 1e-3
