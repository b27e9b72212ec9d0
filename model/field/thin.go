package field

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// thinLimit is the largest √(width·thickness) over skin depth at which a
// uniform current density still counts as a model. Beyond it the field of an
// alternating current takes finite elements.
const thinLimit = 1.0

// share is an error bound relative to the field of a bar: a part in phase with
// it, and a part a quarter period away.
type share struct {
	inPhase, quadrature float64
}

// eddyBound is what a uniform current density leaves out at one frequency.
type eddyBound struct {
	own       share // at a point beside the bar that carries the current
	neighbour share // at a point beside another bar, whose eddy currents act there
}

// at picks the bound for the field of bar b at p: the neighbour's wherever
// another bar is nearer than b.
func (e eddyBound) at(l *layout.Layout, p geom.Point, b layout.BarIndex) (share, bool) {
	if e.neighbour == (share{}) {
		return share{}, false
	}
	d := p.Sub(l.Bars[b].Centre()).Norm()
	for i := range l.Bars {
		if layout.BarIndex(i) != b && p.Sub(l.Bars[i].Centre()).Norm() < d {
			return e.own, true
		}
	}
	return e.own, false
}

// uniformDensityBound returns how far a uniform current density may be off at
// freqHz; false when a section is not thin against the skin depth.
//
// With r = √(area)/δ the first-order eddy current is proportional to r² and a
// quarter period late, the second-order one to r⁴ and in phase (expansion of
// the diffusion equation in ω; for instance H. A. Haus, J. R. Melcher,
// Electromagnetic Fields and Energy, 1989, section 10.7; from memory). The factors are rounded
// up from computed reference fields (fixtures/reference/computed-references.yaml,
// bar_field_versus_frequency and eddy_currents_in_neighbour_bar, and the
// bare cases in fixtures/reference/plane-cases): 0.06 and 0.006 for a bar's own field,
// 0.2 and 0.04 for the field of one bar beside another. Valid for points no nearer to a face
// than a sixth of the thickness.
func uniformDensityBound(l *layout.Layout, freqHz float64) (eddyBound, bool) {
	if freqHz == 0 {
		return eddyBound{}, true
	}
	worst := 0.0
	for i := range l.Bars {
		worst = math.Max(worst, crowding(&l.Bars[i], freqHz))
	}
	if !(worst <= thinLimit) {
		return eddyBound{}, false
	}
	r2 := worst * worst
	return eddyBound{
		own:       share{inPhase: 0.006 * r2 * r2, quadrature: 0.06 * r2},
		neighbour: share{inPhase: 0.04 * r2 * r2, quadrature: 0.2 * r2},
	}, true
}

// Crowded reports whether the current of a bar gathers so much at freqHz that a uniform
// density is no model of it.
func Crowded(b *layout.Bar, freqHz float64) bool { return crowding(b, freqHz) > thinLimit }

// crowding returns √(area) of a bar over its skin depth, 0 where the bar
// declares no conductivity.
func crowding(b *layout.Bar, freqHz float64) float64 {
	if !(b.SigmaSPerM > 0) || freqHz == 0 {
		return 0
	}
	mu := b.MuRel
	if !(mu >= 1) {
		mu = 1
	}
	return closedform.ThinRatio(b.AreaM2(), closedform.SkinDepthM(freqHz, b.SigmaSPerM, mu))
}
