package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// Split is the reading of a sensor in one component of a duty, in tesla: the part of the
// current that it reads, the part of all else, and that of each circuit.
type Split struct {
	FreqHz     float64
	Role       string
	OwnA       complex128       // peak phasor of the current that it reads
	PerAmpere  bounded.Phasor   // own reading per ampere, T/A
	Own, Stray bounded.Phasor   // T
	PerCircuit []bounded.Phasor // T, stray alone: nothing of the own circuit but its other legs
	Total      field.Vec        // T, whole vector of the reading
}

// Read returns the reading of s in component c.
func (m *Model) Read(s *layout.Sensor, c *waveform.Component) (Split, error) {
	f, err := m.FieldOf(c)
	if err != nil {
		return Split{}, err
	}
	out := Split{FreqHz: c.FreqHz, Role: c.Role, OwnA: f.OwnA(s, c.PeakA),
		PerCircuit: make([]bounded.Phasor, len(c.PeakA))}
	own := f.Own(s)
	out.PerAmpere = own.Axis
	out.Own = own.Axis.Scale(out.OwnA)
	out.Total = own.B.Scale(out.OwnA)
	for k, i := range c.PeakA {
		if i == 0 {
			continue
		}
		r := f.Beside(s, layout.CircuitIndex(k)).Scale(i)
		out.PerCircuit[k] = r.Axis
		out.Total = out.Total.Add(r.B)
		out.Stray = out.Stray.Add(r.Axis)
	}
	if len(m.Layout.Bonded) > 0 {
		m.bondedTotal(f, s, c, &out)
	}
	if m.OneState() {
		if out, err = m.readState(s, c, out); err != nil {
			return Split{}, err
		}
		return endedSplit(f, s, c, out), nil
	}
	return out, nil
}

// bondedTotal takes the whole reading from what bonded bars carry together: of currents that cancel in them nothing
// is left, and what is stray takes the own reading away.
func (m *Model) bondedTotal(f *field.Field, s *layout.Sensor, c *waveform.Component, out *Split) {
	var whole field.Reading
	for k, i := range field.Together(m.Layout, c.PeakA) {
		if i != 0 {
			whole = whole.Add(f.PerAmpere(s, layout.CircuitIndex(k)).Scale(i))
		}
	}
	out.Total, out.Stray.V = whole.B, whole.Axis.V-out.Own.V
}

// scaleOf returns OwnPerAmpere as something to divide by: an *Unknown when it may
// be zero.
func (m *Model) scaleOf(s *layout.Sensor) (bounded.Estimate, error) {
	perA, err := m.OwnPerAmpere(s)
	if err == nil && !(perA.Low > 0) {
		err = &field.Unknown{Reason: field.ReadsNothing(m.Layout, s, perA.Value)}
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
	small := f.Own(s).Axis.Abs()
	if !m.inSpace() || !m.OneState() {
		return small, nil
	}
	currents := m.SteadyA()
	at := math.Abs(real(f.OwnA(s, complexA(currents))))
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

func complexA(steadyA []float64) []complex128 {
	out := make([]complex128, len(steadyA))
	for i, a := range steadyA {
		out[i] = complex(a, 0)
	}
	return out
}

// endedSplit widens the bounds of a reading that was computed for all currents
// together, component c, by what ends and bends change.
func endedSplit(f *field.Field, s *layout.Sensor, c *waveform.Component, out Split) Split {
	for k, i := range c.PeakA {
		if i == 0 {
			continue
		}
		whole, axis := f.EndsT(s.Elements(), layout.CircuitIndex(k))
		a := portable.Abs(i)
		out.Total.Bound += float64(whole * a)
		if layout.CircuitIndex(k) == s.Circuit {
			_, own := f.OwnEndsT(s)
			out.Own.Bound += float64(own * portable.Abs(out.OwnA))
			out.PerAmpere.Bound += own
		}
		if !s.Hears(layout.CircuitIndex(k)) {
			continue
		}
		out.Stray.Bound += float64(axis * a)
	}
	return out
}

// readState is Read for a duty of direct current with the true state of iron:
// the whole reading is that of all currents together, the own one that of the
// own current alone, and the stray one the difference, with its own bound.
func (m *Model) readState(s *layout.Sensor, c *waveform.Component, linear Split) (Split, error) {
	var own, stray field.Reading
	var err error
	ownA := real(linear.OwnA)
	if ownA == 0 {
		stray, err = m.StateReading(s, c.SteadyA())
	} else {
		if own, err = m.AloneReading(s, ownA); err != nil {
			return Split{}, err
		}
		stray, err = m.BesideReading(s, c.SteadyA(), ownA)
	}
	if err != nil {
		return Split{}, err
	}
	own = m.FiniteDepth(s, s.Reads, own)
	other := layout.BarIndex(0)
	if other == s.Reads {
		other = 1
	}
	// Where the state makes next to nothing of what is stray for small signals, an end does not.
	grown := stray
	if portable.Abs(linear.Stray.V) > portable.Abs(stray.Axis.V) {
		grown.Axis.V = linear.Stray.V
	}
	stray.B.Bound = m.FiniteDepth(s, other, grown).B.Bound
	stray.Axis.Bound = m.FiniteDepth(s, other, grown).Axis.Bound
	out := linear
	out.Total = own.B.Add(stray.B)
	out.Own, out.Stray = own.Axis, stray.Axis
	if m.inSpace() {
		// What one other circuit does alone is known for small signals only; together they do
		// stray. In the section the range of permeability holds both.
		off := portable.Abs(out.Stray.V - linear.Stray.V)
		for k := range out.PerCircuit {
			if s.Hears(layout.CircuitIndex(k)) && c.PeakA[k] != 0 {
				out.PerCircuit[k].Bound += off
			}
		}
	}
	if ownA != 0 {
		out.PerAmpere = own.Axis.Scale(complex(1/ownA, 0))
	}
	return out, nil
}
