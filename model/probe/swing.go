package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// Swing is the lowest and the highest value of a flux density over the period
// of a duty, in tesla, with bounds.
type Swing struct {
	Low, High bounded.Estimate
}

// ElementSwing returns, for each element of s, the range of the flux density on
// its axis over the period of duty d, in tesla, all bars together. Harmonics
// keep their phase against the fundamental; ripple may have any phase.
func (m *Model) ElementSwing(s *layout.Sensor, d *layout.Duty) ([]Swing, error) {
	m = m.For(d)
	parts := m.Layout.Components(d)
	if m.exactIron() {
		swings, err := m.stateSwing(s, parts)
		if err != nil {
			return nil, err
		}
		if m.inSpace() {
			return swings, nil
		}
		return m.endedSwing(s, parts, swings)
	}
	elements := len(s.Elements())
	waves := make([]wave, elements)
	for i := range parts {
		c := &parts[i]
		sums, err := m.elementPhasors(s, c.FreqHz, c.PeakA)
		if err != nil {
			return nil, err
		}
		for e := range waves {
			waves[e].add(c, sums[e])
		}
	}
	out := make([]Swing, elements)
	for e := range waves {
		out[e] = waves[e].swing()
	}
	return out, nil
}

// wave is a periodic signal: a mean, cosines with known phase, and the sum of
// amplitudes whose phase is free.
type wave struct {
	mean    float64
	orders  []float64 // relative to the lowest frequency
	phasors []complex128
	free    float64
	bound   float64 // adds to either end
	base    float64
}

func (w *wave) add(c *layout.Component, p bounded.Phasor) {
	w.bound += p.Abs().High - cmplx.Abs(p.V)
	switch {
	case c.FreqHz == 0:
		w.mean += real(p.V)
	case c.FreePhase:
		w.free += cmplx.Abs(p.V)
	default:
		if w.base == 0 {
			w.base = c.FreqHz
		}
		w.orders = append(w.orders, c.FreqHz/w.base)
		w.phasors = append(w.phasors, p.V)
	}
}

// at returns the known part at phase angle x of the lowest frequency.
func (w *wave) at(x float64) float64 {
	v := w.mean
	for k, p := range w.phasors {
		v += real(p * cmplx.Rect(1, w.orders[k]*x))
	}
	return v
}

// swing finds both ends: exact for one cosine, else by 720 instants and a
// parabola through the best three.
func (w *wave) swing() Swing {
	low, high := w.mean, w.mean
	switch len(w.phasors) {
	case 0:
	case 1:
		a := cmplx.Abs(w.phasors[0])
		low, high = w.mean-a, w.mean+a
	default:
		low, high = w.scan()
	}
	low, high = low-w.free, high+w.free
	return Swing{
		Low:  bounded.Estimate{Value: low, Low: low - w.bound, High: low + w.bound},
		High: bounded.Estimate{Value: high, Low: high - w.bound, High: high + w.bound},
	}
}

func (w *wave) scan() (low, high float64) {
	const steps = 720
	v := make([]float64, steps)
	for i := range v {
		v[i] = w.at(2 * math.Pi * float64(i) / steps)
	}
	return parabolic(v)
}

// parabolic returns the ends of a periodic signal from its values at equal
// steps, each by a parabola through the best value and its neighbours.
func parabolic(v []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	n := len(v)
	for i := range v {
		a, b, c := v[(i+n-1)%n], v[i], v[(i+1)%n]
		top := b
		if curve := a - 2*b + c; curve != 0 && (b-a)*(c-b) <= 0 {
			top = b - (c-a)*(c-a)/(8*curve)
		}
		low, high = math.Min(low, math.Min(top, b)), math.Max(high, math.Max(top, b))
	}
	return low, high
}
