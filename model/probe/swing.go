package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/layout"
)

// Swing is the lowest and the highest value of a flux density over the period
// of a duty, in tesla, with bounds.
type Swing struct {
	Low, High Estimate
}

// Largest returns the larger magnitude of the two ends.
func (w Swing) Largest() Estimate {
	low := w.Low.Scale(-1)
	if low.Value > w.High.Value {
		return low
	}
	return w.High
}

// ElementSwing returns, for each element of s, the range of the flux density on
// its axis over the period of duty d, in tesla, all bars together. Harmonics
// keep their phase against the fundamental; ripple may have any phase.
func (m *Model) ElementSwing(s *layout.Sensor, d *layout.Duty) ([]Swing, error) {
	m = m.For(d)
	parts := m.Layout.Components(d)
	elements := len(s.Elements())
	waves := make([]wave, elements)
	for i := range parts {
		c := &parts[i]
		f, err := m.Field(c.FreqHz)
		if err != nil {
			return nil, err
		}
		sums := make([]Phasor, elements)
		for b, a := range c.PeakA {
			if a == 0 {
				continue
			}
			for e, p := range f.ElementPerAmpere(s, layout.BarIndex(b)) {
				sums[e] = sums[e].Add(p.Scale(a))
			}
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

func (w *wave) add(c *layout.Component, p Phasor) {
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
		Low:  Estimate{low, low - w.bound, low + w.bound},
		High: Estimate{high, high - w.bound, high + w.bound},
	}
}

func (w *wave) scan() (low, high float64) {
	const steps = 720
	var v [steps]float64
	for i := range v {
		v[i] = w.at(2 * math.Pi * float64(i) / steps)
	}
	low, high = math.Inf(1), math.Inf(-1)
	for i := range v {
		a, b, c := v[(i+steps-1)%steps], v[i], v[(i+1)%steps]
		top := b
		if curve := a - 2*b + c; curve != 0 && (b-a)*(c-b) <= 0 {
			top = b - (c-a)*(c-a)/(8*curve)
		}
		low, high = math.Min(low, top), math.Max(high, top)
	}
	return low, high
}
