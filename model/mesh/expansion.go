package mesh

import "math"

// Expansions are sums of doubles ordered by rising magnitude that do not overlap, so that the sign of the
// sum is the sign of its last term.
//
// Source: J. R. Shewchuk, Adaptive precision floating-point arithmetic and fast robust geometric predicates,
// Discrete Comput. Geom. 18 (1997) 305, doi:10.1007/PL00009321, section 2. Products use the fused
// multiply-add in place of Dekker's splitting. Overflow and underflow are outside the theory; Triangulate
// refuses coordinates that could reach either.

// twoSum returns the rounded sum and its exact error.
func twoSum(a, b float64) (x, y float64) {
	x = a + b
	bv := x - a
	av := x - bv
	return x, (a - av) + (b - bv)
}

// twoDiff returns the rounded difference a-b and its exact error.
func twoDiff(a, b float64) (x, y float64) {
	x = a - b
	bv := a - x
	av := x + bv
	return x, (a - av) + (bv - b)
}

// twoProduct returns the rounded product and its exact error. The conversion keeps the compiler from
// contracting the product into a later sum.
func twoProduct(a, b float64) (x, y float64) {
	x = float64(a * b)
	return x, math.FMA(a, b, -x)
}

// sumExpansion writes e+f without zero terms into h, which holds at least len(e)+len(f) terms and overlaps
// neither, and returns the part used (at least one term). Inputs are strongly non-overlapping, as every
// result in this file is. Source: as above, theorem 13 (fast expansion sum).
func sumExpansion(e, f, h []float64) []float64 {
	n, i, j := 0, 0, 0
	q := 0.0
	for i < len(e) || j < len(f) {
		var next float64
		if j >= len(f) || (i < len(e) && math.Abs(e[i]) < math.Abs(f[j])) {
			next, i = e[i], i+1
		} else {
			next, j = f[j], j+1
		}
		var low float64
		q, low = twoSum(q, next)
		if low != 0 {
			h[n] = low
			n++
		}
	}
	if q != 0 || n == 0 {
		h[n] = q
		n++
	}
	return h[:n]
}

// scaleExpansion writes b·e without zero terms into h, which holds at least 2·len(e) terms and does not
// overlap e, and returns the part used.
func scaleExpansion(e []float64, b float64, h []float64) []float64 {
	n := 0
	q, low := twoProduct(e[0], b)
	if low != 0 {
		h[n] = low
		n++
	}
	for _, term := range e[1:] {
		p1, p0 := twoProduct(term, b)
		var s float64
		s, low = twoSum(q, p0)
		if low != 0 {
			h[n] = low
			n++
		}
		q, low = twoSum(p1, s)
		if low != 0 {
			h[n] = low
			n++
		}
	}
	if q != 0 || n == 0 {
		h[n] = q
		n++
	}
	return h[:n]
}

// multiplyExpansion returns e·f in a new slice. Only the rare fully exact branch uses it, so it allocates.
func multiplyExpansion(e, f []float64) []float64 {
	sum := []float64{0}
	part := make([]float64, 2*len(e))
	for _, term := range f {
		p := scaleExpansion(e, term, part)
		sum = sumExpansion(sum, p, make([]float64, len(sum)+len(p)))
	}
	return sum
}

// addExpansions returns e+f in a new slice.
func addExpansions(e, f []float64) []float64 {
	return sumExpansion(e, f, make([]float64, len(e)+len(f)))
}

// negateExpansion returns -e in a new slice.
func negateExpansion(e []float64) []float64 {
	h := make([]float64, len(e))
	for i, term := range e {
		h[i] = -term
	}
	return h
}

// crossTerms writes a·d - b·c (four exact terms at most) into h and returns the part used.
func crossTerms(a, d, b, c float64, h *[4]float64) []float64 {
	p1, p0 := twoProduct(a, d)
	q1, q0 := twoProduct(b, c)
	e := [2]float64{p0, p1}
	f := [2]float64{-q0, -q1}
	return sumExpansion(e[:], f[:], h[:])
}
