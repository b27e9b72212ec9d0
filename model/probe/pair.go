package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// ReachM is the farthest that a sensor is moved in search of something better.
const ReachM = 20e-3

// PairFigures are what a pair of elements is chosen by, at steady current.
type PairFigures struct {
	SignalTPerA   bounded.Estimate // difference of the two elements per ampere of what the sensor reads, without sign
	PerTenthMM    float64          // relative change of it when the sensor moves away by 0.1 mm
	SignChangeM   float64          // move along Outward at which it changes sign; NaN when none does within ReachM
	CommonTPerA   float64          // mean of the two elements on the axis, per ampere of what the sensor reads
	Uniform       bounded.Estimate // difference per tesla of a uniform field of the worst direction
	Neighbour     layout.CircuitIndex
	NeighbourPart bounded.Estimate // largest share of another circuit at an equal current: its gradient
}

// Pair returns the figures of a sensor that is a pair; false for one element.
func (m *Model) Pair(s *layout.Sensor) (PairFigures, bool, error) {
	out := PairFigures{Neighbour: layout.None, SignChangeM: math.NaN()}
	if s.Pair == nil {
		return out, false, nil
	}
	f, err := m.Field(0)
	if err != nil {
		return out, true, err
	}
	own := f.Own(s).Axis
	out.SignalTPerA = own.Abs()
	for _, e := range f.ElementOwn(s) {
		out.CommonTPerA += real(e.V) / 2
	}
	away := m.Layout.Outward(s)
	reads := func(x float64) float64 {
		moved := s.Moved(away.Scale(x), 0)
		return real(f.Rough().Own(&moved).Axis.V)
	}
	const tenth = 0.1e-3
	out.PerTenthMM = reads(tenth)/reads(0) - 1
	out.SignChangeM = signChange(reads)
	foreign, err := m.Foreign(s, 0)
	if err != nil {
		return out, true, err
	}
	out.Uniform = foreign.Any()
	for k := range m.Layout.Circuits {
		b := layout.CircuitIndex(k)
		if !s.Hears(b) {
			continue
		}
		share := f.Beside(s, b).Axis.Abs().Over(out.SignalTPerA)
		if m.leads(share.Value, b, out.NeighbourPart.Value, out.Neighbour) {
			out.Neighbour, out.NeighbourPart = b, share
		}
	}
	return out, true, nil
}

// signChange returns the move nearest to 0, either way and within ReachM, at which
// f changes its sign, by steps of a tenth of a millimetre and bisection; NaN when
// there is none.
func signChange(f func(float64) float64) float64 {
	const step = 0.1e-3
	start := f(0)
	if start == 0 {
		return 0
	}
	for i := 1; float64(i)*step <= ReachM; i++ {
		for _, sign := range []float64{1, -1} {
			x := float64(sign * float64(i) * step)
			if f(x)*start <= 0 {
				low, high := x-float64(sign*step), x
				for range 30 {
					mid := (low + high) / 2
					if f(mid)*start > 0 {
						low = mid
					} else {
						high = mid
					}
				}
				return (low + high) / 2
			}
		}
	}
	return math.NaN()
}
