package bounded

import (
	"math"

	"busgauss/model/portable"
)

// Phasor is a complex number with its bounds: Bound is the half width of its error, of
// any phase; Quad that of an error which is known to be a quarter period away from the
// number itself. Far is an allowance for iron and walls far away, of which nothing is said. It counts where the number
// is judged and is no error of the computation.
type Phasor struct {
	V           complex128
	Bound, Quad float64
	Far         float64
}

// Add returns the sum, bounds added. Where the two are not in phase, an error in
// quadrature to one of them has no known phase against the sum.
func (a Phasor) Add(b Phasor) Phasor {
	sum := Phasor{a.V + b.V, a.Bound + b.Bound, a.Quad + b.Quad, a.Far + b.Far}
	cross := float64(real(a.V)*imag(b.V)) - float64(imag(a.V)*real(b.V))
	if math.Abs(cross) > 1e-9*portable.Abs(a.V)*portable.Abs(b.V) {
		sum.Bound, sum.Quad = sum.Bound+sum.Quad, 0
	}
	return sum
}

// Scale returns a times a phasor.
func (a Phasor) Scale(c complex128) Phasor {
	s := portable.Abs(c)
	return Phasor{portable.Times(a.V, c), a.Bound * s, a.Quad * s, a.Far * s}
}

// Abs returns the magnitude with its bounds: an error of any phase adds to it
// or takes from it, one in quadrature can only lengthen it.
func (a Phasor) Abs() Estimate {
	v := portable.Abs(a.V)
	return Estimate{Value: v, Low: math.Max(0, v-a.Bound-a.Far), High: portable.Hypot(v+a.Bound, a.Quad) + a.Far}
}
