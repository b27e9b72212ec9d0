package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// Swing is the lowest and the highest value of a flux density over all time of a duty,
// in tesla, with bounds.
type Swing struct {
	Low, High bounded.Estimate
}

// swingOf returns the extremes of a signal as estimates.
func swingOf(s *waveform.Signal) Swing {
	low, high := s.Extremes()
	return Swing{
		Low:  bounded.Estimate{Value: low.Value, Low: low.Low, High: low.High},
		High: bounded.Estimate{Value: high.Value, Low: high.Low, High: high.High},
	}
}

// ElementSwing returns, for each element of s, the range of the flux density on
// its axis over all time of duty d, in tesla, all circuits together: components of a group
// keep their phases, groups may have any, and a fault takes its first peak.
func (m *Model) ElementSwing(s *layout.Sensor, d *layout.Duty) ([]Swing, error) {
	_, elements, err := m.Swings(s, d)
	return elements, err
}

// Swings returns the range of what s reads over all time of duty d, in tesla, and
// ElementSwing.
func (m *Model) Swings(s *layout.Sensor, d *layout.Duty) (reading Swing, elements []Swing, err error) {
	m = m.For(d)
	cur := m.Currents(d)
	all := make([]Swing, 0, headCount(s))
	if m.ExactIron() {
		if all, err = m.stateSwing(s, cur); err == nil {
			all, err = m.endedSwing(s, cur, all)
		}
	} else {
		var signals []waveform.Signal
		signals, err = m.signals(s, cur)
		for i := range signals {
			all = append(all, swingOf(&signals[i]))
		}
	}
	if err != nil {
		return Swing{}, nil, err
	}
	return all[len(all)-1], all[:s.Count()], nil
}

// headCount is the length of heads.
func headCount(s *layout.Sensor) int {
	n := s.Count()
	if n > 1 {
		n++
	}
	return n
}

// heads returns what of s is followed in time: each element with the weight 1, and last, where there are
// several, all of them with their weights.
func heads(s *layout.Sensor) [][]layout.Element {
	elements := s.Elements()
	var out [][]layout.Element
	for _, e := range elements {
		e.Weight = 1
		out = append(out, []layout.Element{e})
	}
	if len(elements) > 1 {
		out = append(out, elements)
	}
	return out
}

// signals returns the linear flux density on the axis of each head of s in time.
func (m *Model) signals(s *layout.Sensor, cur *waveform.Currents) ([]waveform.Signal, error) {
	out := make([]waveform.Signal, headCount(s))
	for i := range cur.Components {
		c := &cur.Components[i]
		sums, err := m.headPhasors(s, c)
		if err != nil {
			return nil, err
		}
		for e, p := range sums {
			out[e].Lines = append(out[e].Lines, lineOf(c, p))
		}
	}
	for i := range cur.Offsets {
		c := &cur.Offsets[i]
		sums, err := m.headPhasors(s, &waveform.Component{PeakA: c.PeakA})
		if err != nil {
			return nil, err
		}
		for e, p := range sums {
			out[e].Offset = append(out[e].Offset, lineOf(c, p))
		}
	}
	left, err := m.leftOver(s, cur)
	for e := range out {
		out[e].LeftOver = left.headT[e]
	}
	return out, err
}

func lineOf(c *waveform.Component, p bounded.Phasor) waveform.Line {
	return waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: p.V, BoundAbs: p.Abs().High - portable.Abs(p.V)}
}

// endedSwing widens the ranges of the heads of s over a duty, computed for all
// currents together, by what ends and bends change.
func (m *Model) endedSwing(s *layout.Sensor, cur *waveform.Currents, swings []Swing) ([]Swing, error) {
	for i := range cur.Components {
		c := &cur.Components[i]
		f, err := m.FieldOf(c)
		if err != nil {
			return nil, err
		}
		for e, head := range heads(s) {
			slack := 0.0
			for k, a := range c.PeakA {
				if a != 0 {
					_, axis := f.EndsT(head, layout.CircuitIndex(k))
					slack += float64(axis * portable.Abs(a) * cur.PeakFactor)
				}
			}
			swings[e] = swings[e].widened(slack)
		}
	}
	return swings, nil
}

func (w Swing) widened(slack float64) Swing {
	w.Low.Low, w.Low.High = w.Low.Low-slack, w.Low.High+slack
	w.High.Low, w.High.High = w.High.Low-slack, w.High.High+slack
	return w
}

// with returns the range with a further field of either sign on top.
func (w Swing) with(foreignT bounded.Estimate) Swing {
	return Swing{Low: w.Low.Plus(foreignT.Scale(-1)), High: w.High.Plus(foreignT)}
}

// stateSwing is Swings, head by head, with the true state of iron at instants of the main group
// of the duty. Each instant is static: what eddy currents change is taken from the linear
// field, as the difference of each component against direct current, and added to the
// bound; so are components of other groups and the left-over, with their size.
//
// Between instants the linear reading, whose shape is known, is added to what the
// state differs from it, r, which runs straight from instant to instant up to
//
//	h²/8 · max|r″| ≈ max|second difference of r|/8, doubled since it is taken from samples.
func (m *Model) stateSwing(s *layout.Sensor, cur *waveform.Currents) ([]Swing, error) {
	all := heads(s)
	timesS, err := m.Instants(cur)
	if err != nil {
		return nil, err
	}
	states, err := m.StatesOf(cur, timesS)
	if err != nil {
		return nil, err
	}
	values := make([][]float64, len(all))
	bounds := make([]float64, len(all))
	for _, n := range states {
		for e, head := range all {
			r := m.FiniteDepth(s, s.Reads, field.Summed(head, func(el layout.Element) field.Vec { return n.At(el.At) }))
			values[e] = append(values[e], real(r.Axis.V))
			bounds[e] = math.Max(bounds[e], r.Axis.Bound+r.Axis.Far)
		}
	}
	steady, extra, err := m.againstSteady(s, cur)
	if err != nil {
		return nil, err
	}
	out := make([]Swing, len(all))
	for e := range all {
		low, high, between := extremesOf(timesS, values[e], func(timeS float64) float64 { return steady[e].At(timeS) })
		out[e] = Swing{Low: bounded.Exact(low), High: bounded.Exact(high)}.widened(bounds[e] + extra[e] + between)
	}
	return out, nil
}

// extremesOf returns the ends of a periodic quantity known at instants at equal steps,
// with the help of one of nearly its shape, and the bound of what lies between: see
// stateSwing.
func extremesOf(timesS, values []float64, like func(timeS float64) float64) (low, high, bound float64) {
	n := len(values)
	if n == 1 {
		return values[0], values[0], 0
	}
	const fine = 24 // steps between two instants
	step := timesS[1] - timesS[0]
	r := make([]float64, n)
	for i, t := range timesS {
		r[i] = values[i] - like(t)
	}
	low, high = math.Inf(1), math.Inf(-1)
	for i, t := range timesS {
		next := r[(i+1)%n]
		bound = math.Max(bound, math.Abs(next-2*r[i]+r[(i+n-1)%n])/4)
		for k := range fine {
			x := float64(k) / fine
			v := like(t+float64(x*step)) + float64((1-x)*r[i]) + float64(x*next)
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return low, high, bound
}

// againstSteady returns, for each head of s, the linear reading of the main group and the
// direct current with the response at steady current, as group 0; and the sum of what the
// frequency changes in it, of the components of other groups and of the left-over, in tesla.
func (m *Model) againstSteady(s *layout.Sensor, cur *waveform.Currents) (steady []waveform.Signal, extra []float64,
	err error) {
	left, err := m.leftOver(s, cur)
	if err != nil {
		return nil, nil, err
	}
	steady, extra = make([]waveform.Signal, headCount(s)), left.headT
	for i := range cur.Components {
		c := &cur.Components[i]
		still, err := m.headPhasors(s, &waveform.Component{PeakA: c.PeakA})
		if err != nil {
			return nil, nil, err
		}
		factor := cur.PeakFactor
		group := 0
		if c.FreqHz == 0 {
			factor, group = 1, waveform.NoGroup
		}
		at := still
		if c.FreqHz > 0 {
			if at, err = m.headPhasors(s, c); err != nil {
				return nil, nil, err
			}
		}
		for e := range extra {
			if !cur.InMain(c) {
				extra[e] += float64(at[e].Abs().High * factor)
				continue
			}
			extra[e] += float64((portable.Abs(at[e].V-still[e].V) + math.Max(0, at[e].Bound-still[e].Bound)) * factor)
			steady[e].Lines = append(steady[e].Lines,
				waveform.Line{FreqHz: c.FreqHz, Group: group, V: portable.Times(still[e].V, complex(factor, 0))})
		}
	}
	return steady, extra, nil
}

// headPhasors returns the linear field on the axis of each head of s in component c.
func (m *Model) headPhasors(s *layout.Sensor, c *waveform.Component) ([]bounded.Phasor, error) {
	f, err := m.FieldOf(c)
	if err != nil {
		return nil, err
	}
	sums := make([]bounded.Phasor, headCount(s))
	for k, a := range c.PeakA {
		if a == 0 {
			continue
		}
		for e, p := range headsPerAmpere(f, s, layout.CircuitIndex(k)) {
			sums[e] = sums[e].Add(p.Scale(a))
		}
	}
	return sums, nil
}

// headsPerAmpere returns what each head of s reads per ampere of a circuit, T/A.
func headsPerAmpere(f *field.Field, s *layout.Sensor, c layout.CircuitIndex) []bounded.Phasor {
	out := f.ElementPerAmpere(s, c)
	if len(out) > 1 {
		out = append(out, f.PerAmpere(s, c).Axis)
	}
	return out
}
