package probe

import (
	"fmt"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/decouple"
	"busgauss/model/layout"
)

// Coupling is what each sensor reads per ampere of each bar at one frequency:
// PerBar[sensor][bar] in T/A on the axis.
type Coupling struct {
	FreqHz float64
	PerBar [][]bounded.Phasor
	// Inverse[j][i] gives the current of bar Bars[j] in A per tesla read by
	// sensor i; nil with a reason in NoInverse where the sensors do not tell the
	// bars apart.
	Inverse   [][]complex128
	Bars      []layout.BarIndex
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
		row := make([]bounded.Phasor, len(l.Bars))
		for b := range l.Bars {
			row[b] = f.PerAmpere(&l.Sensors[i], layout.BarIndex(b)).Axis
		}
		out.PerBar = append(out.PerBar, row)
	}
	out.invert(l)
	return out, nil
}

// invert inverts the square matrix of the sensors against the bars that they
// read, other bars carrying nothing.
func (c *Coupling) invert(l *layout.Layout) {
	column := map[layout.BarIndex]int{}
	for i := range l.Sensors {
		b := l.Sensors[i].Reads
		if _, twice := column[b]; twice {
			c.NoInverse = fmt.Sprintf("bar %q is read by more than one sensor", l.Bars[b].ID)
			return
		}
		column[b] = i
		c.Bars = append(c.Bars, b)
	}
	n := len(c.Bars)
	a := make([][]complex128, n)
	for i := range a {
		a[i] = make([]complex128, n)
		for j, b := range c.Bars {
			a[i][j] = c.PerBar[i][b].V
		}
	}
	if n == 0 {
		c.NoInverse = "there is no sensor"
		return
	}
	inverse, err := decouple.Inverse(a)
	if err != nil {
		c.NoInverse = err.Error()
		return
	}
	c.Inverse = inverse
}

// Frequencies returns every frequency that a duty declares, rising, 0 Hz first
// and always among them.
func (m *Model) Frequencies() []float64 {
	out := []float64{0}
	for i := range m.Layout.Duties {
		for _, c := range m.Layout.Components(&m.Layout.Duties[i]) {
			out = append(out, c.FreqHz)
		}
	}
	return sortedUnique(out)
}

func sortedUnique(v []float64) []float64 {
	slices.Sort(v)
	return slices.Compact(v)
}
