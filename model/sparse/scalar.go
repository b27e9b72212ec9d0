package sparse

import (
	"math"

	"busgauss/model/portable"
)

// Scalar is the kind of number a matrix holds.
type Scalar interface{ float64 | complex128 }

// modulus returns |z|. It is NaN when a part of z is NaN, even if the other is
// infinite, so that a comparison with it fails.
func modulus[T Scalar](z T) float64 {
	switch v := any(z).(type) {
	case float64:
		return math.Abs(v)
	case complex128:
		if math.IsNaN(real(v)) || math.IsNaN(imag(v)) {
			return math.NaN()
		}
		return portable.Hypot(real(v), imag(v))
	}
	return math.NaN()
}

// usable tells whether a pivot can be divided by: neither zero, NaN nor infinite.
func usable(size float64) bool { return size > 0 && size <= math.MaxFloat64 }
