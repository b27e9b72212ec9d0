package channel

import (
	"math"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// Trio is three channels of a balanced set, in the order in which the phases follow
// one another.
type Trio struct {
	Sensors  [3]*layout.Sensor // nil for a phase that is not measured
	Circuits [3]layout.CircuitIndex
	Signs    [3]float64 // of the phase in its circuit
	Derived  int        // of the phase that is minus the sum of the others; −1: none
	// The set: amplitude of its fundamental and its frequency.
	AmplitudeA, FreqHz float64
}

// TriosOf returns the channels of a sum in the order of the phases of each balanced set that duty d
// gives their circuits, its first set and those beside it; none where it gives no such set.
func TriosOf(l *layout.Layout, sum *layout.PhaseSum, d *layout.Duty) []Trio {
	var out []Trio
	for _, set := range append([]layout.Set{d.Set}, d.With...) {
		if x, ok := trioOf(l, sum, &set); ok {
			out = append(out, x)
		}
	}
	return out
}

// Is reports whether c gives the circuits of t its set and nothing else.
func (t *Trio) Is(c *waveform.Component) bool {
	if c.FreqHz != t.FreqHz {
		return false
	}
	var set [3]complex128
	for p, circuit := range t.Circuits {
		set[p] = portable.Times(c.PeakA[circuit], complex(t.Signs[p], 0))
	}
	return waveform.Balanced(set) && math.Abs(portable.Abs(set[0])-t.AmplitudeA) <= sameAmplitude*t.AmplitudeA
}

// sameAmplitude is the share of an amplitude by which two differ at most that are one.
const sameAmplitude = 1e-9

func trioOf(l *layout.Layout, sum *layout.PhaseSum, d *layout.Set) (Trio, bool) {
	out := Trio{Derived: -1, FreqHz: d.FreqHz.V}
	three := d.ThreePhase
	if three == nil {
		three = spelledOut(d)
	}
	if three == nil || !(d.FreqHz.V > 0) {
		return out, false
	}
	out.AmplitudeA = three.Amount.AlternatingPeakA()
	if out.AmplitudeA == 0 {
		return out, false
	}
	for p, circuit := range three.Circuits {
		found := false
		for k, c := range sum.Channels {
			of := layout.CircuitIndex(layout.None)
			var s *layout.Sensor
			if c != layout.None {
				s = &l.Sensors[c]
				of = s.Circuit
			} else if sum.DerivedBar != layout.None {
				of, _ = l.CircuitOf(sum.DerivedBar)
			}
			if of != circuit || of == layout.None {
				continue
			}
			found = true
			out.Circuits[p], out.Signs[p] = circuit, three.Signs[p]
			if k == 2 && sum.Measured.V == 2 {
				out.Derived = p
			} else {
				out.Sensors[p] = s
			}
		}
		if !found {
			return out, false
		}
	}
	return out, true
}

// spelledOut returns the balanced set that three alternating currents make, equal and a third of a period apart; nil for
// any others.
func spelledOut(d *layout.Set) *layout.ThreePhase {
	var three []*layout.Current
	for i := range d.Currents {
		if d.Currents[i].Alternates() {
			three = append(three, &d.Currents[i])
		}
	}
	if len(three) != 3 {
		return nil
	}
	phasor := func(k int) complex128 { return portable.Rect(three[k].AlternatingPeakA(), three[k].PhaseRad.V) }
	for _, order := range [][3]int{{0, 1, 2}, {0, 2, 1}} {
		if !waveform.Balanced([3]complex128{phasor(order[0]), phasor(order[1]), phasor(order[2])}) {
			continue
		}
		out := &layout.ThreePhase{Amount: three[0].Amount}
		for p, k := range order {
			out.Circuits[p], out.Signs[p] = three[k].Circuit, three[k].Sign
		}
		return out
	}
	return nil
}

// Phases returns what each channel tells per ampere in each phase beside the truth,
// at freqHz, after a kind of calibration: field of bar and shield, part, filter and
// window, lag included; crosstalk of the other two phases. Gain and zero are those
// of nominal data. A chain whose response is not known counts as ideal, and unknown
// says so.
func (x *Trio) Phases(m *probe.Model, freqHz float64, after After) (p *Phases, unknown []string, err error) {
	still, err := m.Coupling(0)
	if err != nil {
		return nil, nil, err
	}
	moving, err := m.Coupling(freqHz)
	if err != nil {
		return nil, nil, err
	}
	var inverse *probe.Coupling
	switch after {
	case AfterMatrix:
		inverse = still
	case AfterMatrixAtFrequency:
		inverse = moving
	}
	if inverse != nil && inverse.Fit == nil {
		return nil, nil, &field.Unknown{Reason: inverse.NoInverse}
	}
	p = &Phases{Derived: x.Derived}
	for k, s := range x.Sensors {
		if s == nil {
			continue
		}
		row, _ := m.Layout.Sensor(s.ID)
		of, err := Of(m, s)
		if err != nil {
			return nil, nil, err
		}
		response := complex(1, 0)
		if freqHz > 0 {
			t := of.Chain.Timing
			t.Hold = false
			r := t.At(freqHz, 1)
			if math.IsNaN(r.Amplitude) || math.IsNaN(r.LagRad) {
				unknown = append(unknown, of.openTails([]string{"part", "bandwidth", "delay", "filter.", "sampling.rate", "sampling.delay"})...)
			} else if after != AfterMatrixAtFrequency {
				response = portable.Rect(r.Amplitude, -r.LagRad)
			}
		}
		// Per ampere of each phase, of the channel's own phase.
		own := complex(x.Signs[k], 0)
		slope := portable.Times(still.PerCircuit[row][s.Circuit].V, own)
		for j, circuit := range x.Circuits {
			phase := complex(x.Signs[j], 0)
			v := portable.Quotient(portable.Times(moving.PerCircuit[row][circuit].V, phase), slope)
			if inverse != nil {
				v = portable.Times(portable.Times(inverseTimes(inverse, moving, s.Circuit, circuit), phase), own)
			}
			p.Gain[k][j] = portable.Times(v, response)
			if j == k {
				p.Gain[k][j]--
			}
		}
	}
	return p, compact(unknown), nil
}

// inverseTimes returns what the inverse row of circuit own makes of the column of a
// circuit.
func inverseTimes(inverse, used *probe.Coupling, own, of layout.CircuitIndex) complex128 {
	var sum complex128
	for row, circuit := range inverse.Circuits {
		if circuit != own {
			continue
		}
		for i := range used.PerCircuit {
			sum += portable.Times(inverse.Fit.Inverse[row][i], used.PerCircuit[i][of].V)
		}
	}
	return sum
}

// LagTol returns the half width in radians of the lag that the tolerance of the
// filter's corner leaves at freqHz; NaN where the filter is not known.
func (t *Timing) LagTol(freqHz float64) float64 {
	if t.Filter.passesAll() || freqHz == 0 {
		return 0
	}
	slow, quick := t.Slowest(), t.Quickest()
	_, late := slow.Filter.Lag(freqHz)
	_, early := quick.Filter.Lag(freqHz)
	return (late - early) / 2
}
