package layout

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Component is one frequency of a duty: a peak phasor of current for each bar
// (len = number of bars, e^{+jωt}). At 0 Hz the phasors are real.
type Component struct {
	FreqHz float64
	Role   string // "direct", "fundamental", "harmonic 5", "ripple"
	// FreePhase says that the phase against the other components is unknown.
	FreePhase bool
	PeakA     []complex128
}

// PeakValueA returns the peak value of an amount; a direct current is its own peak,
// with its sign.
func (a *Amount) PeakValueA() float64 {
	switch {
	case a.DCA.Set:
		return a.DCA.V
	case a.RMSA.Set:
		return a.RMSA.V * math.Sqrt2
	}
	return a.PeakA.V
}

// Components returns the frequencies of duty d in rising order of role: direct
// current, fundamental, harmonics as listed, ripple. A duty without alternating
// current has one component at 0 Hz, all zero when it names no current at all.
func (l *Layout) Components(d *Duty) []Component {
	n := len(l.Bars)
	direct := Component{Role: "direct", PeakA: make([]complex128, n)}
	base := Component{FreqHz: d.FreqHz.V, Role: "fundamental", PeakA: make([]complex128, n)}
	hasDirect, hasBase := false, false
	for i := range d.Currents {
		c := &d.Currents[i]
		if c.DCA.Set {
			l.carry(direct.PeakA, c.Circuit, complex(c.Sign*c.DCA.V, 0))
			hasDirect = true
		}
		if ac := (Amount{RMSA: c.RMSA, PeakA: c.PeakA}); c.Alternates() && d.FreqHz.V != 0 {
			l.carry(base.PeakA, c.Circuit, cmplx.Rect(c.Sign*ac.PeakValueA(), c.PhaseRad.V))
			hasBase = true
		}
	}
	if t := d.ThreePhase; t != nil {
		for k, b := range t.Circuits {
			phase := t.Amount.PhaseRad.V - float64(k)*2*math.Pi/3
			i := cmplx.Rect(t.Amount.PeakValueA(), phase)
			if d.FreqHz.V == 0 {
				// A balanced set that stands still: the instant at which the
				// first bar has its phase.
				l.carry(direct.PeakA, b, complex(t.Signs[k]*real(i), 0))
				hasDirect = true
			} else {
				l.carry(base.PeakA, b, complex(t.Signs[k], 0)*i)
				hasBase = true
			}
		}
	}
	var out []Component
	if hasDirect || !hasBase && d.Ripple == nil {
		out = append(out, direct)
	}
	if hasBase {
		out = append(out, base)
		for i := range d.Harmonics {
			out = append(out, harmonic(base, &d.Harmonics[i]))
		}
	}
	if r := d.Ripple; r != nil {
		out = append(out, l.ripple(d, r, base, direct))
	}
	return out
}

// harmonic turns each phasor of base by its order, as a waveform that is the
// same in each bar but for its delay does.
func harmonic(base Component, h *Harmonic) Component {
	order := h.Order.V
	c := Component{
		FreqHz: base.FreqHz * order,
		Role:   fmt.Sprintf("harmonic %.0f", order),
		PeakA:  make([]complex128, len(base.PeakA)),
	}
	for b, i := range base.PeakA {
		if i == 0 {
			continue
		}
		size := h.Amount.PeakValueA()
		if h.Share.Set {
			size = h.Share.V * cmplx.Abs(i)
		}
		c.PeakA[b] = cmplx.Rect(size, order*cmplx.Phase(i)+h.Amount.PhaseRad.V)
	}
	return c
}

// ripple gives each bar of the duty the same size, with the phases of the
// fundamental where there is one, else with the signs of the direct currents,
// so that a balanced set stays balanced.
func (l *Layout) ripple(d *Duty, r *Ripple, base, direct Component) Component {
	c := Component{
		FreqHz: r.FreqHz.V, Role: "ripple", FreePhase: true,
		PeakA: make([]complex128, len(base.PeakA)),
	}
	bars := l.CarryingBars(d)
	if r.Circuits != nil {
		bars = nil
		for _, k := range r.Circuits {
			for _, m := range l.Circuits[k].Members {
				bars = append(bars, m.Bar)
			}
		}
	}
	for _, b := range bars {
		like := base.PeakA[b]
		if like == 0 {
			like = direct.PeakA[b]
		}
		c.PeakA[b] = cmplx.Rect(r.Amount.PeakValueA(), cmplx.Phase(like)+r.Amount.PhaseRad.V)
	}
	return c
}

// carry adds the current a of circuit c to what its bars carry.
func (l *Layout) carry(peakA []complex128, c CircuitIndex, a complex128) {
	for _, m := range l.Circuits[c].Members {
		peakA[m.Bar] += complex(m.Factor, 0) * a
	}
}

// CarryingBars returns the bars that duty d gives a current, in layout order.
func (l *Layout) CarryingBars(d *Duty) []BarIndex {
	named := make([]bool, len(l.Bars))
	name := func(c CircuitIndex) {
		for _, m := range l.Circuits[c].Members {
			named[m.Bar] = true
		}
	}
	for i := range d.Currents {
		name(d.Currents[i].Circuit)
	}
	if d.ThreePhase != nil {
		for _, c := range d.ThreePhase.Circuits {
			name(c)
		}
	}
	var out []BarIndex
	for b, yes := range named {
		if yes {
			out = append(out, BarIndex(b))
		}
	}
	return out
}
