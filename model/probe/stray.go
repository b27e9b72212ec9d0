package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// CircuitShare is what one other circuit does to a sensor, both carrying the same
// direct current.
type CircuitShare struct {
	Circuit    layout.CircuitIndex
	Ratio      bounded.Estimate // on-axis field over own on-axis field
	FieldT     float64          // magnitude of its whole field at the sensor, T/A
	AxisT      float64          // magnitude of its part on the axis, T/A
	PerTiltDeg float64          // further ratio that one degree of tilt lets in
}

// CircuitShares returns what each other circuit does to s per equal direct current, in
// layout order.
func (m *Model) CircuitShares(s *layout.Sensor) ([]CircuitShare, error) {
	f, err := m.Field(0)
	if err != nil {
		return nil, err
	}
	own := f.Own(s).Axis.Abs()
	var out []CircuitShare
	for k := range m.Layout.Circuits {
		c := layout.CircuitIndex(k)
		if !s.Hears(c) {
			continue
		}
		r := f.Beside(s, c)
		axis := r.Axis.Abs()
		// The part of the field in the plane and across the axis is what a tilt turns in.
		across := float64(real(r.B.Y)*s.Axis.U.X) - float64(real(r.B.X)*s.Axis.U.Y)
		out = append(out, CircuitShare{
			Circuit: c, Ratio: axis.Over(own),
			FieldT: r.B.Norm(), AxisT: axis.Value,
			PerTiltDeg: math.Abs(across) * portable.Sin(math.Pi/180) / own.Value,
		})
	}
	return out, nil
}

// leftover is what the left-over of a waveform may add: to the own current in amperes, and
// to the stray reading and each element in tesla.
type leftover struct {
	ownA, strayT float64
	headT        []float64
}

// leftOver bounds what the left-over of currents adds to a reading, by the response at
// steady current.
func (m *Model) leftOver(s *layout.Sensor, cur *waveform.Currents) (leftover, error) {
	out := leftover{headT: make([]float64, headCount(s))}
	for k, a := range cur.LeftOverA {
		if a == 0 {
			continue
		}
		f, err := m.Field(0)
		if err != nil {
			return out, err
		}
		c := layout.CircuitIndex(k)
		alone := make([]complex128, len(cur.LeftOverA))
		alone[k] = complex(a, 0)
		out.ownA += portable.Abs(f.OwnA(s, alone))
		out.strayT += float64(f.Beside(s, c).Axis.Abs().High * a)
		for e, p := range headsPerAmpere(f, s, c) {
			out.headT[e] += float64(p.Abs().High * a)
		}
	}
	return out, nil
}

// FullScaleA returns the largest magnitude that the current which s reads reaches in a
// continuous or peak duty, A; 0 when it carries none, NaN when it is not known.
func (m *Model) FullScaleA(s *layout.Sensor) float64 {
	_, top, err := m.LargestOwn(s, layout.Continuous, layout.Peak)
	if err != nil {
		return math.NaN()
	}
	return top
}

// OwnPeakA returns the largest magnitude that the current which s reads reaches in duty
// d, A: between samples too, the left-over of points and the decaying direct component of
// a fault counted. NaN when the shares of a circuit are not known.
func (m *Model) OwnPeakA(s *layout.Sensor, d *layout.Duty) float64 {
	own, err := m.OwnCurrent(s, d)
	if err != nil {
		return math.NaN()
	}
	return own.PeakAbs().High
}

// OwnCurrent returns the current that s reads in duty d, in time.
func (m *Model) OwnCurrent(s *layout.Sensor, d *layout.Duty) (*waveform.Signal, error) {
	cur := m.Currents(d)
	if s.Leg == layout.None {
		return cur.Current(s.Circuit).Scaled(s.Sign), nil
	}
	out := &waveform.Signal{}
	line := func(c *waveform.Component, freqHz float64) (waveform.Line, error) {
		f, err := m.Field(freqHz)
		if err != nil {
			return waveform.Line{}, err
		}
		return waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: f.OwnA(s, c.PeakA)}, nil
	}
	for i := range cur.Components {
		l, err := line(&cur.Components[i], cur.Components[i].FreqHz)
		if err != nil {
			return nil, err
		}
		out.Lines = append(out.Lines, l)
	}
	for i := range cur.Offsets {
		l, err := line(&cur.Offsets[i], 0)
		if err != nil {
			return nil, err
		}
		out.Offset = append(out.Offset, l)
	}
	left, err := m.leftOver(s, cur)
	out.LeftOver = left.ownA
	return out, err
}

// OwnIn returns the current that s reads in one component, a peak phasor in A; NaN when
// the shares of a circuit are not known.
func (m *Model) OwnIn(s *layout.Sensor, c *waveform.Component) complex128 {
	if s.Leg == layout.None {
		return portable.Times(c.PeakA[s.Circuit], complex(s.Sign, 0))
	}
	barsA, err := m.BarsA(c)
	if err != nil {
		return cmplx.NaN()
	}
	return barsA[s.Leg]
}
