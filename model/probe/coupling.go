package probe

import (
	"errors"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/decouple"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
	"busgauss/model/word"
)

// Coupling is what each sensor reads per ampere of each circuit at one frequency:
// PerCircuit[sensor][circuit] in T/A on the axis.
type Coupling struct {
	FreqHz     float64
	PerCircuit [][]bounded.Phasor
	// Circuits are those whose currents the sensors tell: what they read, in the order of
	// the sensors, and what follows from sums that are zero in every duty. Matrix has
	// the columns of PerCircuit of these.
	Circuits []layout.CircuitIndex
	Matrix   [][]complex128
	// Fit turns readings into the currents of Circuits; nil with a reason in NoInverse
	// where the sensors do not tell them apart.
	Fit       *decouple.Fit
	NoInverse string
}

// Coupling returns the matrix at freqHz.
func (m *Model) Coupling(freqHz float64) (*Coupling, error) {
	f, err := m.Field(freqHz)
	if err != nil {
		return nil, err
	}
	l := m.Layout
	out := &Coupling{FreqHz: freqHz}
	for i := range l.Sensors {
		row := make([]bounded.Phasor, len(l.Circuits))
		for c := range l.Circuits {
			row[c] = f.PerAmpere(&l.Sensors[i], layout.CircuitIndex(c)).Axis
		}
		out.PerCircuit = append(out.PerCircuit, row)
	}
	out.fit(l)
	return out, nil
}

// Row returns the columns of Circuits of a row over all circuits.
func (c *Coupling) Row(row []bounded.Phasor) []complex128 {
	out := make([]complex128, len(c.Circuits))
	for k, i := range c.Circuits {
		out[k] = row[i].V
	}
	return out
}

// fit inverts the matrix of the sensors against the circuits that they read, other
// circuits carrying nothing.
func (c *Coupling) fit(l *layout.Layout) {
	for i := range l.Sensors {
		if k := l.Sensors[i].Circuit; k != layout.None && !slices.Contains(c.Circuits, k) {
			c.Circuits = append(c.Circuits, k)
		}
	}
	if len(c.Circuits) == 0 {
		c.NoInverse = "there is no sensor"
		return
	}
	read := len(c.Circuits)
	sums := zeroSums(l)
	for _, s := range sums {
		if slices.ContainsFunc(s.circuits[:],
			func(k layout.CircuitIndex) bool { return slices.Contains(c.Circuits[:read], k) }) {
			for _, k := range s.circuits {
				if !slices.Contains(c.Circuits, k) {
					c.Circuits = append(c.Circuits, k)
				}
			}
		}
	}
	// A sum adds nothing where every one of its circuits is read by itself, and would make the
	// answer depend on it.
	var zero [][]complex128
	if len(c.Circuits) > len(l.Sensors) || len(c.Circuits) > read {
		for _, s := range sums {
			row := make([]complex128, len(c.Circuits))
			whole := true
			for k, i := range s.circuits {
				at := slices.Index(c.Circuits, i)
				if whole = whole && at >= 0; at >= 0 {
					row[at] = complex(s.signs[k], 0)
				}
			}
			if whole {
				zero = append(zero, row)
			}
		}
	}
	matrix := func() [][]complex128 {
		var out [][]complex128
		for _, row := range c.PerCircuit {
			out = append(out, c.Row(row))
		}
		return out
	}
	c.Matrix = matrix()
	fit, err := decouple.LeastSquares(c.Matrix, zero)
	var blind *decouple.Indistinct
	if errors.As(err, &blind) && len(c.Circuits) > read { // too few sensors for the whole set: what they read alone
		c.Circuits = c.Circuits[:read]
		c.Matrix = matrix()
		fit, err = decouple.LeastSquares(c.Matrix, nil)
	}
	switch {
	case errors.As(err, &blind) && len(blind.Circuits) > 0:
		var names []string
		for _, k := range blind.Circuits {
			names = append(names, l.CircuitName(c.Circuits[k]))
		}
		c.NoInverse = "the sensors do not tell apart what flows in " + word.And(names)
	case err != nil:
		c.NoInverse = err.Error()
	default:
		c.Fit = fit
	}
}

// zeroSum is three circuits whose currents, each times its sign, add up to nothing.
type zeroSum struct {
	circuits [3]layout.CircuitIndex
	signs    [3]float64
}

// zeroSums returns the three-phase sets of the duties whose currents sum to zero in every
// duty, in each component.
func zeroSums(l *layout.Layout) []zeroSum {
	var out []zeroSum
	for i := range l.Duties {
		t := l.Duties[i].ThreePhase
		if t == nil || slices.Contains(t.Circuits[:], layout.None) {
			continue
		}
		s := zeroSum{t.Circuits, t.Signs}
		if !slices.Contains(out, s) && s.holds(l) {
			out = append(out, s)
		}
	}
	return out
}

func (s *zeroSum) holds(l *layout.Layout) bool {
	for i := range l.Duties {
		cur := waveform.Of(l, &l.Duties[i])
		for _, c := range cur.Components {
			var sum complex128
			size := 0.0
			for k, i := range s.circuits {
				sum += portable.Times(c.PeakA[i], complex(s.signs[k], 0))
				size += portable.Abs(c.PeakA[i])
			}
			if portable.Abs(sum) > 1e-9*size {
				return false
			}
		}
		for _, i := range s.circuits {
			if cur.LeftOverA[i] != 0 {
				return false
			}
		}
	}
	return true
}

// Frequencies returns every frequency that a duty declares, rising, 0 Hz first
// and always among them.
func (m *Model) Frequencies() []float64 {
	out := []float64{0}
	for i := range m.Layout.Duties {
		for _, c := range m.Currents(&m.Layout.Duties[i]).Components {
			if !c.Derived {
				out = append(out, c.FreqHz)
			}
		}
	}
	return sortedUnique(out)
}

func sortedUnique(v []float64) []float64 {
	slices.Sort(v)
	return slices.Compact(v)
}
