package field

import (
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// Field is the field of a layout at one frequency, per ampere of each bar, at
// any point of the plane.
type Field struct {
	FreqHz float64
	Method string
	layout *layout.Layout
	eddy   eddyBound   // of the closed form
	plane  *plane      // nil where the closed form holds, and where late is set
	late   *latePlane  // in space at 0 Hz with iron of small signals: only comparisons ask for the section
	rough  bool        // without the bound of plane
	space  *spaceField // nil where the plane section serves
	base   *Field      // in space: the same at 0 Hz with iron of small signals; nil where f is that one
}

// latePlane is a plane solution that is made when first asked for.
type latePlane struct {
	once  sync.Once
	make  func() (*plane, error)
	plane *plane
	err   error
}

// solved returns the plane solution, nil where the closed form holds.
func (f *Field) solved() (*plane, error) {
	if f.late == nil {
		return f.plane, nil
	}
	f.late.once.Do(func() { f.late.plane, f.late.err = f.late.make() })
	return f.late.plane, f.late.err
}

// Bare reports whether the field is the closed form.
func (f *Field) Bare() bool { return f.plane == nil && f.late == nil }

// EddyBounded reports whether the field is the closed form of alternating current,
// whose bound holds what its uniform current density leaves out.
func (f *Field) EddyBounded() bool { return f.Bare() && f.eddy != (eddyBound{}) }

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

// sectionAt returns the flux density at p in tesla per ampere of bar b in the plane
// section, as if bars and shields had no end.
//
// Formula: closedform.RectangleB, CircleB or PolygonB for a long straight bar
// with uniform current density; its bound is that of uniformDensityBound, of
// farT, and 1e-9 of the value for rounding. With shields, and where the current
// crowds, fem.Solve and its bound, and farT.
func (f *Field) sectionAt(p geom.Point, b layout.BarIndex) Vec {
	v := f.alone(p, b)
	v.Bound += f.farT(b)
	return v
}

// Uniform returns the flux density at q in tesla per tesla of a uniform field along
// x, y and z, the field itself included. In the plane section a field along z
// passes shields and bars unchanged.
func (f *Field) Uniform(q geom.Point3) (along [3]Vec) {
	if f.space == nil {
		along[0], along[1] = f.sectionUniform(q.XY())
		along[2] = Vec{Z: 1}
		return along
	}
	n := len(f.layout.Bars)
	for k := range along {
		along[k] = f.carried(f.space.at(q, n+k, f.rough), func(g *Field) Vec {
			x, y := g.sectionUniform(q.XY())
			return [3]Vec{x, y, {Z: 1}}[k]
		})
	}
	return along
}

// sectionUniform is Uniform in the plane section, for a field along x and along y.
func (f *Field) sectionUniform(p geom.Point) (alongX, alongY Vec) {
	section, err := f.solved()
	if err != nil {
		return notKnown, notKnown
	}
	if section == nil {
		e := f.eddy.neighbour // of idle bars in the field of something else
		return Vec{X: 1, Bound: e.inPhase, Quad: e.quadrature}, Vec{Y: 1, Bound: e.inPhase, Quad: e.quadrature}
	}
	n := len(f.layout.Bars)
	return section.at(p, n, n, f.rough), section.at(p, n+1, n, f.rough)
}

// Rough returns f without bounds.
func (f *Field) Rough() *Field {
	q := *f
	q.rough = true
	return &q
}
