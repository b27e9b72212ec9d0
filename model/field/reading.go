package field

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// inSection returns what the given elements read per ampere of bar b in the plane
// section alone, as if bars and shields had no end, in T/A.
func (f *Field) inSection(elements []layout.Element, b layout.BarIndex) Reading {
	return f.withFar(Summed(elements, func(e layout.Element) Vec { return f.sectionAt(e.At.XY(), b) }), elements, b)
}

// Reading is what a sensor, or one of its elements, gets: the flux density of
// the element (for a pair the difference, for an array the weighted sum) and, each
// element on its own axis, the component that is read.
type Reading struct {
	B    Vec
	Axis bounded.Phasor
}

// Add returns the sum of two readings, bounds added.
func (r Reading) Add(o Reading) Reading { return Reading{r.B.Add(o.B), r.Axis.Add(o.Axis)} }

// Scale returns r times a phasor.
func (r Reading) Scale(c complex128) Reading { return Reading{r.B.Scale(c), r.Axis.Scale(c)} }

// roundOff is the share of what is summed that arithmetic leaves where elements cancel or an axis lies across
// the field: places and angles of a layout carry some fifteen digits.
const roundOff = 1e-11

// Summed returns the reading of elements in the flux density that at gives at each. What is left of elements that
// cancel by symmetry is nothing: its digits would be those of round-off.
func Summed(elements []layout.Element, at func(layout.Element) Vec) Reading {
	var out Reading
	size := 0.0
	for _, e := range elements {
		v := at(e).Scale(complex(e.Weight, 0))
		out.B = out.B.Add(v)
		a := OnAxis(v, e.U)
		out.Axis = bounded.Phasor{V: out.Axis.V + a.V, Bound: out.Axis.Bound + a.Bound, Quad: out.Axis.Quad + a.Quad,
			Far: out.Axis.Far + a.Far}
		size += v.Norm()
	}
	if portable.Abs(out.Axis.V) <= roundOff*size {
		out.Axis.V = 0
	}
	return out
}

// ReadsNothing says of s that it reads nothing of its own current, and why; where ownT, what it reads, is NaN, that it is not
// known.
func ReadsNothing(l *layout.Layout, s *layout.Sensor, ownT float64) string {
	if math.IsNaN(ownT) {
		return fmt.Sprintf("what it reads of %s is not known", l.ReadName(s))
	}
	if len(s.Elements()) > 1 {
		return fmt.Sprintf("its elements cancel the field of %s, of which it reads nothing", l.ReadName(s))
	}
	return fmt.Sprintf("its axis lies across the field of %s, of which it reads nothing", l.ReadName(s))
}

// OnAxis returns the component of v along the unit vector u. A field in the plane
// has no z component, so an axis that leans out of the plane reads less.
func OnAxis(v Vec, u geom.Point3) bounded.Phasor {
	n, bound := 1.0, v.boundOn(u)
	if v.Z == 0 {
		n = portable.Hypot(u.X, u.Y)
		bound = math.Min(bound, v.Bound*n)
	}
	return bounded.Phasor{
		V:     portable.Times(v.X, complex(u.X, 0)) + portable.Times(v.Y, complex(u.Y, 0)) + portable.Times(v.Z, complex(u.Z, 0)),
		Bound: bound, Quad: v.Quad * n, Far: v.Far * n,
	}
}

// OfBar returns what sensor s reads per ampere of bar b, in T/A.
func (f *Field) OfBar(s *layout.Sensor, b layout.BarIndex) Reading {
	return f.way.reading(f, s, s.Elements(), b)
}

// PerAmpere returns what sensor s reads per ampere of circuit c, in T/A: of all its bars,
// each with its share.
func (f *Field) PerAmpere(s *layout.Sensor, c layout.CircuitIndex) Reading {
	return f.perAmpere(s, s.Elements(), c)
}

func (f *Field) perAmpere(s *layout.Sensor, elements []layout.Element, c layout.CircuitIndex) Reading {
	return f.shares.sum(c, func(b layout.BarIndex) Reading { return f.way.reading(f, s, elements, b) })
}

// InSection is PerAmpere in the plane section alone, as if bars and shields had no end.
func (f *Field) InSection(s *layout.Sensor, c layout.CircuitIndex) Reading {
	return f.shares.sum(c, func(b layout.BarIndex) Reading { return f.inSection(s.Elements(), b) })
}

// Own returns what sensor s reads per ampere of the current that it reads, in T/A: of its
// circuit, or of one leg of it.
func (f *Field) Own(s *layout.Sensor) Reading { return f.own(s, s.Elements()) }

// OwnOf is Own of other elements than those of s.
func (f *Field) OwnOf(s *layout.Sensor, elements []layout.Element) Reading { return f.own(s, elements) }

func (f *Field) own(s *layout.Sensor, elements []layout.Element) Reading {
	if s.Leg != layout.None {
		return f.way.reading(f, s, elements, s.Leg)
	}
	return f.perAmpere(s, elements, s.Circuit).Scale(complex(s.Sign, 0))
}

// Beside returns what sensor s reads per ampere of circuit c beside the current that it
// reads, in T/A: nothing of its own circuit, or what other legs of it do.
func (f *Field) Beside(s *layout.Sensor, c layout.CircuitIndex) Reading {
	switch {
	case s.Leg != layout.None:
		leg := f.shares.of(s.Leg, c)
		return f.PerAmpere(s, c).Add(f.OfBar(s, s.Leg).Scale(-leg))
	case c == s.Circuit:
		return Reading{}
	}
	return f.PerAmpere(s, c)
}

// OwnInSection is Own in the plane section alone.
func (f *Field) OwnInSection(s *layout.Sensor) Reading {
	if s.Leg != layout.None {
		return f.inSection(s.Elements(), s.Leg)
	}
	return f.InSection(s, s.Circuit).Scale(complex(s.Sign, 0))
}

// OwnWithoutEnds is Own without the bounds of what the ends of shields take, which are
// common to all currents.
func (f *Field) OwnWithoutEnds(s *layout.Sensor) Reading {
	if f.solid() {
		return f.Own(s)
	}
	return f.OwnInSection(s)
}

// BesideInSection is Beside in the plane section alone.
func (f *Field) BesideInSection(s *layout.Sensor, c layout.CircuitIndex) Reading {
	switch {
	case s.Leg != layout.None:
		return f.InSection(s, c).Add(f.inSection(s.Elements(), s.Leg).Scale(-f.shares.of(s.Leg, c)))
	case c == s.Circuit:
		return Reading{}
	}
	return f.InSection(s, c)
}

// OwnA returns the current that s reads where the circuits carry circuitA.
func (f *Field) OwnA(s *layout.Sensor, circuitA []complex128) complex128 {
	if s.Leg != layout.None {
		return f.shares.BarsA(circuitA)[s.Leg]
	}
	return portable.Times(circuitA[s.Circuit], complex(s.Sign, 0))
}

// single is element i by itself: with the weight 1, which it has from here on.
func single(elements []layout.Element, i int) []layout.Element {
	elements[i].Weight = 1
	return elements[i : i+1]
}

// ElementPerAmpere returns the component on its axis of each element's field per
// ampere of circuit c, in T/A, without the weight of the element.
func (f *Field) ElementPerAmpere(s *layout.Sensor, c layout.CircuitIndex) []bounded.Phasor {
	elements := s.Elements()
	out := make([]bounded.Phasor, len(elements))
	for i := range elements {
		out[i] = f.perAmpere(s, single(elements, i), c).Axis
	}
	return out
}

// ElementOwn is ElementPerAmpere per ampere of the current that s reads.
func (f *Field) ElementOwn(s *layout.Sensor) []bounded.Phasor {
	elements := s.Elements()
	out := make([]bounded.Phasor, len(elements))
	for i := range elements {
		out[i] = f.own(s, single(elements, i)).Axis
	}
	return out
}
