package probe

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// EarthT is the flux density of the Earth's field that is always counted, in
// tesla: the largest at its surface, where it runs from about 25 to 65 µT.
//
// Source: C. C. Finlay et al., International Geomagnetic Reference Field: the
// eleventh generation, Geophysical Journal International 183 (2010) 1216 (range at the
// surface; from memory).
const EarthT = 65e-6

// Outside is one foreign source at a sensor: the largest that its field may put
// on the axis, in tesla and in amperes of the channel as drawn, over the places of the sensor's tolerances.
type Outside struct {
	Name    string
	AxisT   float64
	Amperes bounded.Estimate
	DrawnA  bounded.Estimate // Amperes with everything as drawn
}

// Ambient returns every foreign source at sensor s and the sum of their
// amperes, which is the worst case of their signs and phases, with iron in the state in which the sum is largest: at
// rest, or as a continuous or peak duty fills it. Shields bend a uniform field; see Foreign.
func (m *Model) Ambient(s *layout.Sensor) ([]Outside, bounded.Estimate, error) {
	list, worst, err := m.AmbientIn(s, nil)
	if err != nil || !field.Saturable(m.Layout) {
		return list, worst, err
	}
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		l, total, err := m.AmbientIn(s, d)
		if err != nil {
			return nil, bounded.Estimate{}, err
		}
		if !(total.High <= worst.High) && !math.IsNaN(worst.High) {
			list, worst = l, total
		}
	}
	return list, worst, nil
}

// AmbientIn is Ambient with iron in the state of duty d; nil: at rest.
func (m *Model) AmbientIn(s *layout.Sensor, d *layout.Duty) ([]Outside, bounded.Estimate, error) {
	at := m
	if d != nil {
		at = m.For(d)
	}
	perA, err := at.scaleOf(s)
	if err != nil {
		return nil, bounded.Estimate{}, err
	}
	drawn, worst, err := m.worstSources(s, d)
	if err != nil {
		return nil, bounded.Estimate{}, err
	}
	var list []Outside
	total := bounded.Exact(0)
	for i, f := range worst {
		list = append(list, Outside{Name: f.name, AxisT: f.axisT.Value, Amperes: f.axisT.Over(perA),
			DrawnA: drawn[i].axisT.Over(perA)})
		total = total.Plus(list[len(list)-1].Amperes)
	}
	return list, total, nil
}

// worstSources returns sources for s as drawn, and with each the most that it is anywhere within the placement
// tolerances of s, and with what the tolerances of shields, bars and materials let in on top.
func (m *Model) worstSources(s *layout.Sensor, d *layout.Duty) (drawn, worst []source, err error) {
	for p, at := range m.WithinTolerance(s) {
		list, err := m.sources(&at, d)
		if err != nil {
			return nil, nil, err
		}
		if p == 0 {
			drawn, worst = list, slices.Clone(list)
			continue
		}
		for i := range list {
			worst[i].axisT = bounded.Most(worst[i].axisT, list[i].axisT)
		}
	}
	return drawn, worst, m.addTolerances(s, d, worst)
}

// ForeignT returns the most that all foreign sources together put on the axis of s, in tesla: its reading, and
// that of each of its elements without its weight; iron at rest, shields, bars and materials as drawn: see foreignMoreT.
func (m *Model) ForeignT(s *layout.Sensor) (reading bounded.Estimate, elements []bounded.Estimate, err error) {
	sum := func(s *layout.Sensor) (bounded.Estimate, error) {
		total := bounded.Exact(0)
		sources, err := m.sources(s, nil)
		for _, f := range sources {
			total = total.Plus(f.axisT)
		}
		return total, err
	}
	return ofElements(s, sum)
}

// foreignMoreT returns how much more than ForeignT foreign sources put on the axis of s, and of each of its elements:
// while duty d, nil: none, fills iron, and with shields, bars and materials at the worse ends of their tolerances.
func (m *Model) foreignMoreT(s *layout.Sensor, d *layout.Duty) (reading bounded.Estimate, elements []bounded.Estimate,
	err error) {
	return ofElements(s, func(s *layout.Sensor) (bounded.Estimate, error) {
		rest, err := m.sources(s, nil)
		if err != nil {
			return bounded.Estimate{}, err
		}
		worst := slices.Clone(rest)
		if d != nil && field.Saturable(m.Layout) {
			if worst, err = m.sources(s, d); err != nil {
				return bounded.Estimate{}, err
			}
		}
		if err := m.addTolerances(s, d, worst); err != nil {
			return bounded.Estimate{}, err
		}
		more := bounded.Exact(0)
		for i := range worst {
			w, r := worst[i].axisT, rest[i].axisT
			more = more.Plus(bounded.Estimate{Value: math.Max(0, w.Value-r.Value), Low: math.Max(0, w.Low-r.Low),
				High: math.Max(0, w.High-r.High)})
		}
		return more, nil
	})
}

// ofElements returns what measure gives for s, and for each of its elements as a sensor of its own.
func ofElements(s *layout.Sensor, measure func(*layout.Sensor) (bounded.Estimate, error)) (
	all bounded.Estimate, elements []bounded.Estimate, err error) {
	if all, err = measure(s); err != nil {
		return all, nil, err
	}
	if s.Pair == nil && len(s.Array) == 0 {
		return all, []bounded.Estimate{all}, nil
	}
	for _, e := range s.Elements() {
		one := *s
		one.Pair, one.Array, one.Axis.U = nil, nil, e.U
		one.At.X.V, one.At.Y.V, one.At.Z.V = e.At.X, e.At.Y, e.At.Z
		v, err := measure(&one)
		if err != nil {
			return all, nil, err
		}
		elements = append(elements, v)
	}
	return all, elements, nil
}

// source is a foreign source and the most that it puts on the axis of a sensor.
type source struct {
	name  string
	axisT bounded.Estimate
}

// sources returns every foreign source at s, with iron in the state of duty d; nil: at rest.
func (m *Model) sources(s *layout.Sensor, d *layout.Duty) ([]source, error) {
	steady, err := m.ForeignIn(s, d, 0)
	if err != nil {
		return nil, err
	}
	around := &m.Layout.Surroundings
	var list []source
	add := func(name string, axis bounded.Estimate) {
		list = append(list, source{name, axis})
	}
	earth := EarthT
	if d := around.Uniform; d.FluxDensityT.Set {
		switch {
		case d.DirectionRad.Set:
			sin, cos := portable.Sincos(d.DirectionRad.V)
			add("declared uniform field", steady.reads(geom.Point3{X: cos, Y: sin}).Scale(d.FluxDensityT.V))
		case d.FluxDensityT.V >= EarthT:
			// A declared field of any direction contains the Earth's.
			earth = 0
			add("declared uniform field", steady.Any().Scale(d.FluxDensityT.V))
		}
	}
	if earth > 0 {
		add("Earth", steady.Any().Scale(earth))
	}
	if i := around.Immunity; i.RMSAPerM.Set || i.PeakAPerM.Set {
		h := i.PeakAPerM.V
		if i.RMSAPerM.Set {
			h = i.RMSAPerM.V * math.Sqrt2
		}
		alternating, err := m.ForeignIn(s, d, i.FreqHz.V)
		if err != nil {
			return nil, err
		}
		add("immunity level", alternating.Any().Scale(si.Mu0HPerM*h))
	}
	wires, err := m.wireSources(s, d)
	if err != nil {
		return nil, err
	}
	list = append(list, wires...)
	for i := range around.Magnets {
		g := &around.Magnets[i]
		name := fmt.Sprintf("magnet %q", g.ID)
		e, err := m.magnetOnAxis(s, d, g, steady)
		if err == nil {
			err = knownAt(e, name)
		}
		if err != nil {
			return nil, err
		}
		add(name, e)
	}
	return list, nil
}

// letThrough widens the reading e of a source near shields, with iron at rest, by what more of a uniform field
// they let through while the currents of duty d fill them.
func (m *Model) letThrough(e bounded.Estimate, s *layout.Sensor, d *layout.Duty,
	freqHz float64) (bounded.Estimate, error) {
	if d == nil || !field.Saturable(m.Layout) {
		return e, nil
	}
	still, err := m.Foreign(s, freqHz)
	if err != nil {
		return e, err
	}
	filled, err := m.ForeignIn(s, d, freqHz)
	if err != nil {
		return e, err
	}
	e.High *= math.Max(1, filled.Any().High/still.Any().Value)
	return e, nil
}

// magnetOnAxis returns the magnitude of the reading of s, in tesla, in the field
// of a magnet.
func (m *Model) magnetOnAxis(s *layout.Sensor, d *layout.Duty, g *layout.Magnet,
	steady Foreign) (bounded.Estimate, error) {
	if m.inSpace() && len(m.Layout.Shields) > 0 {
		e, err := readsOf(s, 1, func(q geom.Point3) (field.Vec, error) { return m.MagnetAt(q, g) })
		if err != nil {
			return e, err
		}
		return m.letThrough(e, s, d, 0)
	}
	if len(m.Layout.Shields) > 0 {
		b := field.MagnetB(g, s.At.Point3())
		return m.bent(steady, b, g.At.Point(), s, g.ID)
	}
	sum := 0.0
	for _, e := range s.Elements() {
		b := field.MagnetB(g, e.At)
		sum += float64(e.Weight * b.Dot(e.U))
	}
	return bounded.Exact(math.Abs(sum)), nil
}
