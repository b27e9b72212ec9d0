package probe

import (
	"fmt"
	"math"
	"math/cmplx"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// Vec is a flux density in the plane, in tesla or tesla per ampere, as peak
// phasors with e^{+jωt}. Bound is the half width of its error, of any phase;
// Quad that of an error which is known to be a quarter period away from the
// vector itself. Both are in the unit of X and Y.
type Vec struct {
	X, Y        complex128
	Bound, Quad float64
}

// Norm returns the root of |X|² + |Y|².
func (v Vec) Norm() float64 { return math.Hypot(cmplx.Abs(v.X), cmplx.Abs(v.Y)) }

// Add returns the sum, bounds added.
func (v Vec) Add(w Vec) Vec {
	return Vec{v.X + w.X, v.Y + w.Y, v.Bound + w.Bound, v.Quad + w.Quad}
}

// Scale returns v times a phasor.
func (v Vec) Scale(c complex128) Vec {
	a := cmplx.Abs(c)
	return Vec{v.X * c, v.Y * c, v.Bound * a, v.Quad * a}
}

// Unknown says why a field cannot be given. A rule that meets one is undecided.
type Unknown struct {
	Reason string
}

// Error returns the reason.
func (u *Unknown) Error() string { return u.Reason }

// Model answers for one layout. It may be used from several goroutines.
type Model struct {
	Layout *layout.Layout

	mu     sync.Mutex
	fields map[float64]*Field
	errs   map[float64]error
}

// NewModel returns a model of l. Nothing is computed yet.
func NewModel(l *layout.Layout) *Model {
	return &Model{Layout: l, fields: map[float64]*Field{}, errs: map[float64]error{}}
}

// Field returns the field at freqHz, computed once. The error is an *Unknown
// when no method of this program holds there.
func (m *Model) Field(freqHz float64) (*Field, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if f, ok := m.fields[freqHz]; ok {
		return f, m.errs[freqHz]
	}
	f, err := solve(m.Layout, freqHz)
	m.fields[freqHz], m.errs[freqHz] = f, err
	return f, err
}

// Field is the field of a layout at one frequency, per ampere of each bar, at
// any point of the plane.
type Field struct {
	FreqHz float64
	Method string
	layout *layout.Layout
	eddy   eddyBound
}

// nonMagnetic is how far a relative permeability may lie from 1 for the closed
// forms, which know none: copper, aluminium and brass lie within 1e-4.
const nonMagnetic = 1e-4

// solve picks the method for one frequency.
func solve(l *layout.Layout, freqHz float64) (*Field, error) {
	if len(l.Shields) > 0 {
		return nil, &Unknown{fmt.Sprintf("shield %q: fields with shields are not computed yet", l.Shields[0].ID)}
	}
	for i := range l.Bars {
		if b := &l.Bars[i]; !(math.Abs(b.MuRel-1) <= nonMagnetic) {
			return nil, &Unknown{fmt.Sprintf("bar %q is of magnetic metal: such fields are not computed yet", b.ID)}
		}
	}
	eddy, err := uniformDensityBound(l, freqHz)
	if err != nil {
		return nil, err
	}
	method := "closed form, long bars"
	if freqHz > 0 {
		method = "closed form, long bars, uniform current density"
	}
	return &Field{FreqHz: freqHz, Method: method, layout: l, eddy: eddy}, nil
}

// farM is the distance beyond which a layout says nothing of its surroundings.
const farM = 1.0

// farT returns what an enclosure farM away from the middle of the bars may add
// to the field of bar b, in T/A: the field of the bar's image in a circle of
// that radius, which near the middle is uniform,
//
//	ΔB = μ0 d / (2π R²)
//
// with d the distance of the bar from the middle. Source: method of images for
// a line in a circular boundary (W. R. Smythe, Static and Dynamic Electricity,
// 3rd ed., chapter 4; from memory).
func (f *Field) farT(b layout.BarIndex) float64 {
	var middle geom.Point
	bars := f.layout.Bars
	for i := range bars {
		middle = middle.Add(bars[i].Centre())
	}
	d := bars[b].Centre().Sub(middle.Scale(1 / float64(len(bars)))).Norm()
	return si.Mu0HPerM * d / (2 * math.Pi * farM * farM)
}

// At returns the flux density at p in tesla per ampere of bar b.
//
// Formula: closedform.RectangleB, CircleB or PolygonB for a long straight bar
// with uniform current density. The bound is that of uniformDensityBound, of
// farT, and 1e-9 of the value for rounding.
func (f *Field) At(p geom.Point, b layout.BarIndex) Vec {
	v := barPerAmpere(&f.layout.Bars[b], p)
	out := Vec{X: complex(v.X, 0), Y: complex(v.Y, 0)}
	n := out.Norm()
	own, idle := f.eddy.at(f.layout, p, b)
	e := own
	if idle {
		e = f.eddy.neighbour
	}
	out.Bound = n*(e.inPhase+1e-9) + f.farT(b)
	out.Quad = n * e.quadrature
	return out
}

// barPerAmpere returns the field of one ampere in a long straight bar.
func barPerAmpere(b *layout.Bar, p geom.Point) geom.Point {
	q := p.Sub(b.At.Point()).Rotate(-b.TurnRad.V)
	var v geom.Point
	switch b.Section.Kind {
	case layout.Rectangle:
		v = closedform.RectangleB(q, b.Section.WidthM.V, b.Section.ThicknessM.V, 1)
	case layout.Round:
		v = closedform.CircleB(q, b.Section.DiameterM.V/2, 1)
	default:
		v = closedform.PolygonB(q, b.Section.Corners, 1)
	}
	return v.Rotate(b.TurnRad.V)
}
