package field

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
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

// leftOut are the largest errors of a uniform density that finite elements found beside bars of 2 mm in rows side by
// side and face to face, gaps of half to ten thicknesses, a sixth to four thicknesses above the faces and along them,
// at √area = 0.95 skin depths: over r² a quarter period late, over r⁴ in phase. Each is taken leftOutSafety times, in
// between evenly over the logarithm of the aspect: a wide strip lets more flux through than a square bar of its area.
var leftOut = []struct {
	aspect         float64 // longer side squared over the area
	own, neighbour share
}{
	{1, share{0.0014, 0.0129}, share{0.0064, 0.0610}},
	{4.5, share{0.0066, 0.0422}, share{0.0396, 0.2251}},
	{10, share{0.0151, 0.0719}, share{0.0682, 0.4081}},
	{20, share{0.0316, 0.1032}, share{0.0972, 0.6033}},
	{40, share{0.0489, 0.1369}, share{0.1238, 0.8197}},
	{80, share{0.0613, 0.1694}, share{0.1472, 1.0488}},
}

// leftOutSafety is for arrangements between and beside those that were solved.
const leftOutSafety = 1.3

// leftOutAt returns the factors of a bar; false for a strip thinner than any that was solved.
func leftOutAt(b *layout.Bar) (own, neighbour share, ok bool) {
	size := b.SectionCorners().Box().Size()
	long := math.Max(size.X, size.Y)
	aspect := math.Max(1, long*long/b.AreaM2())
	for i := 1; i < len(leftOut); i++ {
		low, high := &leftOut[i-1], &leftOut[i]
		if aspect > high.aspect {
			continue
		}
		x := portable.Log(aspect/low.aspect) / portable.Log(high.aspect/low.aspect)
		between := func(a, b share) share {
			return share{leftOutSafety * (a.inPhase + float64(x*(b.inPhase-a.inPhase))),
				leftOutSafety * (a.quadrature + float64(x*(b.quadrature-a.quadrature)))}
		}
		return between(low.own, high.own), between(low.neighbour, high.neighbour), true
	}
	return share{}, share{}, false
}

// uniformDensityBound returns how far a uniform current density may be off at
// freqHz; false when a section is not thin against the skin depth.
//
// With r = √(area)/δ the first-order eddy current is proportional to r² and a
// quarter period late, the second-order one to r⁴ and in phase (expansion of
// the diffusion equation in ω; for instance H. A. Haus, J. R. Melcher,
// Electromagnetic Fields and Energy, 1989, section 10.7; from memory). The factors are those of
// leftOut, which lie over the computed reference fields too (fixtures/reference/computed-references.yaml,
// bar_field_versus_frequency and eddy_currents_in_neighbour_bar, and the bare cases in
// fixtures/reference/plane-cases). Valid for points no nearer to a face than a sixth of the thickness.
func uniformDensityBound(l *layout.Layout, freqHz float64) (eddyBound, bool) {
	if freqHz == 0 {
		return eddyBound{}, true
	}
	var e eddyBound
	most := func(to *share, factor share, r2 float64) {
		to.inPhase = math.Max(to.inPhase, factor.inPhase*r2*r2)
		to.quadrature = math.Max(to.quadrature, factor.quadrature*r2)
	}
	for i := range l.Bars {
		r := crowding(&l.Bars[i], freqHz)
		own, neighbour, known := leftOutAt(&l.Bars[i])
		if !(r <= thinLimit) || r > 0 && !known {
			return eddyBound{}, false
		}
		most(&e.own, own, r*r)
		most(&e.neighbour, neighbour, r*r)
	}
	return e, true
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
