package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// LetIn is what tolerances let in of the currents of others, in amperes of a channel beyond its stray as drawn: the worst
// place of the sensor, and for each tolerance of a bar, a shield or a material the end that lets in more, all together.
type LetIn struct {
	SteadyA, AlternatingA float64 // of direct current; peak of all that alternates at any phase
}

// SumA is both together.
func (l LetIn) SumA() float64 { return l.SteadyA + l.AlternatingA }

// StrayLetIn returns LetIn of s in duty d.
func (m *Model) StrayLetIn(s *layout.Sensor, d *layout.Duty) (LetIn, error) {
	return m.letIn(s, d, func(n *Model, s *layout.Sensor, c *waveform.Component) (bounded.Phasor, error) {
		r, err := n.Read(s, c)
		return r.Stray, err
	})
}

// letIn is LetIn of what read gives of a component, in tesla.
func (m *Model) letIn(s *layout.Sensor, d *layout.Duty,
	read func(n *Model, s *layout.Sensor, c *waveform.Component) (bounded.Phasor, error)) (LetIn, error) {
	var out LetIn
	perA, err := m.For(d).scaleOf(s)
	if err != nil {
		return out, err
	}
	cur := m.Currents(d)
	parts := cur.Components
	all := func(n *Model, s *layout.Sensor) ([]complex128, error) {
		got := make([]complex128, len(parts))
		for i := range parts {
			p, err := read(n, s, &parts[i])
			if err != nil {
				return nil, err
			}
			got[i] = p.V
		}
		return got, nil
	}
	change := func(a, b []complex128) (l LetIn) {
		for i := range parts {
			by := portable.Abs(a[i]-b[i]) * factorOf(cur, &parts[i]) / perA.Low
			if parts[i].FreqHz == 0 {
				l.SteadyA += by
			} else {
				l.AlternatingA += by
			}
		}
		return l
	}
	larger := func(a, b LetIn) LetIn {
		return LetIn{math.Max(a.SteadyA, b.SteadyA), math.Max(a.AlternatingA, b.AlternatingA)}
	}
	drawn, err := all(m.For(d), s)
	if err != nil {
		return out, err
	}
	rough := m.For(d).Rough()
	for _, at := range m.WithinTolerance(s)[1:] {
		moved, err := all(rough, &at)
		if err != nil {
			return out, err
		}
		out = larger(out, change(moved, drawn))
	}
	list, err := m.Displacements()
	if err != nil {
		return out, err
	}
	var top LetIn
	for i, k := range list {
		still, err := all(k.Drawn.For(d), s)
		if err != nil {
			return out, err
		}
		moved, err := all(k.Model.For(d), s)
		if err != nil {
			return out, err
		}
		top = larger(top, change(moved, still))
		if i+1 == len(list) || list[i+1].Name != k.Name {
			out = LetIn{out.SteadyA + top.SteadyA, out.AlternatingA + top.AlternatingA}
			top = LetIn{}
		}
	}
	return out, nil
}
