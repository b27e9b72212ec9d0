package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/space/iron"
)

// Vec is a flux density, in tesla or tesla per ampere, as peak
// phasors with e^{+jωt}. Bound is the half width of its error, of any phase;
// Quad that of an error which is known to be a quarter period away from the
// vector itself. Both are in the unit of X, Y and Z; Z is 0 in the plane section. Far is the allowance of
// far.go: see bounded.Phasor. Saved is by how much less than Bound the error is along x, y and z.
type Vec struct {
	X, Y, Z     complex128
	Bound, Quad float64
	Far         float64
	Saved       [3]float64
}

// Norm returns the root of |X|² + |Y|² + |Z|².
func (v Vec) Norm() float64 {
	n := portable.Hypot(portable.Abs(v.X), portable.Abs(v.Y))
	if v.Z == 0 {
		return n
	}
	return portable.Hypot(n, portable.Abs(v.Z))
}

// Add returns the sum, bounds added.
func (v Vec) Add(w Vec) Vec {
	sum := Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z, v.Bound + w.Bound, v.Quad + w.Quad, v.Far + w.Far, v.Saved}
	for i, s := range w.Saved {
		sum.Saved[i] += s
	}
	return sum
}

// Scale returns v times a phasor.
func (v Vec) Scale(c complex128) Vec {
	if c == 1 {
		return v
	}
	a := portable.Abs(c)
	out := Vec{portable.Times(v.X, c), portable.Times(v.Y, c), portable.Times(v.Z, c), v.Bound * a, v.Quad * a, v.Far * a, v.Saved}
	for i := range out.Saved {
		out.Saved[i] *= a
	}
	return out
}

// boundOn returns the half width of the error of v along the unit vector u.
func (v Vec) boundOn(u geom.Point3) float64 {
	sum := float64(math.Abs(u.X)*(v.Bound-v.Saved[0])) + float64(math.Abs(u.Y)*(v.Bound-v.Saved[1])) + float64(math.Abs(u.Z)*(v.Bound-v.Saved[2]))
	return math.Min(v.Bound, sum)
}

// inIron returns v with the bound of iron in space, and rest of other parts.
func (v Vec) inIron(b iron.Bound, rest float64) Vec {
	v.Bound = b.T + rest
	v.Saved = [3]float64{b.T - b.Along.X, b.T - b.Along.Y, b.T - b.Along.Z}
	return v
}

// Unknown says why a field cannot be given. A rule that meets one is undecided.
type Unknown struct {
	Reason string
}

// Error returns the reason.
func (u *Unknown) Error() string { return u.Reason }

// notKnown is a flux density of which nothing is known; rules find it undecided.
var notKnown = Vec{X: complex(math.NaN(), 0), Y: complex(math.NaN(), 0), Z: complex(math.NaN(), 0), Bound: math.NaN()}
