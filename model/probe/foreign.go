package probe

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Foreign is what a sensor reads per tesla of a uniform field along x, y and z.
// A field along z passes long shields and bars unchanged.
type Foreign struct {
	X, Y Phasor
	Z    float64
}

// Foreign returns the response of s to a uniform field at freqHz: 1 along its
// axis without shields, nothing for a pair without shields, and what the plane
// field says with them (a shielding factor). Eddy currents of bars count: in
// thin bars as a bound, else by the plane field.
func (m *Model) Foreign(s *layout.Sensor, freqHz float64) (Foreign, error) {
	var out Foreign
	f, err := m.Field(freqHz)
	if err != nil {
		return out, err
	}
	for _, e := range s.Elements() {
		x, y := f.Uniform(e.At.XY())
		out.X = out.X.Add(OnAxis(x, s.Axis.U).Scale(complex(e.Sign, 0)))
		out.Y = out.Y.Add(OnAxis(y, s.Axis.U).Scale(complex(e.Sign, 0)))
		out.Z += e.Sign * s.Axis.U.Z
	}
	return out, nil
}

// reads returns the magnitude of the reading of a field along the unit vector u.
func (f Foreign) reads(u geom.Point3) Estimate {
	sum := f.X.Scale(complex(u.X, 0)).Add(f.Y.Scale(complex(u.Y, 0))).Add(Phasor{V: complex(f.Z*u.Z, 0)})
	return sum.Abs()
}

// Any returns the largest reading of a field of one tesla over all directions;
// where the responses differ in phase, an upper bound of it.
func (f Foreign) Any() Estimate {
	v := math.Hypot(math.Hypot(cmplx.Abs(f.X.V), cmplx.Abs(f.Y.V)), f.Z)
	x, y := f.X.Abs(), f.Y.Abs()
	return Estimate{
		Value: v,
		Low:   math.Hypot(math.Hypot(x.Low, y.Low), f.Z),
		High:  math.Hypot(math.Hypot(x.High, y.High), f.Z),
	}
}

// bent returns the reading of s for a source at from whose field in empty space
// is b at the sensor, behind shields: the shields are taken to stand in the
// uniform field b. That leaves out how b changes over their size, so the bound
// is the reading times size over distance; nearer than three sizes it is no
// model at all.
func (m *Model) bent(f Foreign, b geom.Point3, from geom.Point, s *layout.Sensor, id string) (Estimate, error) {
	box := geom.EmptyBox()
	for i := range m.Layout.Shields {
		box = box.Join(m.Layout.Shields[i].Region().Box())
	}
	size, far := box.Size().Norm(), from.Sub(s.At.Point()).Norm()
	if !(far > 3*size) {
		return Estimate{}, &Unknown{fmt.Sprintf("%q stands nearer to the shields than three times their size, where their field is not known", id)}
	}
	n := b.Norm()
	if n == 0 {
		return Exact(0), nil
	}
	e := f.reads(b.Scale(1 / n)).Scale(n)
	slack := f.Any().High * n * size / far
	e.Low, e.High = math.Max(0, e.Low-slack), e.High+slack
	return e, nil
}
