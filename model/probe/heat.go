package probe

import (
	"math"
	"slices"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// Heat is the load of one bar in one duty.
type Heat struct {
	RMSA          float64 // rms over all time, see waveform.Signal.RMS; of bonded bars its share by conductance
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

	Beside []Beside // bars that pass heat on to it across narrow gaps, and what they lose
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
// and Factor then holds what the sharing adds. A spread of the legs of its circuit counts at its worst. The error is an *Unknown where that field is.
func (m *Model) Heat(b layout.BarIndex, d *layout.Duty) (Heat, error) {
	out, err := m.heat(b, d)
	if err == nil {
		out.Beside, err = m.beside(b, d)
	}
	return out, err
}

// heat is Heat without the bars beside.
func (m *Model) heat(b layout.BarIndex, d *layout.Duty) (Heat, error) {
	bar := &m.Layout.Bars[b]
	area := bar.AreaM2()
	var load loads
	cur := m.Currents(d)
	group, share, bonded := m.sharing(b)
	if math.IsNaN(share) {
		return Heat{}, &field.Unknown{Reason: "the conductivity of what it is bonded to is not known"}
	}
	for _, c := range cur.Components {
		barsA, err := m.BarsA(&c)
		if err != nil {
			return Heat{}, err
		}
		a := complex(0, 0)
		for _, k := range group {
			a += barsA[k]
		}
		a = portable.Times(a, complex(share, 0))
		p := float64(real(a)*real(a)) + float64(imag(a)*imag(a))
		if c.FreqHz > 0 {
			p /= 2
		}
		w := p / (bar.SigmaSPerM * area)
		even := w
		if c.FreqHz > 0 && (bonded || field.Crowded(bar, c.FreqHz)) {
			f, err := m.FieldOf(&c)
			if err != nil {
				return Heat{}, err
			}
			if !f.Bare() { // else even
				w = f.LossWPerM(b, barsA)
			}
		}
		load.add(&c, p, even, w)
	}
	left := waveform.Component{PeakA: make([]complex128, len(cur.LeftOverA))}
	leftA := 0.0
	for k, a := range cur.LeftOverA {
		if a == 0 {
			continue
		}
		left.PeakA[k] = complex(a, 0)
		barsA, err := m.BarsA(&left)
		if err != nil {
			return Heat{}, err
		}
		left.PeakA[k] = 0
		for _, k := range group {
			leftA += float64(portable.Abs(barsA[k]) * share)
		}
	}
	squares, even, loss := load.sum(leftA, bar.SigmaSPerM*area)
	most, err := m.mostShare(b)
	if err != nil {
		return Heat{}, err
	}
	squares, even, loss = squares*most*most, even*most*most, loss*most*most
	out := Heat{RMSA: math.Sqrt(squares), Shared: bonded || m.Layout.Shares(b), LossWPerM: math.NaN(), Factor: 1}
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

// mostShare returns how many times its share of direct current bar b may carry of its circuit within the declared spread
// δ of the resistances of the legs: with the share s, its own resistance at the low end and all others at the high end,
//
//	1/(s + (1 − s)(1 − δ)/(1 + δ))
//
// which is 1 without a spread.
func (m *Model) mostShare(b layout.BarIndex) (float64, error) {
	i, _ := m.Layout.CircuitOf(b)
	spread := m.Layout.Circuits[i].Spread.V
	if spread == 0 {
		return 1, nil
	}
	unit := waveform.Component{PeakA: make([]complex128, len(m.Layout.Circuits))}
	unit.PeakA[i] = 1
	barsA, err := m.BarsA(&unit)
	if err != nil {
		return 0, err
	}
	s := portable.Abs(barsA[b])
	return 1 / (s + (1-s)*(1-spread)/(1+spread)), nil
}

// loads adds up what the components of a duty do to a bar: mean squares of the current, and losses in W/m with an
// even and with the true density.
type loads struct {
	list []loadAt
}

// loadAt is the load at one frequency, as roots, so that what may stand in phase adds.
type loadAt struct {
	freqHz             float64
	group              int
	rmsA, even, crowds float64
}

// add takes in a component. Components of one frequency and different groups may stand in phase, which is what
// counts: their roots add.
func (s *loads) add(c *waveform.Component, squares, even, loss float64) {
	at := loadAt{c.FreqHz, c.Group, math.Sqrt(squares), math.Sqrt(even), math.Sqrt(loss)}
	for i := range s.list {
		k := &s.list[i]
		if k.group != at.group && math.Abs(k.freqHz-at.freqHz) <= 1e-9*at.freqHz {
			k.rmsA, k.even, k.crowds = k.rmsA+at.rmsA, k.even+at.even, k.crowds+at.crowds
			return
		}
	}
	s.list = append(s.list, at)
}

// countsSquares is the share of the mean square of a current from which a component counts for the crowding of the
// left-over: three per cent of the current.
const countsSquares = 1e-3

// sum returns the sums over all frequencies. The left-over of a waveform, leftA at most, holds orders that the
// components do not, so that its mean square adds; they lie higher, and are taken to lose twice as much for
// their size as the component that loses most.
func (s *loads) sum(leftA, sigmaAreaSM float64) (squares, even, loss float64) {
	for _, k := range s.list {
		squares, even, loss = squares+float64(k.rmsA*k.rmsA), even+float64(k.even*k.even), loss+float64(k.crowds*k.crowds)
	}
	// The largest loss over that with an even density; what a neighbour induces under next to no current of the
	// bar itself says nothing of the left-over.
	factor := 1.0
	for _, k := range s.list {
		if k.rmsA*k.rmsA > countsSquares*squares && k.even > 0 {
			factor = math.Max(factor, k.crowds*k.crowds/(k.even*k.even))
		}
	}
	left := leftA * leftA / sigmaAreaSM
	return squares + float64(leftA*leftA), even + left, loss + float64(2*factor*left)
}

// sharing returns the bars that share one current with b, b alone where it is bonded to
// none, and the share of b by conductance: of bars with their lengths and cuts, and of shields that are joined, per metre.
func (m *Model) sharing(b layout.BarIndex) (group []layout.BarIndex, share float64, shared bool) {
	l := m.Layout
	for i := range l.Bonded {
		bond := &l.Bonded[i]
		if !slices.Contains(bond.Bars, b) {
			continue
		}
		if parts, err := m.BondShares(bond); err == nil && len(bond.Shields) == 0 {
			return bond.Bars, parts[slices.Index(bond.Bars, b)], true
		}
		all := 0.0
		for _, k := range bond.Bars {
			all += float64(l.Bars[k].SigmaSPerM * l.Bars[k].AreaM2())
		}
		for _, k := range bond.Shields {
			s := &l.Shields[k]
			if sigma := l.Materials[s.Material].SigmaSPerM; sigma.Set {
				all += float64(sigma.V * s.Region().AreaM2())
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
