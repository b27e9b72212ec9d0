package probe

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
)

// Linearity is how much the own output of a sensor per ampere changes between
// small signals and the peak of a duty, because iron saturates.
type Linearity struct {
	Change    bounded.Estimate // of the output per ampere, relative, without sign
	PeakA     float64          // own current, A
	SmallTPA  float64          // own reading per ampere at small signals, T/A
	AtPeakTPA float64          // the same at PeakA
}

// Linearity returns the change for s in duty d:
//
//	e = |b(I)/b(0) − 1|
//
// with b the reading of the own bar alone at steady current, per ampere, and I
// the largest value that its current reaches in d. From the second level on b(I)
// is that of the true state of iron; in space the change is taken on meshes that both
// share, so that their errors leave it. At the first it is only known as far as the
// permeability of iron is in d; twice that bound is taken, since other bars may
// carry flux away from the wall in d. Where a shield has a depth, its wall
// carries up to depthFactor times the plane's flux density, so the bounds hold
// the change at I and at that many times I. Without iron that can saturate the
// change is 0.
func (m *Model) Linearity(s *layout.Sensor, d *layout.Duty) (Linearity, error) {
	out := Linearity{PeakA: m.OwnPeakA(s, d)}
	small, err := m.planeOwn(s)
	if err != nil {
		return out, err
	}
	base := small.Abs()
	if !(base.Low > 0) {
		return out, &Unknown{fmt.Sprintf("its axis lies across the field of bar %q, of which it reads nothing", m.Layout.Bars[s.Reads].ID)}
	}
	out.SmallTPA, out.AtPeakTPA = base.Value, base.Value
	if !Saturable(m.Layout) || out.PeakA == 0 {
		return out, nil
	}
	n := m.For(d)
	if !n.exactIron() {
		at, err := n.planeOwn(s)
		if err != nil {
			return out, err
		}
		at.Bound *= 2
		out.AtPeakTPA, out.Change = cmplx.Abs(at.V), changeOf(small, at)
		return out, nil
	}
	at, err := n.stateOwn(s, out.PeakA)
	if err != nil {
		return out, err
	}
	out.AtPeakTPA, out.Change = cmplx.Abs(at.V), changeOf(small, at)
	if d, ok, err := n.ownChange(s, out.PeakA); err != nil {
		return out, err
	} else if ok {
		v := cmplx.Abs(d.V) / base.Value
		w := (d.Bound + v*small.Bound) / base.Low
		out.Change = bounded.Estimate{Value: v, Low: math.Max(0, v-w), High: v + w}
	}
	k := 1.0
	for i := range m.Layout.Shields {
		k = math.Max(k, m.depthFactor(layout.ShieldIndex(i)))
	}
	if k > 1 {
		more, err := n.stateOwn(s, k*out.PeakA)
		if err != nil {
			return out, err
		}
		c := changeOf(small, more)
		out.Change.Low, out.Change.High = math.Min(out.Change.Low, c.Low), math.Max(out.Change.High, c.High)
	}
	return out, nil
}

// changeOf returns |b/a − 1| with bounds of both.
func changeOf(a, b bounded.Phasor) bounded.Estimate {
	n := cmplx.Abs(a.V)
	v := cmplx.Abs(b.V-a.V) / n
	w := (a.Bound*(1+v) + b.Bound) / (n - a.Bound)
	return bounded.Estimate{Value: v, Low: math.Max(0, v-w), High: v + w}
}

// ownChange returns by how much what s reads of its own bar per ampere changes from
// small signals to currentA, where both stand on the same meshes in space.
func (m *Model) ownChange(s *layout.Sensor, currentA float64) (bounded.Phasor, bool, error) {
	if !m.inSpace() || m.draft {
		return bounded.Phasor{}, false, nil
	}
	alone := make([]float64, len(m.Layout.Bars))
	alone[s.Reads] = currentA
	n, err := m.state(alone)
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	f, err := m.spaceField()
	if err != nil {
		return bounded.Phasor{}, false, err
	}
	sign := 1.0
	if o, ok := n.(opposite); ok {
		n, sign = o.of, -1
		alone[s.Reads] = -currentA
	}
	solid, ok := n.(solidState)
	if !ok || f.iron == nil {
		return bounded.Phasor{}, false, nil
	}
	linear := f.iron
	if !solid.of.On(linear) {
		if linear, err = m.linearBeside(solid.of); err != nil {
			return bounded.Phasor{}, false, err
		}
	}
	var sum Vec
	for _, e := range s.Elements() {
		b, bound := solid.of.Change(e.At, linear, alone)
		v := steady(b)
		v.Bound = bound
		sum = sum.Add(v.Scale(complex(e.Sign, 0)))
	}
	return OnAxis(sum, s.Axis.U).Scale(complex(sign/currentA, 0)), true, nil
}

// linearBeside returns the linear field on the meshes of states whose sources break the
// symmetry of the iron, computed once.
func (m *Model) linearBeside(state *iron.State) (*iron.Linear, error) {
	c := m.cache
	c.spaceMu.Lock()
	defer c.spaceMu.Unlock()
	if c.beside == nil || !state.On(c.beside) {
		l, err := state.LinearOf(c.basis)
		if err != nil {
			return nil, unknownInSpace(err)
		}
		c.beside = l
	}
	return c.beside, nil
}

// stateOwn returns what s reads of its own bar alone per ampere, in the plane
// section, with iron in the state that currentA in that bar bring it to.
func (m *Model) stateOwn(s *layout.Sensor, currentA float64) (bounded.Phasor, error) {
	alone := make([]float64, len(m.Layout.Bars))
	alone[s.Reads] = currentA
	r, err := m.stateReading(s, alone)
	if err != nil {
		return bounded.Phasor{}, err
	}
	return r.Axis.Scale(complex(1/currentA, 0)), nil
}

// planeOwn returns what s reads of its own bar per ampere at steady current in
// the plane section, without what the end of a shield takes from it: that is
// common to all currents.
func (m *Model) planeOwn(s *layout.Sensor) (bounded.Phasor, error) {
	f, err := m.Field(0)
	if err != nil {
		return bounded.Phasor{}, err
	}
	at := func(e layout.Element) Vec { return f.sectionAt(e.At.XY(), s.Reads) }
	if f.space != nil {
		at = func(e layout.Element) Vec { return f.At(e.At, s.Reads) }
	}
	var sum bounded.Phasor
	for _, e := range s.Elements() {
		sum = sum.Add(OnAxis(at(e), s.Axis.U).Scale(complex(e.Sign, 0)))
	}
	return sum, nil
}
