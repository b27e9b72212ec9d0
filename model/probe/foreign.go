package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// Foreign is what a sensor reads per tesla of a uniform field along x, y and z.
type Foreign struct {
	X, Y, Z bounded.Phasor
}

// Foreign returns the response of s to a uniform field at freqHz: 1 along its
// axis without shields, nothing for a pair without shields, and what the plane
// field says with them (a shielding factor). Eddy currents of bars count: in
// thin bars as a bound, else by the plane field.
func (m *Model) Foreign(s *layout.Sensor, freqHz float64) (Foreign, error) {
	return m.ForeignIn(s, nil, freqHz)
}

// ForeignIn is Foreign while the currents of duty d fill the iron: shields let through more where their walls
// approach saturation. Nil: no current flows.
func (m *Model) ForeignIn(s *layout.Sensor, d *layout.Duty, freqHz float64) (Foreign, error) {
	var out Foreign
	f, err := m.disturbed(d, freqHz)
	if err != nil {
		return out, err
	}
	for _, e := range s.Elements() {
		along := f.Uniform(e.At)
		for k, sum := range []*bounded.Phasor{&out.X, &out.Y, &out.Z} {
			*sum = sum.Add(field.OnAxis(along[k], e.U).Scale(complex(e.Weight, 0)))
		}
	}
	return out, nil
}

// disturbed returns the field at freqHz of a small disturbance beside the currents of duty d and what foreign
// sources bring to the walls.
func (m *Model) disturbed(d *layout.Duty, freqHz float64) (*field.Field, error) {
	if d == nil && !m.hasForeign() || m.OfSmallSignals() || !field.Saturable(m.Layout) {
		return m.Field(freqHz)
	}
	wallT, err := m.filledWalls(m.dutyWalls(d))
	if err != nil {
		return nil, err
	}
	return m.Differential(freqHz, wallT)
}

// calmShare is the share of the saturation below which the flux density of a wall need not be known well.
const calmShare = 0.5

// reads returns the magnitude of the reading of a field along the unit vector u.
func (f Foreign) reads(u geom.Point3) bounded.Estimate {
	sum := f.X.Scale(complex(u.X, 0)).Add(f.Y.Scale(complex(u.Y, 0))).Add(f.Z.Scale(complex(u.Z, 0)))
	return sum.Abs()
}

// Any returns the largest reading of a field of one tesla over all directions;
// where the responses differ in phase, an upper bound of it.
func (f Foreign) Any() bounded.Estimate {
	x, y, z := f.X.Abs(), f.Y.Abs(), f.Z.Abs()
	return bounded.Estimate{
		Value: portable.Hypot(portable.Hypot(x.Value, y.Value), z.Value),
		Low:   portable.Hypot(portable.Hypot(x.Low, y.Low), z.Low),
		High:  portable.Hypot(portable.Hypot(x.High, y.High), z.High),
	}
}

// bent returns the reading of s for a source at from whose field in empty space
// is b at the sensor, behind shields: the shields are taken to stand in the
// uniform field b. That leaves out how b changes over their size, so the bound
// is the reading times size over distance; nearer than three sizes it is no
// model at all.
func (m *Model) bent(f Foreign, b geom.Point3, from geom.Point, s *layout.Sensor, id string) (bounded.Estimate, error) {
	box := geom.EmptyBox()
	for i := range m.Layout.Shields {
		box = box.Join(m.Layout.Shields[i].Region().Box())
	}
	size, far := box.Size().Norm(), from.Sub(s.At.Point()).Norm()
	if !(far > 3*size) {
		return bounded.Estimate{}, &field.Unknown{Reason: fmt.Sprintf("%q stands nearer to the shields than three times their size, where their field is not known", id)}
	}
	n := b.Norm()
	if n == 0 {
		return bounded.Exact(0), nil
	}
	e := f.reads(b.Scale(1 / n)).Scale(n)
	slack := f.Any().High * n * size / far
	e.Low, e.High = math.Max(0, e.Low-slack), e.High+slack
	return e, nil
}

// readsOf returns the magnitude of the reading of s in amount units of a source whose
// field per unit is known at a point.
func readsOf(s *layout.Sensor, amount float64, at func(geom.Point3) (field.Vec, error)) (bounded.Estimate, error) {
	var sum bounded.Phasor
	for _, e := range s.Elements() {
		v, err := at(e.At)
		if err != nil {
			return bounded.Estimate{}, err
		}
		sum = sum.Add(field.OnAxis(v, e.U).Scale(complex(float64(e.Weight*amount), 0)))
	}
	return sum.Abs(), nil
}
