package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// way is how the field of a layout goes on along z: long or solid.
type way interface {
	// at returns the flux density at q in tesla per ampere of bar b.
	at(f *Field, q geom.Point3, b layout.BarIndex) Vec
	// uniform returns the flux density at q in tesla per tesla along x, y and z.
	uniform(f *Field, q geom.Point3) [3]Vec
	// wall returns the flux density of shield i for the given currents.
	wall(f *Field, i layout.ShieldIndex, peakA []complex128) (Wall, error)
	// reading returns what the given elements of s read per ampere of bar b, with what
	// the ends of bars and shields may change in its bounds.
	reading(f *Field, s *layout.Sensor, elements []layout.Element, b layout.BarIndex) Reading
	// endsT returns the part of that bound which is due to the ends of bar b; see Field.EndsT.
	endsT(f *Field, elements []layout.Element, b layout.BarIndex) (wholeT, axisT float64)
	// change returns by how much the reading of s per ampere of bar b differs from still, the
	// same layout at 0 Hz, with the bound of the difference.
	change(f, still *Field, s *layout.Sensor, b layout.BarIndex) Reading
}

// long is the way of a field that is the same for every z, that of the plane section;
// the bounds of depth.go and ends.go hold what declared ends change.
type long struct{}

func (long) at(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	v := f.sectionAt(q.XY(), b)
	v.Bound += f.endsChange(q, b)
	return v
}

func (long) uniform(f *Field, q geom.Point3) (along [3]Vec) {
	along[0], along[1] = f.section.uniform(q.XY(), f.rough)
	along[2] = Vec{Z: 1}
	return along
}

func (long) wall(f *Field, i layout.ShieldIndex, peakA []complex128) (Wall, error) {
	return f.section.wall(i, peakA)
}

func (long) reading(f *Field, s *layout.Sensor, elements []layout.Element, b layout.BarIndex) Reading {
	r := finiteDepth(f.layout, s, b,
		f.withFar(Summed(elements, func(e layout.Element) Vec { return long{}.at(f, e.At, b) }), elements, b))
	whole, axis := f.sectionEndsT(elements, b)
	r.B.Bound += whole
	r.Axis.Bound += axis
	return r
}

func (long) endsT(f *Field, elements []layout.Element, b layout.BarIndex) (wholeT, axisT float64) {
	return f.sectionEndsT(elements, b)
}
