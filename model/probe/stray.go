package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// BarShare is what one other bar does to a sensor, both bars carrying the same
// direct current.
type BarShare struct {
	Bar        layout.BarIndex
	Ratio      bounded.Estimate // on-axis field over own on-axis field
	FieldT     float64          // magnitude of its whole field at the sensor, T/A
	AxisT      float64          // magnitude of its part on the axis, T/A
	PerTiltDeg float64          // further ratio that one degree of tilt lets in
}

// Stray is the part of a sensor's reading that belongs to other bars, over one duty.
type Stray struct {
	Ratio     bounded.Estimate // stray over own
	StrayA    bounded.Estimate // stray divided by own field per ampere, A peak
	OwnA      float64          // what Ratio refers to, A peak
	OwnIdle   bool             // the own bar carries nothing in this duty: Ratio refers to the full scale
	Amplitude float64          // relative error of the amplitude of the fundamental (or direct) reading
	PhaseRad  float64          // error of its phase
	Largest   layout.BarIndex
	WorstCase bounded.Estimate // all others at their current and at the worst phase, over own
}

// Stray returns the stray reading of s in duty d. Components add by magnitude,
// which is the largest that their phases allow.
func (m *Model) Stray(s *layout.Sensor, d *layout.Duty) (Stray, error) {
	m = m.For(d)
	out := Stray{Largest: layout.None}
	perA, err := m.scaleOf(s)
	if err != nil {
		return out, err
	}
	var stray, worst bounded.Estimate
	largest, main := 0.0, 0.0
	parts := m.Layout.Components(d)
	for i := range parts {
		r, err := m.Read(s, &parts[i])
		if err != nil {
			return out, err
		}
		stray = stray.Plus(r.Stray.Abs())
		out.OwnA += cmplx.Abs(r.OwnA)
		for b, p := range r.PerBar {
			if layout.BarIndex(b) == s.Reads {
				continue
			}
			a := p.Abs()
			worst = worst.Plus(a)
			if a.Value > largest {
				largest, out.Largest = a.Value, layout.BarIndex(b)
			}
		}
		if own := cmplx.Abs(r.Own.V); own > main {
			main = own
			q := 1 + r.Stray.V/r.Own.V
			out.Amplitude, out.PhaseRad = cmplx.Abs(q)-1, cmplx.Phase(q)
		}
	}
	out.StrayA = stray.Over(perA)
	if out.OwnA == 0 {
		out.OwnIdle, out.OwnA = true, m.FullScaleA(s)
	}
	out.Ratio = out.StrayA.Over(bounded.Exact(out.OwnA))
	out.WorstCase = worst.Over(perA).Over(bounded.Exact(out.OwnA))
	return out, nil
}

// BarShares returns what each other bar does to s per equal direct current, in
// layout order.
func (m *Model) BarShares(s *layout.Sensor) ([]BarShare, error) {
	f, err := m.Field(0)
	if err != nil {
		return nil, err
	}
	own := f.PerAmpere(s, s.Reads).Axis.Abs()
	var out []BarShare
	for b := range m.Layout.Bars {
		if layout.BarIndex(b) == s.Reads {
			continue
		}
		r := f.PerAmpere(s, layout.BarIndex(b))
		axis := r.Axis.Abs()
		// The part of the field in the plane and across the axis is what a tilt turns in.
		across := real(r.B.Y)*s.Axis.U.X - real(r.B.X)*s.Axis.U.Y
		out = append(out, BarShare{
			Bar: layout.BarIndex(b), Ratio: axis.Over(own),
			FieldT: r.B.Norm(), AxisT: axis.Value,
			PerTiltDeg: math.Abs(across) * math.Sin(math.Pi/180) / own.Value,
		})
	}
	return out, nil
}

// FullScaleA returns the largest current of the own bar of s in a continuous
// or peak duty, A peak; 0 when it carries none.
func (m *Model) FullScaleA(s *layout.Sensor) float64 {
	top := 0.0
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind != layout.Fault {
			top = math.Max(top, m.OwnPeakA(s, d))
		}
	}
	return top
}

// OwnPeakA returns the sum of the amplitudes of the own bar's current over the
// components of duty d: the largest that it can reach, A.
func (m *Model) OwnPeakA(s *layout.Sensor, d *layout.Duty) float64 {
	sum := 0.0
	for _, c := range m.Layout.Components(d) {
		sum += cmplx.Abs(c.PeakA[s.Reads])
	}
	return sum
}
