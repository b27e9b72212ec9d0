package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
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
	if m.ExactIron() {
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

// endedSwing widens the ranges of the elements of s over a duty, computed for all
// currents together, by what ends and bends change.
func (m *Model) endedSwing(s *layout.Sensor, parts []layout.Component, swings []Swing) ([]Swing, error) {
	for i := range parts {
		f, err := m.Field(parts[i].FreqHz)
		if err != nil {
			return nil, err
		}
		for e, el := range s.Elements() {
			slack := 0.0
			for b, a := range parts[i].PeakA {
				_, axis := f.EndsT(s, []layout.Element{{At: el.At, Sign: 1}}, layout.BarIndex(b))
				slack += axis * cmplx.Abs(a)
			}
			w := &swings[e]
			w.Low.Low, w.Low.High = w.Low.Low-slack, w.Low.High+slack
			w.High.Low, w.High.High = w.High.Low-slack, w.High.High+slack
		}
	}
	return swings, nil
}

// stateSwing is ElementSwing with the true state of iron at instants of the
// period. Each instant is static: what eddy currents change is taken from the
// linear field, as the difference of each component against direct current, and
// added to the bound; so is a component of unknown phase, with its size.
func (m *Model) stateSwing(s *layout.Sensor, parts []layout.Component) ([]Swing, error) {
	elements := s.Elements()
	values := make([][]float64, len(elements))
	bounds := make([]float64, len(elements))
	states, err := m.StatesOf(parts)
	if err != nil {
		return nil, err
	}
	for _, n := range states {
		for e := range elements {
			v := n.At(elements[e].At)
			r := m.FiniteDepth(s, s.Reads, field.Reading{B: v, Axis: field.OnAxis(v, s.Axis.U)})
			values[e] = append(values[e], real(r.Axis.V))
			bounds[e] = math.Max(bounds[e], r.Axis.Bound)
		}
	}
	extra, err := m.eddyChange(s, parts)
	if err != nil {
		return nil, err
	}
	out := make([]Swing, len(elements))
	for e := range elements {
		low, high := parabolic(values[e])
		b := bounds[e] + extra[e]
		out[e] = Swing{Low: bounded.Estimate{Value: low, Low: low - b, High: low + b}, High: bounded.Estimate{Value: high, Low: high - b, High: high + b}}
	}
	return out, nil
}

// eddyChange returns, for each element, the sum over alternating components of
// the change of the linear reading from direct current to its frequency; for a
// component of unknown phase its whole size. In tesla.
func (m *Model) eddyChange(s *layout.Sensor, parts []layout.Component) ([]float64, error) {
	out := make([]float64, len(s.Elements()))
	for i := range parts {
		c := &parts[i]
		if c.FreqHz == 0 {
			continue
		}
		at, err := m.elementPhasors(s, c.FreqHz, c.PeakA)
		if err != nil {
			return nil, err
		}
		still, err := m.elementPhasors(s, 0, c.PeakA)
		if err != nil {
			return nil, err
		}
		for e := range out {
			if c.FreePhase {
				out[e] += at[e].Abs().High
				continue
			}
			out[e] += cmplx.Abs(at[e].V - still[e].V)
		}
	}
	return out, nil
}

// elementPhasors returns the linear field on the axis of each element.
func (m *Model) elementPhasors(s *layout.Sensor, freqHz float64, peakA []complex128) ([]bounded.Phasor, error) {
	f, err := m.Field(freqHz)
	if err != nil {
		return nil, err
	}
	sums := make([]bounded.Phasor, len(s.Elements()))
	for b, a := range peakA {
		if a == 0 {
			continue
		}
		for e, p := range f.ElementPerAmpere(s, layout.BarIndex(b)) {
			sums[e] = sums[e].Add(p.Scale(a))
		}
	}
	return sums, nil
}
