package field

import (
	"math"
	"math/cmplx"
)

// Vec is a flux density, in tesla or tesla per ampere, as peak
// phasors with e^{+jωt}. Bound is the half width of its error, of any phase;
// Quad that of an error which is known to be a quarter period away from the
// vector itself. Both are in the unit of X, Y and Z; Z is 0 in the plane section. Far is the allowance of
// far.go: see bounded.Phasor.
type Vec struct {
	X, Y, Z     complex128
	Bound, Quad float64
	Far         float64
}

// Norm returns the root of |X|² + |Y|² + |Z|².
func (v Vec) Norm() float64 {
	return math.Hypot(math.Hypot(cmplx.Abs(v.X), cmplx.Abs(v.Y)), cmplx.Abs(v.Z))
}

// Add returns the sum, bounds added.
func (v Vec) Add(w Vec) Vec {
	return Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z, v.Bound + w.Bound, v.Quad + w.Quad, v.Far + w.Far}
}

// Scale returns v times a phasor.
func (v Vec) Scale(c complex128) Vec {
	a := cmplx.Abs(c)
	return Vec{v.X * c, v.Y * c, v.Z * c, v.Bound * a, v.Quad * a, v.Far * a}
}

// Unknown says why a field cannot be given. A rule that meets one is undecided.
type Unknown struct {
	Reason string
}

// Error returns the reason.
func (u *Unknown) Error() string { return u.Reason }

// notKnown is a flux density of which nothing is known; rules find it undecided.
var notKnown = Vec{X: complex(math.NaN(), 0), Y: complex(math.NaN(), 0), Z: complex(math.NaN(), 0), Bound: math.NaN()}
