package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// Flow is what flowed while a sensor was read: one component of one duty.
type Flow struct {
	Duty *layout.Duty // of the layout, or made of a current; then Alone is set
	Part waveform.Component
	// Factor takes the peak phasor of a flux density to the number that was read: 1 at direct current and for peak
	// values, 1/√2 for rms values. Kind is that in words: "", "rms", "peak".
	Factor float64
	Kind   string
	Alone  bool // what the sensor reads carried a current, nothing else did
}

// FlowIn returns what flowed in measurement i while s was read. A reading of direct current is the flux density with its
// sign. Of an alternating duty that gives its currents as rms values it is an rms value, and likewise a peak value; of a
// current that stands in the measurement it is what the current is. The error is an *Unknown where one number does not
// say what was read: of a fault, of a direct and an alternating part, of several frequencies.
func (m *Model) FlowIn(s *layout.Sensor, i int) (Flow, error) {
	l := m.Layout
	b := &l.Measurements[i]
	out := Flow{Factor: 1}
	if b.Duty == layout.None {
		out.Alone = true
		// A name that no file can hold, since fields are kept by the names of duties.
		out.Duty = aloneDuty(fmt.Sprintf("\x00measurement %d of %s", i, s.ID), s, b)
	} else {
		out.Duty = &l.Duties[b.Duty]
	}
	cur := waveform.Of(l, out.Duty)
	if out.Duty.Kind == layout.Fault || cur.PeakFactor != 1 {
		return out, unclear("the current of fault %q does not stay as it is", out.Duty.ID)
	}
	parts := 0
	for k := range cur.Components {
		if carries(&cur.Components[k]) {
			out.Part, parts = cur.Components[k], parts+1
		}
	}
	for _, a := range cur.LeftOverA {
		if a != 0 {
			parts++
		}
	}
	switch {
	case parts == 0:
		return out, &field.Unknown{Reason: fmt.Sprintf("no current flows in duty %q", out.Duty.ID)}
	case parts > 1:
		return out, unclear("duty %q has more than one component of current", out.Duty.ID)
	case out.Part.FreqHz == 0 || out.Alone:
		return out, nil
	}
	rms, peak := amountsOf(&out.Duty.Set)
	for k := range out.Duty.With {
		r, p := amountsOf(&out.Duty.With[k])
		rms, peak = rms || r, peak || p
	}
	switch {
	case rms && peak:
		return out, unclear("duty %q gives some currents as rms and some as peak values", out.Duty.ID)
	case rms:
		out.Factor, out.Kind = 1/math.Sqrt2, "rms"
	case peak:
		out.Kind = "peak"
	default:
		return out, unclear("duty %q says neither rms nor peak", out.Duty.ID)
	}
	return out, nil
}

func unclear(format string, id string) error {
	return &field.Unknown{Reason: fmt.Sprintf(format, id) +
		", so that one number does not say what was read. Give the measurement a current and its frequency, or a duty of one frequency"}
}

// aloneDuty is the current of b in the circuit of s, and nothing else.
func aloneDuty(id string, s *layout.Sensor, b *layout.Measurement) *layout.Duty {
	a := layout.Num{V: b.CurrentA.V * s.Sign, Set: true, Span: b.CurrentA.Span}
	current := layout.Current{Circuit: s.Circuit, Sign: 1}
	if b.FreqHz.V > 0 {
		a.V = math.Abs(a.V)
		current.PeakA = a
	} else {
		current.DCA = a
	}
	return &layout.Duty{ID: id, Kind: layout.Continuous,
		Set: layout.Set{FreqHz: b.FreqHz, Currents: []layout.Current{current}}}
}

// amountsOf reports whether a set gives currents as rms values, and as peak values.
func amountsOf(set *layout.Set) (rms, peak bool) {
	for i := range set.Currents {
		rms, peak = rms || set.Currents[i].RMSA.Set, peak || set.Currents[i].PeakA.Set
	}
	if t := set.ThreePhase; t != nil {
		rms, peak = rms || t.Amount.RMSA.Set, peak || t.Amount.PeakA.Set
	}
	return rms, peak
}

// ReadT returns what s reads of a flow, in T as Flow.Factor says, with the bounds of the field: with its sign at direct
// current, else without.
func (m *Model) ReadT(s *layout.Sensor, f *Flow) (bounded.Estimate, error) {
	r, err := m.For(f.Duty).Read(s, &f.Part)
	if err != nil {
		return bounded.Estimate{}, err
	}
	total := r.Own.Add(r.Stray)
	if f.Part.FreqHz > 0 {
		return total.Abs().Scale(f.Factor), nil
	}
	v, bound := real(total.V), total.Bound+total.Quad+total.Far
	return bounded.Estimate{Value: v, Low: v - bound, High: v + bound}, nil
}

// Scaled returns f with all its currents k times as large.
func (f *Flow) Scaled(k float64) Flow {
	out := *f
	out.Part.PeakA = make([]complex128, len(f.Part.PeakA))
	for i, a := range f.Part.PeakA {
		out.Part.PeakA[i] = portable.Times(a, complex(k, 0))
	}
	return out
}

// Doubt is how much one tolerance may change what a sensor reads, in T, to each side.
type Doubt struct {
	Name  string // "placement y", "x of bar \"U\""
	HalfT float64
}

// Doubts returns what each tolerance of the place of s, of bars, shields, materials and legs does to what s reads of f: the
// larger of its two ends.
func (m *Model) Doubts(s *layout.Sensor, f *Flow) ([]Doubt, error) {
	var out []Doubt
	add := func(name string, halfT float64) {
		for i := range out {
			if out[i].Name == name {
				out[i].HalfT = math.Max(out[i].HalfT, halfT)
				return
			}
		}
		out = append(out, Doubt{name, halfT})
	}
	rough := m.Rough()
	drawn, err := rough.ReadT(s, f)
	if err != nil {
		return nil, err
	}
	for _, k := range s.Shifts(m.inSpace())[1:] {
		name, ok := tolerance(&k)
		if !ok {
			continue
		}
		moved := s.Displaced(k)
		r, err := rough.ReadT(&moved, f)
		if err != nil {
			return nil, err
		}
		add("placement "+name, math.Abs(r.Value-drawn.Value))
	}
	list, err := m.varied()
	if err != nil {
		return nil, err
	}
	for i := range list {
		still, err := list[i].Drawn.ReadT(s, f)
		if err != nil {
			return nil, err
		}
		moved, err := list[i].Model.ReadT(s, f)
		if err != nil {
			return nil, err
		}
		add(list[i].Name, math.Abs(moved.Value-still.Value))
	}
	return out, nil
}
