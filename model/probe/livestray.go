package probe

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// LiveStray is what a sensor reads of other circuits while the current that it reads is none, in amperes of that
// current, with what tolerances let in.
type LiveStray struct {
	SteadyA      bounded.Estimate // largest direct part
	AlternatingA bounded.Estimate // largest peak of what alternates, groups and components at any phase
	Duty         *layout.Duty     // in which the sum of both is largest; nil: none is live
	Largest      layout.CircuitIndex
}

// LiveStray returns the stray of the circuits that may carry their current of a continuous or peak duty while the
// current that s reads is none: all others but those that carry it on, which are none with it. Those are the
// other two of a balanced set, and a circuit whose current is the negative of the own one in every duty.
func (m *Model) LiveStray(s *layout.Sensor) (LiveStray, error) {
	out := LiveStray{Largest: layout.None}
	top := 0.0
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		one, err := m.liveIn(s, d)
		if err != nil {
			return out, err
		}
		out.SteadyA, out.AlternatingA = bounded.Most(out.SteadyA, one.SteadyA),
			bounded.Most(out.AlternatingA, one.AlternatingA)
		if sum := one.SteadyA.High + one.AlternatingA.High; math.IsNaN(sum) || out.Duty == nil && sum > top ||
			out.Duty != nil && bounded.Leads(sum, d.ID, top, out.Duty.ID) {
			out.Duty, out.Largest, top = d, one.Largest, sum
		}
	}
	return out, nil
}

func (m *Model) liveIn(s *layout.Sensor, d *layout.Duty) (LiveStray, error) {
	tied := m.tied(s, d)
	live := func(c *waveform.Component, k int) bool {
		return c.PeakA[k] != 0 && !tied.inAll[k] && !(c.FreqHz == 0 && tied.direct[k]) && !(c.Ripple() && tied.ripple[k]) &&
			!tied.moving[[2]int{c.Group, k}]
	}
	out := LiveStray{Largest: layout.None}
	at := m.For(d)
	perA, err := at.scaleOf(s)
	if err != nil {
		return out, err
	}
	read := func(n *Model, s *layout.Sensor, c *waveform.Component) (sum bounded.Phasor, err error) {
		f, err := n.FieldOf(c)
		if err != nil {
			return sum, err
		}
		for k, a := range c.PeakA {
			if live(c, k) {
				sum = sum.Add(f.Beside(s, layout.CircuitIndex(k)).Axis.Scale(a))
			}
		}
		return sum, nil
	}
	largest := 0.0
	for _, c := range m.Currents(d).Components {
		sum, err := read(at, s, &c)
		if err != nil {
			return out, err
		}
		f, err := at.FieldOf(&c)
		if err != nil {
			return out, err
		}
		for k, a := range c.PeakA {
			if !live(&c, k) {
				continue
			}
			v := portable.Abs(a) * f.Beside(s, layout.CircuitIndex(k)).Axis.Abs().Value
			if m.leads(v, layout.CircuitIndex(k), largest, out.Largest) {
				largest, out.Largest = v, layout.CircuitIndex(k)
			}
		}
		if sum == (bounded.Phasor{}) {
			continue
		}
		if part := sum.Abs().Over(perA); c.FreqHz == 0 {
			out.SteadyA = out.SteadyA.Plus(part)
		} else {
			out.AlternatingA = out.AlternatingA.Plus(part)
		}
	}
	let, err := m.letIn(s, d, read)
	out.SteadyA, out.AlternatingA = out.SteadyA.Plus(bounded.Exact(let.SteadyA)),
		out.AlternatingA.Plus(bounded.Exact(let.AlternatingA))
	return out, err
}

// tied says of each circuit what it does not carry in a duty while a sensor reads nothing.
type tied struct {
	inAll  []bool          // nothing at all
	direct []bool          // no direct current
	moving map[[2]int]bool // nothing that alternates, by group and circuit
	ripple []bool          // no ripple
}

// tied returns the own circuit and those that carry its current on: all returns, and the other two of a balanced set. The
// direct currents of a set are none with it only where their sum is: else each flows by itself.
func (m *Model) tied(s *layout.Sensor, d *layout.Duty) tied {
	l := m.Layout
	n := len(l.Circuits)
	out := tied{make([]bool, n), make([]bool, n), map[[2]int]bool{}, make([]bool, n)}
	for k := range out.inAll {
		out.inAll[k] = layout.CircuitIndex(k) == s.Circuit || returns(l, s.Circuit, layout.CircuitIndex(k))
	}
	parts := waveform.Of(l, d).Components
	tie := func(group int, others []layout.CircuitIndex) {
		for _, k := range others {
			out.moving[[2]int{group, int(k)}], out.ripple[k] = true, true
			out.direct[k] = out.direct[k] || cancel(parts, append(others, s.Circuit))
		}
	}
	for _, c := range parts {
		if !c.Fundamental() || c.PeakA[s.Circuit] == 0 {
			continue
		}
		tie(c.Group, thirds(c.PeakA, s.Circuit))
		group := -1
		for _, set := range append([]layout.Set{d.Set}, d.With...) { // where others stand beside them, as the file says
			if alternates(&set) {
				group++
			}
			if t := set.ThreePhase; t != nil && group == c.Group && set.FreqHz.V == c.FreqHz && slices.Contains(t.Circuits[:], s.Circuit) {
				tie(c.Group, slices.DeleteFunc(slices.Clone(t.Circuits[:]), func(k layout.CircuitIndex) bool {
					return k == layout.None || k == s.Circuit
				}))
			}
		}
	}
	return out
}

// alternates reports whether a set makes a group of components.
func alternates(set *layout.Set) bool {
	return set.FreqHz.V > 0 && (set.ThreePhase != nil ||
		slices.ContainsFunc(set.Currents, func(c layout.Current) bool { return c.Alternates() || c.Points != nil }))
}

// cancel reports whether the direct currents of circuits, of which the last carries one, add to none.
func cancel(parts []waveform.Component, circuits []layout.CircuitIndex) bool {
	for i := range parts {
		if parts[i].FreqHz > 0 {
			continue
		}
		sum, size := complex128(0), 0.0
		for _, k := range circuits {
			sum, size = sum+parts[i].PeakA[k], size+portable.Abs(parts[i].PeakA[k])
		}
		own := portable.Abs(parts[i].PeakA[circuits[len(circuits)-1]]) // the last, without which the others flow by themselves
		if portable.Abs(sum) > noCurrent*size || own <= noCurrent*size && size > 0 {
			return false
		}
	}
	return true
}

// thirds returns the two circuits whose phasors with that of circuit a make a balanced set, a third of a turn before and
// behind it: a three-phase set that is spelled as currents. None where a carries nothing, or where another circuit
// stands where one of them does.
func thirds(peakA []complex128, a layout.CircuitIndex) []layout.CircuitIndex {
	var out []layout.CircuitIndex
	for _, turn := range []float64{-1, 1} {
		want := portable.Times(peakA[a], portable.Rect(1, turn*2*math.Pi/3))
		for k, p := range peakA {
			if p != 0 && portable.Abs(p-want) <= noCurrent*portable.Abs(want) {
				out = append(out, layout.CircuitIndex(k))
			}
		}
	}
	if len(out) != 2 || portable.Abs(peakA[out[0]]+peakA[out[1]]+peakA[a]) > noCurrent*portable.Abs(peakA[a]) {
		return nil
	}
	return out
}

// returns reports whether circuit b carries the negative of circuit a in every component of every duty, and
// something in one.
func returns(l *layout.Layout, a, b layout.CircuitIndex) bool {
	some := false
	for i := range l.Duties {
		for _, c := range waveform.Of(l, &l.Duties[i]).Components {
			if portable.Abs(c.PeakA[a]+c.PeakA[b]) > noCurrent*portable.Abs(c.PeakA[a]) {
				return false
			}
			some = some || c.PeakA[a] != 0
		}
	}
	return some
}
