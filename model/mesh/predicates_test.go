package mesh

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"
)

// Signs are compared with rational arithmetic of the standard library, which cannot round.

func rat(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }

func ratOrient(a, b, c geom.Point) int {
	sub := func(x, y float64) *big.Rat { return new(big.Rat).Sub(rat(x), rat(y)) }
	l := new(big.Rat).Mul(sub(a.X, c.X), sub(b.Y, c.Y))
	r := new(big.Rat).Mul(sub(a.Y, c.Y), sub(b.X, c.X))
	return l.Sub(l, r).Sign()
}

func ratInCircle(a, b, c, d geom.Point) int {
	sub := func(x, y float64) *big.Rat { return new(big.Rat).Sub(rat(x), rat(y)) }
	mul := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	p := [3][2]*big.Rat{}
	for i, q := range []geom.Point{a, b, c} {
		p[i] = [2]*big.Rat{sub(q.X, d.X), sub(q.Y, d.Y)}
	}
	sum := new(big.Rat)
	for i := range 3 {
		u, v, w := p[i], p[(i+1)%3], p[(i+2)%3]
		lift := new(big.Rat).Add(mul(u[0], u[0]), mul(u[1], u[1]))
		cross := new(big.Rat).Sub(mul(v[0], w[1]), mul(w[0], v[1]))
		sum.Add(sum, mul(lift, cross))
	}
	return sum.Sign()
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

func TestPredicatesAgainstRationals(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	nudge := func(x float64) float64 {
		for range r.IntN(4) {
			x = math.Nextafter(x, math.Inf(r.IntN(2)*2-1))
		}
		return x
	}
	zeros := [2]int{}
	for range 20000 {
		// Points on a line, and on a circle, moved by a few units in the last place.
		a := geom.Point{X: r.Float64(), Y: r.Float64()}
		dir := geom.Point{X: r.NormFloat64(), Y: r.NormFloat64()}
		along := func() geom.Point {
			f := math.Ldexp(r.NormFloat64(), r.IntN(20)-10)
			return geom.Point{X: nudge(a.X + f*dir.X), Y: nudge(a.Y + f*dir.Y)}
		}
		b, c := along(), along()
		if r.IntN(8) == 0 { // a point mirrored at small whole numbers is exactly on the line
			a, b = geom.Point{X: float64(r.IntN(99)), Y: float64(r.IntN(99))}, geom.Point{X: 0.5, Y: 0.25}
			c = geom.Point{X: 2*b.X - a.X, Y: 2*b.Y - a.Y}
		}
		if got, want := sign(orient(a, b, c)), ratOrient(a, b, c); got != want {
			t.Fatalf("seed %d: orient(%v, %v, %v) = %d, exact %d", seed, a, b, c, got, want)
		} else if want == 0 {
			zeros[0]++
		}
		on := func() geom.Point {
			s, co := math.Sincos(r.Float64() * 2 * math.Pi)
			return geom.Point{X: nudge(a.X + co*dir.X), Y: nudge(a.Y + s*dir.X)}
		}
		p, q, u, v := on(), on(), on(), on()
		if r.IntN(4) == 0 { // a rectangle is exactly on one circle
			p, q, u, v = geom.Point{X: a.X, Y: a.Y}, geom.Point{X: b.X, Y: a.Y}, geom.Point{X: b.X, Y: b.Y}, geom.Point{X: a.X, Y: b.Y}
		}
		if got, want := sign(inCircle(p, q, u, v)), ratInCircle(p, q, u, v); got != want {
			t.Fatalf("seed %d: inCircle(%v, %v, %v, %v) = %d, exact %d", seed, p, q, u, v, got, want)
		} else if want == 0 {
			zeros[1]++
		}
	}
	if zeros[0] < 1000 || zeros[1] < 1000 {
		t.Errorf("degenerate cases met: %v, want some of each", zeros)
	}
}
