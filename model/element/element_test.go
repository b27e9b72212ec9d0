package element

import (
	"math"
	"testing"
)

// Monomials over the reference triangle: ∫ ξ^a η^b = a! b!/(a+b+2)!
// (Zienkiewicz and Taylor, section 8.8).
func TestRuleDegrees(t *testing.T) {
	factorial := func(n int) float64 { return math.Gamma(float64(n + 1)) }
	for _, c := range []struct {
		name   string
		rule   []Node
		degree int
	}{{"3", Rule3(), 2}, {"6", Rule6(), 4}, {"7", Rule7(), 5}, {"square 4", RuleSquare(4), 6}, {"square 5", RuleSquare(5), 8}} {
		wrong := false
		for a := 0; a <= c.degree+1; a++ {
			for b := 0; a+b <= c.degree+1; b++ {
				sum := 0.0
				for _, q := range c.rule {
					sum += q.W * math.Pow(q.Xi, float64(a)) * math.Pow(q.Eta, float64(b))
				}
				want := factorial(a) * factorial(b) / factorial(a+b+2)
				bad := math.Abs(sum-want) > 1e-15
				if a+b <= c.degree && bad {
					t.Errorf("rule %s: ∫ ξ^%d η^%d = %.17g, want %.17g", c.name, a, b, sum, want)
				}
				wrong = wrong || bad
			}
		}
		if !wrong && c.name[0] != 's' {
			t.Errorf("rule %s is exact beyond its degree: the test sees nothing", c.name)
		}
	}
	for n := 1; n <= 12; n++ {
		for p := 0; p <= 2*n-1; p++ {
			sum := 0.0
			for _, q := range Gauss(n) {
				sum += q.W * math.Pow(q.X, float64(p))
			}
			if math.Abs(sum-1/float64(p+1)) > 3e-15 {
				t.Errorf("Gauss %d: ∫ x^%d = %.17g", n, p, sum)
			}
		}
	}
}

func TestShapeAndBubbles(t *testing.T) {
	nodes := [6][2]float64{{0, 0}, {1, 0}, {0, 1}, {0.5, 0}, {0.5, 0.5}, {0, 0.5}}
	for i, p := range nodes {
		for k, v := range Shape(p[0], p[1]) {
			want := 0.0
			if i == k {
				want = 1
			}
			if v != want {
				t.Errorf("shape %d at node %d = %g", k, i, v)
			}
		}
		for k, v := range Bubbles(p[0], p[1]) {
			if v != 0 {
				t.Errorf("bubble %d at node %d = %g", k, i, v)
			}
		}
	}
	const h = 1e-6
	for _, p := range [][2]float64{{0.2, 0.3}, {0.7, 0.1}} {
		dx, dy := ShapeGrad(p[0], p[1])
		a, b := Shape(p[0]+h, p[1]), Shape(p[0]-h, p[1])
		c, d := Shape(p[0], p[1]+h), Shape(p[0], p[1]-h)
		for i := range 6 {
			if math.Abs(dx[i]-(a[i]-b[i])/(2*h)) > 1e-9 || math.Abs(dy[i]-(c[i]-d[i])/(2*h)) > 1e-9 {
				t.Errorf("gradient of shape %d", i)
			}
		}
		bx, by := BubblesGrad(p[0], p[1])
		e, f := Bubbles(p[0]+h, p[1]), Bubbles(p[0]-h, p[1])
		g, k := Bubbles(p[0], p[1]+h), Bubbles(p[0], p[1]-h)
		for i := range 4 {
			if math.Abs(bx[i]-(e[i]-f[i])/(2*h)) > 1e-9 || math.Abs(by[i]-(g[i]-k[i])/(2*h)) > 1e-9 {
				t.Errorf("gradient of bubble %d", i)
			}
		}
	}
}

// The closed forms equal quadrature on a straight triangle.
func TestMatricesAgainstQuadrature(t *testing.T) {
	x := [6]float64{0.1, 2, 0.5}
	y := [6]float64{-0.3, 0.4, 1.7}
	for i := range 3 {
		x[3+i], y[3+i] = (x[i]+x[(i+1)%3])/2, (y[i]+y[(i+1)%3])/2
	}
	m, area := NewMetric(x[0], y[0], x[1], y[1], x[2], y[2])
	stiff, mass := Curved(&x, &y, Rule6())
	k, unit := m.Stiffness(), Mass()
	for i := range 6 {
		for j := range 6 {
			if math.Abs(k[i][j]-stiff[i][j]) > 1e-14 || math.Abs(unit[i][j]*area-mass[i][j]) > 1e-14 {
				t.Errorf("entry %d %d: stiffness %g and %g, mass %g and %g", i, j, k[i][j], stiff[i][j], unit[i][j]*area, mass[i][j])
			}
		}
	}
}
