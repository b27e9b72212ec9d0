package probe

import (
	"math"
	"slices"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Heat is the load of one bar in one duty.
type Heat struct {
	RMSA          float64 // root sum of squares over the components of the duty; of bonded bars its share by conductance
	Shared        bool    // bonded: RMSA is a share of the common current
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
// of all bars, eddy currents of the neighbours included. What is bonded shares its common
// current: at direct current by conductance, with alternating current as the field has it,
// and Factor then holds what the sharing adds. The error is an *Unknown where that field is.
func (m *Model) Heat(b layout.BarIndex, d *layout.Duty) (Heat, error) {
	bar := &m.Layout.Bars[b]
	area := bar.AreaM2()
	squares, even, loss := 0.0, 0.0, 0.0
	group, share, bonded := m.sharing(b)
	if math.IsNaN(share) {
		return Heat{}, &field.Unknown{Reason: "the conductivity of what it is bonded to is not known"}
	}
	for _, c := range waveform.Of(m.Layout, d).Components {
		barsA, err := m.BarsA(&c)
		if err != nil {
			return Heat{}, err
		}
		a := complex(0, 0)
		for _, k := range group {
			a += barsA[k]
		}
		a *= complex(share, 0)
		p := real(a)*real(a) + imag(a)*imag(a)
		if c.FreqHz > 0 {
			p /= 2
		}
		squares += p
		w := p / (bar.SigmaSPerM * area)
		even += w
		if c.FreqHz > 0 && (bonded || field.Crowded(bar, c.FreqHz)) {
			f, err := m.FieldOf(&c)
			if err != nil {
				return Heat{}, err
			}
			w = f.LossWPerM(b, barsA)
		}
		loss += w
	}
	out := Heat{RMSA: math.Sqrt(squares), Shared: bonded, LossWPerM: math.NaN(), Factor: 1}
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

// sharing returns the bars that share one current with b, b alone where it is bonded to
// none, and the share of b by conductance: of bars and shields that are joined.
func (m *Model) sharing(b layout.BarIndex) (group []layout.BarIndex, share float64, shared bool) {
	l := m.Layout
	for i := range l.Bonded {
		bond := &l.Bonded[i]
		if !slices.Contains(bond.Bars, b) {
			continue
		}
		all := 0.0
		for _, k := range bond.Bars {
			all += l.Bars[k].SigmaSPerM * l.Bars[k].AreaM2()
		}
		for _, k := range bond.Shields {
			s := &l.Shields[k]
			if sigma := l.Materials[s.Material].SigmaSPerM; sigma.Set {
				all += sigma.V * s.Region().AreaM2()
			}
		}
		return bond.Bars, l.Bars[b].SigmaSPerM * l.Bars[b].AreaM2() / all, true
	}
	return []layout.BarIndex{b}, 1, false
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
