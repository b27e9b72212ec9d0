package waveform

import (
	"math"

	"busgauss/model/portable"
)

// Main returns the group whose components add up to most, over all circuits; NoGroup
// where only direct current flows.
func (c *Currents) Main() int {
	main, most := NoGroup, 0.0
	for g := range c.Groups {
		sum := 0.0
		for i := range c.Components {
			if c.Components[i].Group != g {
				continue
			}
			for _, a := range c.Components[i].PeakA {
				sum += portable.Abs(a)
			}
		}
		if sum > most*(1+1e-9) { // of equal ones the first, whatever rounding says
			main, most = g, sum
		}
	}
	return main
}

// InMain reports whether a component is direct current or belongs to the main group.
func (c *Currents) InMain(p *Component) bool { return p.Group == NoGroup || p.Group == c.Main() }

// Steady reports whether direct current is all that flows.
func (c *Currents) Steady() bool {
	for _, a := range c.LeftOverA {
		if a != 0 {
			return false
		}
	}
	return len(c.Components) == 1 && c.Components[0].FreqHz == 0
}

// InstantA returns the current of each circuit at a time of the main group, with the
// direct current, A. The components of a fault count times the peak factor: as they do at
// the first peak, when the decaying direct component stands in step with them.
func (c *Currents) InstantA(timeS float64) []float64 {
	out := make([]float64, len(c.LeftOverA))
	main := c.Main()
	for i := range c.Components {
		p := &c.Components[i]
		turn := complex(1, 0)
		switch p.Group {
		case NoGroup:
		case main:
			turn = portable.Rect(c.PeakFactor, 2*math.Pi*p.FreqHz*timeS)
		default:
			continue
		}
		for k, a := range p.PeakA {
			out[k] += real(portable.Times(a, turn))
		}
	}
	return out
}

// InstantsS returns count times over one period of the main group at equal steps, one of them
// that at which the largest current of a circuit peaks: so they move with a waveform
// that is shifted in time. One time, 0, where only direct current flows.
func (c *Currents) InstantsS(count int) []float64 {
	main := c.Main()
	if main == NoGroup {
		return []float64{0}
	}
	most, start := 0.0, 0.0
	for k := range c.LeftOverA {
		s := &Signal{}
		for i := range c.Components {
			if p := &c.Components[i]; c.InMain(p) {
				group := p.Group
				if group == main {
					group = 0
				}
				s.Lines = append(s.Lines, Line{FreqHz: p.FreqHz, Group: group, V: p.PeakA[k]})
			}
		}
		// Of circuits that reach as much the first, whatever rounding says.
		if peak := s.PeakAbs(); peak.Value > most*(1+1e-9) {
			most, start = peak.Value, peak.TimesS[0]
		}
	}
	out := make([]float64, count)
	period := 1 / c.BaseHz(main)
	for i := range out {
		out[i] = start + period*float64(i)/float64(count)
	}
	return out
}
