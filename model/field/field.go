package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Field is the field of a layout at one frequency, per ampere of each bar, at
// any point.
type Field struct {
	FreqHz  float64
	Method  string
	layout  *layout.Layout
	section section                // the plane section
	way     way                    // how it goes on along z
	end     int                    // of the range of permeabilities of iron: 1 the low one, 2 the high one, 0 both
	rough   bool                   // without the bound of the plane solver
	shares  *shares                // of the bars in the circuits
	images  []geom.Point           // what far surroundings may add per ampere of each bar, T/A
	steady  func() (*Field, error) // the same at 0 Hz, where the plane section is used at a frequency
}

// Bare reports whether the field is the closed form, of bars whole or in rectangles.
func (f *Field) Bare() bool {
	if w, ok := f.way.(blend); ok {
		return w.low.Bare() && w.high.Bare()
	}
	switch f.section.(type) {
	case bare, divided:
		return true
	}
	return false
}

// EddyBounded reports whether the field is the closed form of alternating current,
// whose bound holds what its uniform current density leaves out.
func (f *Field) EddyBounded() bool {
	s, ok := f.section.(bare)
	return ok && s.eddy != (eddyBound{})
}

// sectionAt returns the flux density at p in tesla per ampere of bar b in the plane
// section, as if bars and shields had no end.
//
// Formula: closedform.RectangleB, CircleB or PolygonB for a long straight bar
// with uniform current density; its bound is that of uniformDensityBound, and 1e-9 of the value for
// rounding. Where that is wide, strips.Solution. With shields, and where the current crowds, fem.Solve and its bound. Its allowance is that of
// far.go.
func (f *Field) sectionAt(p geom.Point, b layout.BarIndex) Vec {
	v := f.section.at(p, b, f.rough)
	v.Far += f.images[b].Norm()
	return v
}

// At returns the flux density at q in tesla per ampere of circuit c: in space where the
// layout is computed there, else of the plane section, the same for every z.
func (f *Field) At(q geom.Point3, c layout.CircuitIndex) Vec {
	return f.shares.sum(c, func(b layout.BarIndex) Reading { return Reading{B: f.way.at(f, q, b)} }).B
}

// Uniform returns the flux density at q in tesla per tesla of a uniform field along
// x, y and z, the field itself included. In the plane section a field along z
// passes shields and bars unchanged.
func (f *Field) Uniform(q geom.Point3) (along [3]Vec) { return f.way.uniform(f, q) }

// EndsT returns by how much the reading of a sensor per ampere of circuit c is off, over
// the given elements, since bars end or bend: the length of the error and its part
// on the axes, in T/A. Both are 0 in space.
func (f *Field) EndsT(elements []layout.Element, c layout.CircuitIndex) (wholeT, axisT float64) {
	return f.shares.ends(c, func(b layout.BarIndex) (float64, float64) { return f.way.endsT(f, elements, b) })
}

// OwnEndsT is EndsT per ampere of the current that s reads: of its circuit, or of one leg of it.
func (f *Field) OwnEndsT(s *layout.Sensor) (wholeT, axisT float64) {
	if s.Leg != layout.None {
		return f.way.endsT(f, s.Elements(), s.Leg)
	}
	return f.EndsT(s.Elements(), s.Circuit)
}

// Rough returns f without bounds.
func (f *Field) Rough() *Field {
	q := *f
	q.rough = true
	return &q
}
