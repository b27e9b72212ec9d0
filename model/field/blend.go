package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// FieldOf returns the field of component c. A component that the layout does not declare,
// an order of a waveform given by points or of a triangle, lies between two solved
// frequencies an octave apart, counted from the fundamental: straight between their phasors over the
// logarithm of frequency, with half of what they differ in the bound, and
// orderBound for that of the solvers. Such orders are small against their fundamental, and so is the error.
func (m *Model) FieldOf(c *waveform.Component) (*Field, error) {
	if !c.Derived {
		return m.Field(c.FreqHz)
	}
	// Octaves of one fixed frequency serve all series of a layout.
	lowHz := octaveHz(c.FreqHz)
	a, err := m.Rough().Field(lowHz)
	if err != nil {
		return nil, err
	}
	b, err := m.Rough().Field(math.Min(2*lowHz, waveform.HighestHz))
	if err != nil {
		return nil, err
	}
	x := portable.Log2(c.FreqHz / lowHz)
	out := *a
	out.FreqHz = c.FreqHz
	out.Method = a.Method + ", between solved frequencies"
	out.way = blend{a, b, x}
	out.shares = a.shares.between(b.shares, x)
	return &out, nil
}

// orderBound is the relative bound of the fields at octaves: twice what the solvers are asked for at sensors.
const orderBound = 0.01

// octaveHz returns the next lower power of two.
func octaveHz(freqHz float64) float64 { return portable.Exp2(math.Floor(portable.Log2(freqHz))) }

// blend is the way of a field between two solved ones.
type blend struct {
	low, high *Field
	x         float64 // 0 at low, 1 at high
}

func (w blend) vec(a, b Vec) Vec {
	keep, take := complex(1-w.x, 0), complex(w.x, 0)
	out := a.Scale(keep).Add(b.Scale(take))
	// Both stand in the same surroundings.
	out.Bound += Vec{X: b.X - a.X, Y: b.Y - a.Y, Z: b.Z - a.Z}.Norm()/2 + float64(orderBound*out.Norm())
	return out
}

func (w blend) at(_ *Field, q geom.Point3, b layout.BarIndex) Vec {
	return w.vec(w.low.way.at(w.low, q, b), w.high.way.at(w.high, q, b))
}

func (w blend) uniform(_ *Field, q geom.Point3) (out [3]Vec) {
	a, b := w.low.way.uniform(w.low, q), w.high.way.uniform(w.high, q)
	for k := range out {
		out[k] = w.vec(a[k], b[k])
	}
	return out
}

func (w blend) wall(_ *Field, i layout.ShieldIndex, peakA []complex128) (Wall, error) {
	a, err := w.low.way.wall(w.low, i, peakA)
	if err != nil {
		return Wall{}, err
	}
	b, err := w.high.way.wall(w.high, i, peakA)
	return Wall{
		Peak: a.Peak.Between(b.Peak, w.x), Most: a.Most.Between(b.Most, w.x),
		RMS: func() bounded.Estimate { return a.RMS().Between(b.RMS(), w.x) },
	}, err
}

func (w blend) reading(_ *Field, s *layout.Sensor, elements []layout.Element, b layout.BarIndex) Reading {
	low, high := w.low.way.reading(w.low, s, elements, b), w.high.way.reading(w.high, s, elements, b)
	out := Reading{B: w.vec(low.B, high.B)}
	keep, take := complex(1-w.x, 0), complex(w.x, 0)
	out.Axis = low.Axis.Scale(keep).Add(high.Axis.Scale(take))
	out.Axis.Bound += high.Axis.Add(low.Axis.Scale(-1)).Abs().Value/2 + float64(orderBound*out.B.Norm())
	return out
}

func (w blend) endsT(_ *Field, elements []layout.Element, b layout.BarIndex) (wholeT, axisT float64) {
	return w.low.way.endsT(w.low, elements, b)
}

// between returns shares between two frequencies.
func (s *shares) between(o *shares, x float64) *shares {
	if s == o {
		return s
	}
	out := &shares{m: make([][]complex128, len(s.m)), bound: make([][]float64, len(s.m)), images: s.images}
	for b := range s.m {
		out.m[b], out.bound[b] = make([]complex128, len(s.m[b])), make([]float64, len(s.m[b]))
		for c := range s.m[b] {
			p, q := s.m[b][c], o.m[b][c]
			out.m[b][c] = portable.Times(p, complex(1-x, 0)) + portable.Times(q, complex(x, 0))
			d := q - p
			out.bound[b][c] = portable.Hypot(real(d), imag(d)) / 2
			if s.bound != nil && o.bound != nil {
				out.bound[b][c] += math.Max(s.bound[b][c], o.bound[b][c])
			}
		}
	}
	return out
}
