package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/strips"
)

// divided is the section of bars by themselves, each divided into rectangles of even current density.
type divided struct{ of *strips.Solution }

// evenEnough is the bound up to which an even density answers, as a share of a field: where it is wider the bars are
// divided, if they can be.
const evenEnough = 0.002

// most returns the largest of all bounds.
func (e eddyBound) most() float64 {
	return max(e.own.inPhase, e.own.quadrature, e.neighbour.inPhase, e.neighbour.quadrature)
}

// dividedSection returns the section at freqHz of bars divided into rectangles; nil where they are no rectangles, too many or
// too thick.
func (m *Model) dividedSection(freqHz float64) section {
	c := m.cache
	c.divideOnce.Do(func() { c.divided = dividedBars(m.Layout) })
	if c.divided == nil {
		return nil
	}
	s, err := c.divided.Solve(freqHz)
	if err != nil {
		return nil
	}
	return divided{s}
}

func dividedBars(l *layout.Layout) *strips.Bars {
	var bars []strips.Bar
	for i := range l.Bars {
		b := &l.Bars[i]
		if b.Section.Kind != layout.Rectangle {
			return nil
		}
		bars = append(bars, strips.Bar{At: b.At.Point(), WidthM: b.Section.WidthM.V, ThicknessM: b.Section.ThicknessM.V,
			TurnRad: b.TurnRad.V, SigmaSPerM: max(b.SigmaSPerM, 0)})
	}
	d, err := strips.Divide(bars)
	if err != nil {
		return nil
	}
	return d
}

func (s divided) at(p geom.Point, b layout.BarIndex, rough bool) Vec {
	x, y, bound := s.of.B(p, int(b))
	if rough {
		bound = 0
	}
	return Vec{X: x, Y: y, Bound: bound}
}

func (s divided) uniform(p geom.Point, rough bool) (alongX, alongY Vec) {
	one := func(dir int) Vec {
		x, y, bound := s.of.Uniform(p, dir)
		if rough {
			bound = 0
		}
		return Vec{X: x, Y: y, Bound: bound}
	}
	return one(0), one(1)
}

func (s divided) wall(layout.ShieldIndex, []complex128) (Wall, error) {
	panic("field: wall of a layout without shields")
}

func (s divided) sketch(q geom.Point, b layout.BarIndex) SectionPoint {
	a, x, y := s.of.Sketch(q, int(b))
	return SectionPoint{a, x, y}
}

func (s divided) sides() []section { return []section{s} }
