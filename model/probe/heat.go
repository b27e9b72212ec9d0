package probe

import (
	"math"

	"busgauss/model/layout"
)

// Heat is the load of one bar in one duty, with direct-current resistance.
type Heat struct {
	RMSA          float64 // root sum of squares over the components of the duty
	DensityAPerM2 float64
	LossWPerM     float64 // NaN when the conductivity is not known
	// Crowded says that a component lies where the current crowds, so that the
	// true loss is higher.
	Crowded bool
}

// Heat returns the load of bar b in duty d: rms current over the area of the
// section, and I²/(σ·area) per metre at the bar's own temperature.
func (m *Model) Heat(b layout.BarIndex, d *layout.Duty) Heat {
	var out Heat
	sum := 0.0
	for _, c := range m.Layout.Components(d) {
		a := c.PeakA[b]
		p := real(a)*real(a) + imag(a)*imag(a)
		if c.FreqHz > 0 {
			p /= 2
		}
		sum += p
		if _, err := uniformDensityBound(m.Layout, c.FreqHz); err != nil && p > 0 {
			out.Crowded = true
		}
	}
	bar := &m.Layout.Bars[b]
	area := bar.AreaM2()
	out.RMSA = math.Sqrt(sum)
	out.DensityAPerM2 = out.RMSA / area
	out.LossWPerM = math.NaN()
	if bar.SigmaSPerM > 0 {
		out.LossWPerM = sum / (bar.SigmaSPerM * area)
	}
	return out
}
