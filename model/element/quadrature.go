package element

import (
	"math"

	"busgauss/model/portable"
)

// Node is a point of a rule on the reference triangle; weights of a rule sum to
// the area 1/2.
type Node struct{ Xi, Eta, W float64 }

// Rule3 returns three points, exact for polynomials of degree 2: products of the
// gradients of the straight six-node triangle.
func Rule3() []Node {
	const a, b, w = 1.0 / 6, 2.0 / 3, 1.0 / 6
	return []Node{{a, a, w}, {b, a, w}, {a, b, w}}
}

// Rule6 returns six points, exact for degree 4: products of shape functions.
//
// Source: G. R. Cowper, Gaussian quadrature formulas for triangles, Int. J.
// Numer. Meth. Engng 7 (1973) 405-408 (from memory; degree checked by test).
func Rule6() []Node {
	const (
		a, wa = 0.44594849091596488632, 0.22338158967801146570 / 2
		b, wb = 0.09157621350977074346, 0.10995174365532186764 / 2
	)
	return []Node{
		{a, a, wa}, {1 - 2*a, a, wa}, {a, 1 - 2*a, wa},
		{b, b, wb}, {1 - 2*b, b, wb}, {b, 1 - 2*b, wb},
	}
}

// Rule7 returns seven points, exact for degree 5.
//
// Source: J. Radon, Monatsh. Math. Phys. 52 (1948) 286 (from memory; degree
// checked by test).
func Rule7() []Node {
	s := math.Sqrt(15)
	a, b := (6-s)/21, (6+s)/21
	wa, wb := (155-s)/2400, (155+s)/2400
	return []Node{
		{1.0 / 3, 1.0 / 3, 9.0 / 80},
		{a, a, wa}, {1 - 2*a, a, wa}, {a, 1 - 2*a, wa},
		{b, b, wb}, {1 - 2*b, b, wb}, {b, 1 - 2*b, wb},
	}
}

// RuleSquare returns n² points, exact for degree 2n−2: Gauss points of a square
// folded on to the triangle, (ξ, η) = (u, v (1 − u)).
//
// Source: A. H. Stroud, Approximate Calculation of Multiple Integrals (1971),
// conical product rule (from memory; degree checked by test).
func RuleSquare(n int) []Node {
	g := Gauss(n)
	out := make([]Node, 0, n*n)
	for _, u := range g {
		for _, v := range g {
			out = append(out, Node{u.X, v.X * (1 - u.X), u.W * v.W * (1 - u.X)})
		}
	}
	return out
}

// Point is a point of a rule on [0, 1]; weights sum to 1.
type Point struct{ X, W float64 }

// Gauss returns the Gauss-Legendre rule of n points on [0, 1], exact for degree
// 2n−1. n below 1 panics.
//
// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions,
// 25.4.29; the roots by Newton's method.
func Gauss(n int) []Point {
	if n < 1 {
		panic("element: a rule needs a point")
	}
	out := make([]Point, n)
	for i := range out {
		x := portable.Cos(math.Pi * (float64(n-i) - 0.25) / (float64(n) + 0.5))
		var d float64
		for range 50 {
			p0, p1 := 1.0, x
			for k := 2; k <= n; k++ {
				p0, p1 = p1, (float64(float64(2*k-1)*x*p1)-float64(float64(k-1)*p0))/float64(k)
			}
			d = float64(n) * (float64(x*p1) - p0) / (float64(x*x) - 1)
			step := p1 / d
			x -= step
			if math.Abs(step) < 1e-16 {
				break
			}
		}
		if n%2 == 1 && i == n/2 {
			x = 0
			p0, p1 := 1.0, 0.0
			for k := 2; k <= n; k++ {
				p0, p1 = p1, -float64(k-1)*p0/float64(k)
			}
			d = float64(n) * p0
		}
		out[i] = Point{(1 + x) / 2, 1 / ((1 - float64(x*x)) * d * d)}
	}
	return out
}
