// Package check holds what numerical tests share. Only tests import it.
package check

import (
	"math"

	"busgauss/model/portable"
)

// Order returns the observed order of convergence between two meshes:
//
//	p = ln(e1/e2) / ln(h1/h2)
//
// e the errors, h the sizes, h1 > h2. NaN when an error or size is not positive,
// or the sizes are the same.
//
// Source: P. J. Roache, Verification and Validation in Computational Science and
// Engineering, Hermosa 1998, section 5.5 (from memory).
func Order(h1, e1, h2, e2 float64) float64 {
	if !(h1 > h2 && h2 > 0 && e1 > 0 && e2 > 0) {
		return math.NaN()
	}
	return portable.Log(e1/e2) / portable.Log(h1/h2)
}

// Orders returns the observed order of each step of a sequence of meshes, sizes
// falling.
func Orders(h, e []float64) []float64 {
	if len(h) != len(e) {
		panic("check: one error for each size")
	}
	out := make([]float64, 0, len(h))
	for i := 1; i < len(h); i++ {
		out = append(out, Order(h[i-1], e[i-1], h[i], e[i]))
	}
	return out
}

// IsOrder says whether every observed order lies within tol of want. Too high
// fails as well: it means that the errors are not what they are said to be.
func IsOrder(h, e []float64, want, tol float64) bool {
	if len(h) < 3 {
		return false
	}
	for _, p := range Orders(h, e) {
		if !(math.Abs(p-want) <= tol) {
			return false
		}
	}
	return true
}
