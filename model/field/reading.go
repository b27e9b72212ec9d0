package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// InSection returns what s reads per ampere of bar b in the plane section alone,
// as if bars and shields had no end, in T/A.
func (f *Field) InSection(s *layout.Sensor, b layout.BarIndex) Reading {
	return f.inSection(s, s.Elements(), b)
}

// inSection is InSection over the given elements of s.
func (f *Field) inSection(s *layout.Sensor, elements []layout.Element, b layout.BarIndex) Reading {
	var sum Vec
	for _, e := range elements {
		sum = sum.Add(f.sectionAt(e.At.XY(), b).Scale(complex(e.Sign, 0)))
	}
	return Reading{B: sum, Axis: OnAxis(sum, s.Axis.U)}
}

// Reading is what a sensor, or one of its elements, gets: the flux density of
// the element (for a pair the difference) and its component on the axis.
type Reading struct {
	B    Vec
	Axis bounded.Phasor
}

// OnAxis returns the component of v along the unit vector u. A field in the plane
// has no z component, so an axis that leans out of the plane reads less.
func OnAxis(v Vec, u geom.Point3) bounded.Phasor {
	n := 1.0
	if v.Z == 0 {
		n = math.Hypot(u.X, u.Y)
	}
	return bounded.Phasor{
		V:     v.X*complex(u.X, 0) + v.Y*complex(u.Y, 0) + v.Z*complex(u.Z, 0),
		Bound: v.Bound * n, Quad: v.Quad * n,
	}
}

// PerAmpere returns what sensor s reads per ampere of bar b, in T/A.
func (f *Field) PerAmpere(s *layout.Sensor, b layout.BarIndex) Reading {
	return f.way.reading(f, s, s.Elements(), b)
}

// ElementPerAmpere returns the component on the axis of s of each element's
// field per ampere of bar b, in T/A, without the sign of the element.
func (f *Field) ElementPerAmpere(s *layout.Sensor, b layout.BarIndex) []bounded.Phasor {
	var out []bounded.Phasor
	for _, e := range s.Elements() {
		out = append(out, f.way.reading(f, s, []layout.Element{{At: e.At, Sign: 1}}, b).Axis)
	}
	return out
}
