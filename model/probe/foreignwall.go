package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// ForeignWall is what sources other than the bars bring to the wall of a shield.
type ForeignWall struct {
	WallT bounded.Estimate // all of them in their worst direction and phase
	Most  string           // the one that brings most
	Told  bool             // the layout declares one of them: not the Earth's field alone

	Everywhere bool // the one that brings most is a field that is the same everywhere
}

// littleWall is the share of a wall, or of what it may hold, up to which foreign flux is not worth a field of its own.
const littleWall = 0.01

// ForeignWall returns what the Earth, a declared uniform field, an immunity level, wires and magnets bring to the
// wall of shield i while what fills the walls beside them brings wallT to it, and to any shield what others says:
// each in its worst direction and phase, their largest places along the wall taken as one. Iron counts with the
// steepest slope of its curve up to a state that holds the one that it is in (see filledWalls), so that it draws no
// more; where little is asked of it, at rest with the steepest of all. In the plane section a magnet counts as a
// uniform field that is everywhere as strong as it is at the nearest corner of the shields: that of its own shape
// falls off, along z too.
func (m *Model) ForeignWall(i layout.ShieldIndex, others wallsOf, wallT bounded.Estimate,
	atT float64) (ForeignWall, error) {
	rest, err := m.foreignWall(i, atRest, false)
	if err != nil || !field.Saturable(m.Layout) {
		return rest, err
	}
	k, err := m.SteepestIron()
	if err != nil {
		return rest, err
	}
	if top := k * rest.WallT.High; top <= littleWall*math.Max(wallT.High, atT) {
		rest.WallT.High = top
		return rest, nil
	}
	walls, err := m.filledWalls(others)
	if err != nil {
		return rest, err
	}
	filled := func(n *field.Model, hz float64) (*field.Field, error) { return n.Differential(hz, walls) }
	return m.foreignWall(i, filled, true)
}

// state gives the field at a frequency with iron in some state.
type state func(m *field.Model, freqHz float64) (*field.Field, error)

// atRest is the state of small signals.
func atRest(m *field.Model, freqHz float64) (*field.Field, error) { return m.Field(freqHz) }

// foreignWall sums the sources, with the fields that state gives of m and of the layout with its wires as bars; fine
// where uniform fields of any direction are to be known well.
func (m *Model) foreignWall(i layout.ShieldIndex, state state, fine bool) (ForeignWall, error) {
	out := ForeignWall{WallT: bounded.Exact(0)}
	largest := -1.0
	add := func(name string, told, everywhere bool, e bounded.Estimate) {
		e.High *= m.DepthFactor(i)
		low := math.Max(out.WallT.Low, e.Low) // in its worst direction none takes from another
		out.WallT = out.WallT.Plus(e)
		out.WallT.Low = low
		out.Told = out.Told || told
		if e.Value > largest {
			out.Most, out.Everywhere, largest = name, everywhere, e.Value
		}
	}
	still := m.Small()
	steady, err := state(still, 0)
	if err != nil {
		return out, err
	}
	uniform, err := anyUniformWall(steady, i, fine)
	if err != nil {
		return out, err
	}
	around := &m.Layout.Surroundings
	earth := EarthT
	if u := around.Uniform; u.FluxDensityT.Set {
		e := uniform.Scale(u.FluxDensityT.V)
		if u.DirectionRad.Set {
			sin, cos := portable.Sincos(u.DirectionRad.V)
			if e, err = steady.UniformWall(i, complex(float64(cos*u.FluxDensityT.V), 0), complex(float64(sin*u.FluxDensityT.V), 0)); err != nil {
				return out, err
			}
		} else if u.FluxDensityT.V >= EarthT {
			earth = 0 // a field of any direction contains the Earth's
		}
		add("the declared uniform field", true, true, e)
	}
	if earth > 0 {
		add("the Earth", false, true, uniform.Scale(earth))
	}
	if v := around.Immunity; v.RMSAPerM.Set || v.PeakAPerM.Set {
		h := v.PeakAPerM.V
		if v.RMSAPerM.Set {
			h = v.RMSAPerM.V * math.Sqrt2
		}
		f, err := state(still, v.FreqHz.V)
		if err != nil {
			return out, err
		}
		e, err := anyUniformWall(f, i, fine)
		if err != nil {
			return out, err
		}
		add("the immunity level", true, true, e.Scale(si.Mu0HPerM*h))
	}
	for k := range around.Wires {
		w := &around.Wires[k]
		e, err := m.wireWall(i, k, uniform, state)
		if err != nil {
			return out, err
		}
		add(fmt.Sprintf("wire %q", w.ID), true, false, e.Scale(w.Amount.PeakValueA()))
	}
	for k := range around.Magnets {
		g := &around.Magnets[k]
		e, err := m.magnetWall(i, g, uniform)
		if err != nil {
			return out, err
		}
		add(fmt.Sprintf("magnet %q", g.ID), true, false, e)
	}
	return out, nil
}

// directions is how many directions of a uniform field, over half a turn, are taken where its worst one is to be
// known well: any other lies within a twenty-fourth of a turn of one, whose response times 1/cos 15° bounds it.
const directions = 6

// anyUniformWall returns what a uniform field of one tesla in its worst direction in the section brings to the wall:
// that of directions where fine, else at most the root of the sum of squares of what it brings along x and along y.
func anyUniformWall(f *field.Field, i layout.ShieldIndex, fine bool) (bounded.Estimate, error) {
	n := 2
	if fine {
		n = directions
	}
	var top, square bounded.Estimate
	for k := range n {
		sin, cos := portable.Sincos(math.Pi * float64(k) / float64(n))
		e, err := f.UniformWall(i, complex(cos, 0), complex(sin, 0))
		if err != nil {
			return e, err
		}
		top = bounded.Most(top, e)
		square.High = portable.Hypot(square.High, e.High)
	}
	if !fine {
		top.High = square.High
		return top, nil
	}
	top.High /= portable.Cos(math.Pi / (2 * directions))
	return top, nil
}

// wireWall returns what wire k brings to the wall per ampere: steady, and more where its frequency lets a uniform field
// bring more. uniform is the response to a uniform field in the state asked for.
func (m *Model) wireWall(i layout.ShieldIndex, k int, uniform bounded.Estimate, state state) (bounded.Estimate, error) {
	w := &m.Layout.Surroundings.Wires[k]
	var e bounded.Estimate
	if m.inSpace() {
		var err error
		if e, err = m.WireWall(i, w); err != nil {
			return e, err
		}
		if e, err = m.grown(e, i, uniform); err != nil {
			return e, err
		}
	} else {
		with, first := m.WithWires()
		f, err := state(with.Small(), 0)
		if err != nil {
			return e, err
		}
		if e, err = f.BarWall(i, first+layout.BarIndex(k)); err != nil {
			return e, err
		}
	}
	if w.FreqHz.V > 0 {
		e.Low = 0 // eddy currents may keep any part of it out
		f, err := state(m.Small(), w.FreqHz.V)
		if err != nil {
			return e, err
		}
		at, err := anyUniformWall(f, i, false)
		if err != nil {
			return e, err
		}
		e.High *= math.Max(1, at.High/uniform.Value)
	}
	return e, nil
}

// magnetWall returns what a magnet brings to the wall.
func (m *Model) magnetWall(i layout.ShieldIndex, g *layout.Magnet, uniform bounded.Estimate) (bounded.Estimate, error) {
	if m.inSpace() {
		e, err := m.MagnetWall(i, g)
		if err != nil {
			return e, err
		}
		return m.grown(e, i, uniform)
	}
	centre := m.Layout.Shields[i].Region().Box().Centre()
	at := field.MagnetB(g, geom.Point3{X: centre.X, Y: centre.Y, Z: g.At.Z.V}).Norm()
	most := at
	for k := range m.Layout.Shields {
		r := m.Layout.Shields[k].Region()
		for _, q := range r.Outer {
			most = math.Max(most, field.MagnetB(g, geom.Point3{X: q.X, Y: q.Y, Z: g.At.Z.V}).Norm())
		}
	}
	return bounded.Estimate{Value: uniform.Value * at, High: uniform.High * most}, nil
}

// grown widens what a source brings to the wall with iron at rest by what more of a uniform field iron draws in the
// state in which it draws uniform.
func (m *Model) grown(e bounded.Estimate, i layout.ShieldIndex, uniform bounded.Estimate) (bounded.Estimate, error) {
	f, err := m.Small().Field(0)
	if err != nil {
		return e, err
	}
	still, err := anyUniformWall(f, i, false)
	if err != nil {
		return e, err
	}
	e.High *= math.Max(1, uniform.High/still.Value)
	return e, nil
}

// wallsOf says the most that something beside foreign sources brings to the wall of a shield, T.
type wallsOf func(layout.ShieldIndex) (float64, error)

// dutyWalls are those of the currents of duty d; nil: none.
func (m *Model) dutyWalls(d *layout.Duty) wallsOf {
	return func(k layout.ShieldIndex) (float64, error) {
		if d == nil {
			return 0, nil
		}
		atT := 0.0
		if sat, ok := SaturationT(&m.Layout.Materials[m.Layout.Shields[k].Material]); ok {
			atT = calmShare * sat
		}
		wall, err := m.wallUpTo(k, d, atT)
		return wall.High, err
	}
}

// filledWalls returns the most that the wall of each shield with a curve carries of others and of declared foreign
// sources together. The latter bring to it at most as many times what they bring at rest as its steepest slope is that
// at the origin: what a wall draws grows no faster than its permeability.
func (m *Model) filledWalls(others wallsOf) ([]float64, error) {
	wallT := make([]float64, len(m.Layout.Shields))
	steepest, err := m.SteepestIron()
	if err != nil {
		return nil, err
	}
	for i := range wallT {
		k := layout.ShieldIndex(i)
		if !m.HasCurve(k) {
			continue
		}
		if wallT[i], err = others(k); err != nil {
			return nil, err
		}
		if !m.hasForeign() {
			continue
		}
		rest, err := m.foreignWall(k, atRest, false)
		if err != nil {
			return nil, err
		}
		wallT[i] += float64(steepest * rest.WallT.High)
	}
	return wallT, nil
}

// hasForeign reports whether the layout declares a source beside its bars.
func (m *Model) hasForeign() bool {
	a := &m.Layout.Surroundings
	return a.Uniform.FluxDensityT.Set || a.Immunity.RMSAPerM.Set || a.Immunity.PeakAPerM.Set ||
		len(a.Wires) > 0 || len(a.Magnets) > 0
}
