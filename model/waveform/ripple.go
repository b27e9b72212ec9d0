package waveform

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/layout"
	"busgauss/model/portable"
)

// ripple adds the ripple of a duty as a group of its own. Each circuit that it names, or that carries something where it
// names none, has the common size unless it has its own, and the phase of the fundamental where there is one, else that of
// the sign of its direct current, so that a balanced set stays balanced, unless it has a phase of its own.
func (b *builder) ripple(d *layout.Duty) {
	r := d.Ripple
	group := b.newGroup()
	triangle := r.Shape.V == layout.Triangle
	for i := range r.Currents {
		c := &r.Currents[i]
		amount := &c.Amount
		if !c.Alternates() {
			amount = &r.Amount
		}
		phase, sign := c.PhaseRad.V, c.Sign
		if !c.PhaseRad.Set {
			phase, sign = b.ripplePhase(r, c.Circuit), 1
		}
		b.wave(group, r.FreqHz.V, c.Circuit, ripplePeakA(amount, triangle), phase, sign, triangle)
	}
	for _, i := range commonRipple(d) {
		b.wave(group, r.FreqHz.V, i, ripplePeakA(&r.Amount, triangle), b.ripplePhase(r, i), 1, triangle)
	}
}

// ripplePhase is the phase of a ripple in a circuit that has none of its own.
func (b *builder) ripplePhase(r *layout.Ripple, i layout.CircuitIndex) float64 {
	like := b.like[i]
	if like == 0 {
		like = b.direct.PeakA[i]
	}
	return portable.Phase(like) + r.Amount.PhaseRad.V
}

// commonRipple returns the circuits that have the common size of the ripple of d, in the order of the circuits that it names,
// else of the layout.
func commonRipple(d *layout.Duty) []layout.CircuitIndex {
	circuits := slices.Clone(d.Ripple.Circuits)
	if circuits == nil {
		for _, set := range append([]layout.Set{d.Set}, d.With...) {
			for i := range set.Currents {
				circuits = append(circuits, set.Currents[i].Circuit)
			}
			if t := set.ThreePhase; t != nil {
				circuits = append(circuits, t.Circuits[:]...)
			}
		}
		slices.Sort(circuits)
		circuits = slices.Compact(circuits)
	}
	return slices.DeleteFunc(circuits, func(k layout.CircuitIndex) bool {
		return k == layout.None || slices.ContainsFunc(d.Ripple.Currents,
			func(c layout.Current) bool { return c.Circuit == k })
	})
}

// ripplePeakA returns the peak of a ripple; of a triangle the rms is peak/√3 (mean square of a
// straight line through zero).
func ripplePeakA(a *layout.Amount, triangle bool) float64 {
	if triangle && a.RMSA.Set {
		return a.RMSA.V * math.Sqrt(3)
	}
	return a.AlternatingPeakA()
}

// RipplePeakA returns the largest peak of the ripple of a duty in a circuit, A; 0 without one.
func RipplePeakA(d *layout.Duty) float64 {
	r := d.Ripple
	if r == nil {
		return 0
	}
	triangle := r.Shape.V == layout.Triangle
	top := 0.0
	if len(commonRipple(d)) > 0 {
		top = ripplePeakA(&r.Amount, triangle)
	}
	for i := range r.Currents {
		amount := &r.Currents[i].Amount
		if !r.Currents[i].Alternates() {
			amount = &r.Amount
		}
		top = max(top, ripplePeakA(amount, triangle))
	}
	return top
}

// triangleLeftOver is the share of a triangle's peak that its series may leave out: four
// orders of a ripple that is a few per cent of the current.
const triangleLeftOver = 0.06

// wave adds a sine, or a triangle with its peak where the cosine has it:
//
//	8/π²·Σ cos(kθ)/k²,  k = 1, 3, 5, ...
//
// Its phase shifts it in time. All orders peak together, so that the left-over is largest
// there, 1 − 8/π²·Σ 1/k² of the peak.
//
// Source: I. S. Gradshteyn, I. M. Ryzhik, Table of Integrals, 1.444.6 (from memory).
func (b *builder) wave(
	group int, freqHz float64, circuit layout.CircuitIndex, peakA, phaseRad, sign float64, triangle bool,
) {
	b.drawn[circuit].mixed = true
	if !triangle {
		b.add(group, freqHz, "ripple", circuit, portable.Times(portable.Rect(peakA, phaseRad), complex(sign, 0)))
		return
	}
	left := 1.0
	for k := 1.0; left >= triangleLeftOver; k += 2 {
		share := 8 / (math.Pi * math.Pi) / (k * k)
		left -= share
		name := "ripple"
		if k > 1 {
			name = fmt.Sprintf("ripple harmonic %.0f", k)
		}
		b.addOrder(int(k), group, k*freqHz, name, circuit, portable.Times(portable.Rect(peakA*share, k*phaseRad), complex(sign, 0)))
	}
	b.leftOverA[circuit] += float64(peakA * left)
}
