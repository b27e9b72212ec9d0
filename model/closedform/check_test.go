package closedform

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"busgauss/model/geom"

	"gonum.org/v1/gonum/integrate/quad"
)

// seed of every random test in this package.
const seed = 20240607

func newRand() *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.1g", what, got, want, tol)
	}
}

// sameField fails unless got and want differ by at most rel of |want|.
func sameField(t *testing.T, what string, got, want geom.Point, rel float64) {
	t.Helper()
	if e := relErr(got, want); !(e <= rel) {
		t.Errorf("%s = %.17g, want %.17g: off by %.2g, allowed %.1g", what, got, want, e, rel)
	}
}

func relErr(got, want geom.Point) float64 { return got.Sub(want).Norm() / want.Norm() }

func mm(x, y float64) geom.Point { return geom.Point{X: x * 1e-3, Y: y * 1e-3} }

func mm3(x, y, z float64) geom.Point3 { return geom.Point3{X: x * 1e-3, Y: y * 1e-3, Z: z * 1e-3} }

// between returns a number between lo and hi, even on a logarithmic scale.
func between(rng *rand.Rand, lo, hi float64) float64 {
	return lo * math.Pow(hi/lo, rng.Float64())
}

// The reference with 60 digits: the formula as printed, in big numbers.

const prec = 220

func bf(x float64) *big.Float { return new(big.Float).SetPrec(prec).SetFloat64(x) }

func num() *big.Float { return new(big.Float).SetPrec(prec) }

// bigLn takes square roots until x is near 1 and sums 2 artanh((x−1)/(x+1)).
func bigLn(x *big.Float) *big.Float {
	y, k := num().Set(x), 0
	for {
		d, _ := num().Sub(y, bf(1)).Float64()
		if math.Abs(d) < 1e-3 {
			break
		}
		y.Sqrt(y)
		k++
	}
	u := num().Quo(num().Sub(y, bf(1)), num().Add(y, bf(1)))
	sum := oddSeries(u, 1)
	return sum.SetMantExp(sum, k+1)
}

// bigAtan halves the angle until it is small and sums the series.
func bigAtan(x *big.Float) *big.Float {
	y, k := num().Set(x), 0
	for {
		d, _ := y.Float64()
		if math.Abs(d) < 1e-3 {
			break
		}
		r := num().Add(bf(1), num().Mul(y, y))
		y.Quo(y, r.Add(bf(1), r.Sqrt(r)))
		k++
	}
	sum := oddSeries(y, -1)
	return sum.SetMantExp(sum, k)
}

// oddSeries returns u + s u³/3 + u⁵/5 + s u⁷/7 …
func oddSeries(u *big.Float, s float64) *big.Float {
	sum, power, u2 := num(), num().Set(u), num().Mul(u, u)
	u2.Mul(u2, bf(s))
	for n := 1; n < 60; n += 2 {
		sum.Add(sum, num().Quo(power, bf(float64(n))))
		power.Mul(power, u2)
	}
	return sum
}

// bigF is F(u,v) = (v/2) ln(u²+v²) + u atan(v/u) with its limits.
func bigF(u, v *big.Float) *big.Float {
	r2 := num().Add(num().Mul(u, u), num().Mul(v, v))
	out := num()
	if r2.Sign() == 0 {
		return out
	}
	out.Mul(v, bigLn(r2))
	out.Quo(out, bf(2))
	if u.Sign() != 0 {
		out.Add(out, num().Mul(u, bigAtan(num().Quo(v, u))))
	}
	return out
}

// bigRectangle is the printed formula of RectangleB, without rearrangement.
func bigRectangle(p geom.Point, w, t, currentA float64) geom.Point {
	x1, x2 := num().Add(bf(p.X), bf(w/2)), num().Sub(bf(p.X), bf(w/2))
	y1, y2 := num().Add(bf(p.Y), bf(t/2)), num().Sub(bf(p.Y), bf(t/2))
	k := mu0Over2Pi * currentA / w / t
	four := func(a, b, c, d *big.Float) float64 {
		s := num().Sub(a, b)
		s.Sub(s, c)
		f, _ := s.Add(s, d).Float64()
		return f
	}
	return geom.Point{
		X: -k * four(bigF(y1, x1), bigF(y1, x2), bigF(y2, x1), bigF(y2, x2)),
		Y: k * four(bigF(x1, y1), bigF(x2, y1), bigF(x1, y2), bigF(x2, y2)),
	}
}

// integral returns the integral of f from a to b by panels of a Gauss rule.
func integral(f func(float64) float64, a, b float64, panels int) float64 {
	sum := 0.0
	for i := range panels {
		lo := a + (b-a)*float64(i)/float64(panels)
		hi := a + (b-a)*float64(i+1)/float64(panels)
		sum += quad.Fixed(f, lo, hi, 24, quad.Legendre{}, 0)
	}
	return sum
}

func TestBigReference(t *testing.T) {
	two, _ := bigLn(bf(2)).Float64()
	small, _ := bigLn(bf(1e-5)).Float64()
	quarter, _ := bigAtan(bf(1)).Float64()
	big, _ := bigAtan(bf(-1e6)).Float64()
	near(t, "ln 2", two, math.Ln2, 1e-16)
	near(t, "ln 1e-5", small, math.Log(1e-5), 2e-15)
	near(t, "atan 1", quarter, math.Pi/4, 1e-16)
	near(t, "atan -1e6", big, math.Atan(-1e6), 3e-16)
}
