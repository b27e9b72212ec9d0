package channel

import (
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// Beside is what does not come from the set itself but adds to all three channels at once: alternating stray of
// other circuits, and uniform fields. Amperes.
type Beside struct {
	// SumA is the largest false sum of the alternating stray of other circuits, RippleA what it makes in the frame
	// that turns with the set.
	SumA, RippleA float64
	// FieldSumA and FieldOnceA are what the uniform fields, each in its worst direction, make of the sum and of the
	// ripple at the electrical frequency.
	FieldSumA, FieldOnceA float64
	// FieldA is the largest of what they make of one channel.
	FieldA float64
}

// Beside returns what other circuits and uniform fields do to the three channels in duty d, after a kind of
// calibration. Circuits at the frequency of the set have phases that are known against each other, those of other
// sets add by magnitude. With D_k what a component makes of channel k,
//
//	sum  |Σ D_k|,   ripple  (1/3)|Σ D_k e^{jk120°}| + (1/3)|Σ D_k* e^{jk120°}|
//
// the latter at the sum and the difference of the two frequencies; at the frequency of the set itself the first is no
// ripple. With R_k the response of channel k to a uniform field, a real vector,
//
//	sum  E |Σ R_k|,   ripple  E (2/3) max_n |Σ (R_k·n) e^{jk120°}|
//
// so that channels with parallel axes, which read the same, make no ripple of it, and axes that stand at 120° to each
// other make no sum. A matrix turns the responses of all sensors into those of its currents.
//
// Source: as Phases.Ripple; the largest over all directions n is the larger singular value of two vectors, the real
// and the imaginary part.
func (x *Trio) Beside(m *probe.Model, d *layout.Duty, after After) (Beside, error) {
	var out Beside
	inverse, slopes, err := x.scales(m, after)
	if err != nil {
		return out, err
	}
	cur := m.Currents(d)
	for i := range cur.Components {
		c := &cur.Components[i]
		if c.FreqHz == 0 || !x.othersIn(c) {
			continue
		}
		used, err := m.Coupling(c.FreqHz)
		if err != nil {
			return out, err
		}
		var errors [3]complex128
		for k, s := range x.Sensors {
			if s == nil {
				continue
			}
			row, _ := m.Layout.Sensor(s.ID)
			for j, a := range c.PeakA {
				circuit := layout.CircuitIndex(j)
				if a == 0 || slices.Contains(x.Circuits[:], circuit) {
					continue
				}
				v := portable.Quotient(used.PerCircuit[row][circuit].V, slopes[k])
				if inverse != nil {
					v = portable.Times(inverseTimes(inverse, used, s.Circuit, circuit), complex(x.Signs[k], 0))
				}
				errors[k] += portable.Times(v, a)
			}
		}
		e := x.completed(errors)
		var forward, backward complex128
		for k := range e {
			forward += portable.Times(e[k], turn(k))
			backward += portable.Times(cmplx.Conj(e[k]), turn(k))
		}
		out.SumA += portable.Abs(e[0] + e[1] + e[2])
		if math.Abs(c.FreqHz-x.FreqHz) > 1e-9*x.FreqHz {
			out.RippleA += portable.Abs(forward) / 3
		}
		out.RippleA += portable.Abs(backward) / 3
	}
	return out, x.uniform(m, d, inverse, slopes, &out)
}

// othersIn reports whether a circuit beside the set carries something in c.
func (x *Trio) othersIn(c *waveform.Component) bool {
	for j, a := range c.PeakA {
		if a != 0 && !slices.Contains(x.Circuits[:], layout.CircuitIndex(j)) {
			return true
		}
	}
	return false
}

// scales returns the inverse that a kind of calibration works with, nil for none, and what each sensor reads at
// steady current per ampere of its phase, in T/A.
func (x *Trio) scales(m *probe.Model, after After) (inverse *probe.Coupling, slopes [3]complex128, err error) {
	still, err := m.Coupling(0)
	if err != nil {
		return nil, slopes, err
	}
	for k, s := range x.Sensors {
		if s != nil {
			row, _ := m.Layout.Sensor(s.ID)
			slopes[k] = portable.Times(still.PerCircuit[row][s.Circuit].V, complex(x.Signs[k], 0))
		}
	}
	switch after {
	case AfterMatrix:
		inverse = still
	case AfterMatrixAtFrequency:
		inverse, err = m.Coupling(x.FreqHz)
	}
	if err == nil && inverse != nil && inverse.Fit == nil {
		inverse = nil // Phases says why
	}
	return inverse, slopes, err
}

// completed sets a derived channel to minus the sum of the others.
func (x *Trio) completed(e [3]complex128) [3]complex128 {
	if d := x.Derived; d >= 0 {
		e[d] = -e[(d+1)%3] - e[(d+2)%3]
	}
	return e
}

// uniform fills in what uniform fields make.
func (x *Trio) uniform(m *probe.Model, d *layout.Duty, inverse *probe.Coupling, slopes [3]complex128,
	out *Beside) error {
	var responses []geom.Point3
	for i := range m.Layout.Sensors {
		f, err := m.ForeignIn(&m.Layout.Sensors[i], d, 0)
		if err != nil {
			return err
		}
		responses = append(responses, geom.Point3{X: real(f.X.V), Y: real(f.Y.V), Z: real(f.Z.V)})
	}
	var r [3]geom.Point3
	for k, s := range x.Sensors {
		if s == nil {
			continue
		}
		row, _ := m.Layout.Sensor(s.ID)
		r[k] = responses[row].Scale(1 / real(slopes[k]))
		if inverse != nil {
			r[k] = throughInverse(inverse, s.Circuit, responses).Scale(x.Signs[k])
		}
	}
	if d := x.Derived; d >= 0 {
		r[d] = r[(d+1)%3].Add(r[(d+2)%3]).Scale(-1)
	}
	sum := r[0].Add(r[1]).Add(r[2])
	var re, im geom.Point3
	for k := range r {
		re, im = re.Add(r[k].Scale(real(turn(k)))), im.Add(r[k].Scale(imag(turn(k))))
	}
	for _, one := range UniformFields(m.Layout) {
		if u := one.Along; u != (geom.Point3{}) {
			out.FieldSumA += float64(one.T * math.Abs(sum.Dot(u)))
			out.FieldOnceA += float64(one.T * 2 / 3 * portable.Hypot(re.Dot(u), im.Dot(u)))
			for k := range r {
				out.FieldA = math.Max(out.FieldA, one.T*math.Abs(r[k].Dot(u)))
			}
			continue
		}
		out.FieldSumA += float64(one.T * sum.Norm())
		out.FieldOnceA += float64(one.T * 2 / 3 * largestSingular(re, im))
		for k := range r {
			out.FieldA = math.Max(out.FieldA, one.T*r[k].Norm())
		}
	}
	return nil
}

// throughInverse returns what a uniform field makes of the current of a circuit that an inverse tells, A/T.
func throughInverse(inverse *probe.Coupling, own layout.CircuitIndex, responses []geom.Point3) geom.Point3 {
	var sum geom.Point3
	for row, circuit := range inverse.Circuits {
		if circuit != own {
			continue
		}
		for i, r := range responses {
			sum = sum.Add(r.Scale(real(inverse.Fit.Inverse[row][i])))
		}
	}
	return sum
}

// largestSingular returns max over unit vectors n of √((a·n)² + (b·n)²).
func largestSingular(a, b geom.Point3) float64 {
	aa, bb, ab := a.Dot(a), b.Dot(b), a.Dot(b)
	return math.Sqrt((aa + bb + portable.Hypot(aa-bb, 2*ab)) / 2)
}

// UniformField is a field that stands over all channels: of any direction where Along is none.
type UniformField struct {
	T     float64
	Along geom.Point3
}

// UniformFields returns the Earth's field and a declared one, as probe.Model.Ambient counts them.
func UniformFields(l *layout.Layout) []UniformField {
	u := l.Surroundings.Uniform
	switch {
	case !u.FluxDensityT.Set:
		return []UniformField{{T: probe.EarthT}}
	case u.DirectionRad.Set:
		sin, cos := portable.Sincos(u.DirectionRad.V)
		return []UniformField{{T: probe.EarthT}, {T: math.Abs(u.FluxDensityT.V), Along: geom.Point3{X: cos, Y: sin}}}
	}
	return []UniformField{{T: math.Max(probe.EarthT, u.FluxDensityT.V)}}
}
