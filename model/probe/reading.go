package probe

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
)

// Split is the reading of a sensor in one component of a duty, in tesla: the
// part of its own bar, the part of all others, and each other bar's part.
type Split struct {
	FreqHz     float64
	Role       string
	OwnA       complex128       // peak phasor of the own bar's current
	PerAmpere  bounded.Phasor   // own reading per ampere, T/A
	Own, Stray bounded.Phasor   // T
	PerBar     []bounded.Phasor // T, len bars; the own bar's entry is Own
	Total      field.Vec        // T, whole vector of the reading
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
	if m.OneState() {
		if out, err = m.readState(s, c, out); err != nil {
			return Split{}, err
		}
		return endedSplit(f, s, c, out), nil
	}
	return out, nil
}

// scaleOf returns OwnPerAmpere as something to divide by: an *Unknown when it may
// be zero.
func (m *Model) scaleOf(s *layout.Sensor) (bounded.Estimate, error) {
	perA, err := m.OwnPerAmpere(s)
	if err == nil && !(perA.Low > 0) {
		err = &field.Unknown{Reason: fmt.Sprintf("its axis lies across the field of bar %q, of which it reads nothing", m.Layout.Bars[s.Reads].ID)}
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
	if !m.inSpace() || !m.OneState() {
		return small, nil
	}
	currents := m.SteadyA()
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

// endedSplit widens the bounds of a reading that was computed for all currents
// together, component c, by what ends and bends change.
func endedSplit(f *field.Field, s *layout.Sensor, c *layout.Component, out Split) Split {
	for b, i := range c.PeakA {
		whole, axis := f.EndsT(s, s.Elements(), layout.BarIndex(b))
		a := cmplx.Abs(i)
		out.Total.Bound += whole * a
		if layout.BarIndex(b) == s.Reads {
			out.Own.Bound += axis * a
			out.PerBar[b].Bound += axis * a
			out.PerAmpere.Bound += axis
			continue
		}
		out.Stray.Bound += axis * a
	}
	return out
}

// readState is Read for a duty of direct current with the true state of iron:
// the whole reading is that of all currents together, the own one that of the
// own current alone, and the stray one the difference.
func (m *Model) readState(s *layout.Sensor, c *layout.Component, linear Split) (Split, error) {
	all := make([]float64, len(c.PeakA))
	alone := make([]float64, len(c.PeakA))
	for b, a := range c.PeakA {
		all[b] = real(a)
	}
	alone[s.Reads] = all[s.Reads]
	total, err := m.StateReading(s, all)
	if err != nil {
		return Split{}, err
	}
	own, err := m.StateReading(s, alone)
	if err != nil {
		return Split{}, err
	}
	stray := field.Reading{
		B:    total.B.Add(own.B.Scale(-1)),
		Axis: total.Axis.Add(own.Axis.Scale(-1)),
	}
	own = m.FiniteDepth(s, s.Reads, own)
	other := layout.BarIndex(0)
	if other == s.Reads {
		other = 1
	}
	stray = m.FiniteDepth(s, other, stray)
	out := linear
	out.Total = own.B.Add(stray.B)
	out.Own, out.Stray = own.Axis, stray.Axis
	out.PerBar[s.Reads] = own.Axis
	if m.inSpace() {
		// What one other bar does alone is known for small signals only; together they do
		// stray. In the section the range of permeability holds both.
		off := cmplx.Abs(out.Stray.V - linear.Stray.V)
		for b := range out.PerBar {
			if layout.BarIndex(b) != s.Reads && c.PeakA[b] != 0 {
				out.PerBar[b].Bound += off
			}
		}
	}
	if i := c.PeakA[s.Reads]; i != 0 {
		out.PerAmpere = own.Axis.Scale(1 / i)
	}
	return out, nil
}
