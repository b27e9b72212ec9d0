package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Reading is what a sensor, or one of its elements, gets: the flux density of
// the element (for a pair the difference) and its component on the axis.
type Reading struct {
	B    Vec
	Axis bounded.Phasor
}

// OnAxis returns the component of v along the unit vector u. A field in the plane
// has no z component, so an axis that leans out of the plane reads less.
func OnAxis(v Vec, u geom.Point3) bounded.Phasor {
	n := 1.0
	if v.Z == 0 {
		n = math.Hypot(u.X, u.Y)
	}
	return bounded.Phasor{
		V:     v.X*complex(u.X, 0) + v.Y*complex(u.Y, 0) + v.Z*complex(u.Z, 0),
		Bound: v.Bound * n, Quad: v.Quad * n,
	}
}

// PerAmpere returns what sensor s reads per ampere of bar b, in T/A.
func (f *Field) PerAmpere(s *layout.Sensor, b layout.BarIndex) Reading {
	if f.space != nil {
		var sum Vec
		for _, e := range s.Elements() {
			sum = sum.Add(f.At(e.At, b).Scale(complex(e.Sign, 0)))
		}
		return Reading{B: sum, Axis: OnAxis(sum, s.Axis.U)}
	}
	return f.finiteEnds(s, s.Elements(), b, finiteDepth(f.layout, s, b, f.section(s, b)))
}

// ElementPerAmpere returns the component on the axis of s of each element's
// field per ampere of bar b, in T/A, without the sign of the element.
func (f *Field) ElementPerAmpere(s *layout.Sensor, b layout.BarIndex) []bounded.Phasor {
	var out []bounded.Phasor
	for _, e := range s.Elements() {
		if f.space != nil {
			out = append(out, OnAxis(f.At(e.At, b), s.Axis.U))
			continue
		}
		v := f.sectionAt(e.At.XY(), b)
		r := finiteDepth(f.layout, s, b, Reading{B: v, Axis: OnAxis(v, s.Axis.U)})
		out = append(out, f.finiteEnds(s, []layout.Element{{At: e.At, Sign: 1}}, b, r).Axis)
	}
	return out
}

// Split is the reading of a sensor in one component of a duty, in tesla: the
// part of its own bar, the part of all others, and each other bar's part.
type Split struct {
	FreqHz     float64
	Role       string
	OwnA       complex128       // peak phasor of the own bar's current
	PerAmpere  bounded.Phasor   // own reading per ampere, T/A
	Own, Stray bounded.Phasor   // T
	PerBar     []bounded.Phasor // T, len bars; the own bar's entry is Own
	Total      Vec              // T, whole vector of the reading
}

// Read returns the reading of s in component c.
func (m *Model) Read(s *layout.Sensor, c *layout.Component) (Split, error) {
	f, err := m.Field(c.FreqHz)
	if err != nil {
		return Split{}, err
	}
	out := Split{FreqHz: c.FreqHz, Role: c.Role, OwnA: c.PeakA[s.Reads], PerBar: make([]bounded.Phasor, len(c.PeakA))}
	for b, i := range c.PeakA {
		r := f.PerAmpere(s, layout.BarIndex(b))
		out.PerBar[b] = r.Axis.Scale(i)
		out.Total = out.Total.Add(r.B.Scale(i))
		if layout.BarIndex(b) == s.Reads {
			out.PerAmpere = r.Axis
			out.Own = out.PerBar[b]
			continue
		}
		out.Stray = out.Stray.Add(out.PerBar[b])
	}
	if m.oneState() {
		if out, err = m.readState(s, c, out); err != nil {
			return Split{}, err
		}
		if m.inSpace() {
			return out, nil
		}
		return f.endedSplit(s, c, out), nil
	}
	return out, nil
}

// scaleOf returns OwnPerAmpere as something to divide by: an *Unknown when it may
// be zero.
func (m *Model) scaleOf(s *layout.Sensor) (bounded.Estimate, error) {
	perA, err := m.OwnPerAmpere(s)
	if err == nil && !(perA.Low > 0) {
		err = &Unknown{fmt.Sprintf("its axis lies across the field of bar %q, of which it reads nothing", m.Layout.Bars[s.Reads].ID)}
	}
	return perA, err
}

// OwnPerAmpere returns the magnitude of the own reading of s per ampere at
// direct current, in T/A. Where iron saturates in the duty of m the bounds hold it from
// small signals to that duty: in space to the true state at the own current, or where
// that is 0 at the largest of all currents.
func (m *Model) OwnPerAmpere(s *layout.Sensor) (bounded.Estimate, error) {
	f, err := m.Field(0)
	if err != nil {
		return bounded.Estimate{}, err
	}
	small := f.PerAmpere(s, s.Reads).Axis.Abs()
	if !m.inSpace() || !m.oneState() {
		return small, nil
	}
	currents := instantCurrents(m.Layout.Components(m.duty), 0)
	at := math.Abs(currents[s.Reads])
	if at == 0 {
		for _, a := range currents {
			at = math.Max(at, math.Abs(a))
		}
	}
	if at == 0 {
		return small, nil
	}
	full, err := m.stateOwn(s, at)
	if err != nil {
		return bounded.Estimate{}, err
	}
	return bounded.Spanning(small, full.Abs()), nil
}
