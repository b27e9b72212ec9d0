package probe

import (
	"math"

	"busgauss/model/layout"
)

// Heat is the load of one bar in one duty.
type Heat struct {
	RMSA          float64 // root sum of squares over the components of the duty
	DensityAPerM2 float64
	LossWPerM     float64 // NaN when the conductivity is not known
	Factor        float64 // loss over that of the same rms current as direct current
}

// Heat returns the load of bar b in duty d: rms current over the area of the
// section, and the loss per metre at the bar's own temperature. Direct current,
// and alternating current in a thin section, spreads evenly and loses
// I²/(σ·area); otherwise the loss is that of the plane field with the currents
// of all bars, eddy currents of the neighbours included. The error is an
// *Unknown where that field is.
func (m *Model) Heat(b layout.BarIndex, d *layout.Duty) (Heat, error) {
	bar := &m.Layout.Bars[b]
	area := bar.AreaM2()
	squares, even, loss := 0.0, 0.0, 0.0
	for _, c := range m.Layout.Components(d) {
		a := c.PeakA[b]
		p := real(a)*real(a) + imag(a)*imag(a)
		if c.FreqHz > 0 {
			p /= 2
		}
		squares += p
		w := p / (bar.SigmaSPerM * area)
		even += w
		if c.FreqHz > 0 && crowding(bar, c.FreqHz) > thinLimit {
			f, err := m.Field(c.FreqHz)
			if err != nil {
				return Heat{}, err
			}
			w = f.plane.lossWPerM(b, c.PeakA)
		}
		loss += w
	}
	out := Heat{RMSA: math.Sqrt(squares), LossWPerM: math.NaN(), Factor: 1}
	out.DensityAPerM2 = out.RMSA / area
	if bar.SigmaSPerM > 0 {
		out.LossWPerM = loss
		if even > 0 {
			out.Factor = loss / even
		}
	}
	return out, nil
}
