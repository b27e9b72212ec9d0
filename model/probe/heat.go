package probe

import (
	"math"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Heat is the load of one bar in one duty.
type Heat struct {
	RMSA          float64 // root sum of squares over the components of the duty
	DensityAPerM2 float64
	LossWPerM     float64 // NaN when the conductivity is not known
	Factor        float64 // loss over that of the same rms current as direct current

	// Where necks, notches, holes or slots leave least metal:
	Cut       bool
	NarrowM   float64 // least conducting width of a section across the bar
	AlongM    float64 // its place along the bar, z of the layout
	ExtraOhm  float64 // resistance that the cuts add at direct current; NaN when the conductivity is not known
	ExtraWatt float64 // what it loses at the rms current
}

// EvenDensityAPerM2 returns the even current density that would heat the bar as much as the crowded one,
// √F·J: a loss goes with the square of the density.
func (h *Heat) EvenDensityAPerM2() float64 { return h.DensityAPerM2 * math.Sqrt(h.Factor) }

// Heat returns the load of bar b in duty d: rms current over the area of the
// section, where the bar has cuts over that of its narrowest one, and the loss per
// metre at the bar's own temperature. Direct current,
// and alternating current in a thin section, spreads evenly and loses
// I²/(σ·area); otherwise the loss is that of the plane field with the currents
// of all bars, eddy currents of the neighbours included. The error is an
// *Unknown where that field is.
func (m *Model) Heat(b layout.BarIndex, d *layout.Duty) (Heat, error) {
	bar := &m.Layout.Bars[b]
	area := bar.AreaM2()
	squares, even, loss := 0.0, 0.0, 0.0
	for _, c := range waveform.Of(m.Layout, d).Components {
		barsA, err := m.BarsA(&c)
		if err != nil {
			return Heat{}, err
		}
		a := barsA[b]
		p := real(a)*real(a) + imag(a)*imag(a)
		if c.FreqHz > 0 {
			p /= 2
		}
		squares += p
		w := p / (bar.SigmaSPerM * area)
		even += w
		if c.FreqHz > 0 && field.Crowded(bar, c.FreqHz) {
			f, err := m.FieldOf(&c)
			if err != nil {
				return Heat{}, err
			}
			w = f.LossWPerM(b, barsA)
		}
		loss += w
	}
	out := Heat{RMSA: math.Sqrt(squares), LossWPerM: math.NaN(), Factor: 1}
	out.DensityAPerM2 = out.RMSA / area
	if len(bar.Cuts) > 0 {
		if err := m.narrow(b, &out); err != nil {
			return Heat{}, err
		}
	}
	if bar.SigmaSPerM > 0 {
		out.LossWPerM = loss
		if even > 0 {
			out.Factor = loss / even
		}
	}
	return out, nil
}

// narrow adds what the cuts of bar b change: the density is averaged over the
// narrowest section, for that at a corner hangs on its radius and heats nothing much.
// The current is taken as that of steady flow in the plan.
func (m *Model) narrow(b layout.BarIndex, h *Heat) error {
	flow, err := m.Flow(b)
	if err != nil || flow == nil {
		return err
	}
	bar := &m.Layout.Bars[b]
	t := bar.Section.ThicknessM.V
	h.Cut = true
	h.NarrowM, h.AlongM = flow.NarrowestM()
	h.DensityAPerM2 = h.RMSA / (h.NarrowM * t)
	squares, _ := flow.ExtraSquares()
	h.ExtraOhm = math.NaN()
	if bar.SigmaSPerM > 0 {
		h.ExtraOhm = squares / (bar.SigmaSPerM * t)
	}
	h.ExtraWatt = h.RMSA * h.RMSA * h.ExtraOhm
	return nil
}
