package closedform_test

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// A square of side a, its potential at its own centre: 4 a ln(1+√2); at height h
// over the centre of a large square the normal field is the solid angle
// 4 asin(1/(1+(2h/a)²)). Source: textbook solid angle of a square (A. Van
// Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125); potential by direct integration.
func TestFaceOfASquare(t *testing.T) {
	const a = 0.02
	square := []geom.Point3{{X: -a / 2, Y: -a / 2}, {X: a / 2, Y: -a / 2}, {X: a / 2, Y: a / 2}, {X: -a / 2, Y: a / 2}}
	p, f := closedform.Face(geom.Point3{}, square)
	if want := 4 * a * math.Log(1+math.Sqrt2); math.Abs(p-want) > 1e-12*want || f.Norm() > 1e-12 {
		t.Errorf("centre: potential %g, want %g; field %v, want 0", p, want, f)
	}
	for _, h := range []float64{0.001, 0.01, -0.05} {
		_, f = closedform.Face(geom.Point3{Z: h}, square)
		k := 2 * h / a
		want := math.Copysign(4*math.Asin(1/(1+k*k)), h)
		if math.Abs(f.Z-want) > 1e-12*math.Abs(want) || math.Hypot(f.X, f.Y) > 1e-12 {
			t.Errorf("height %g: field %v, want z %g", h, f, want)
		}
	}
}

// The integrals against a fine product rule over an L-shaped polygon, and the
// field against differences of the potential, at points beside, over and below.
func TestFaceAgainstQuadrature(t *testing.T) {
	turn := func(x, y float64) geom.Point3 { // a plane that is no coordinate plane
		return geom.Point3{X: 0.6*x - 0.48*y + 0.1, Y: 0.8*x + 0.36*y, Z: 0.8 * y}
	}
	corners := [][2]float64{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 2}, {0, 2}}
	var face []geom.Point3
	for _, c := range corners {
		face = append(face, turn(c[0], c[1]))
	}
	const n = 400
	inside := func(x, y float64) bool { return y < 1 || x < 1 }
	for _, r := range []geom.Point3{{X: 2, Y: 1, Z: 3}, {X: -1, Y: 0.2, Z: 0.5}, {X: 0.7, Y: 2, Z: -1}} {
		var pot float64
		var field geom.Point3
		for i := range 3 * n {
			for j := range 2 * n {
				x, y := (float64(i)+0.5)/n, (float64(j)+0.5)/n
				if inside(x, y) {
					d := r.Sub(turn(x, y))
					k := 1 / (d.Norm() * n * n)
					pot += k
					field = field.Add(d.Scale(k / d.Dot(d)))
				}
			}
		}
		p, f := closedform.Face(r, face)
		if math.Abs(p-pot) > 1e-5*pot || f.Sub(field).Norm() > 1e-5*field.Norm() {
			t.Errorf("%v: potential %g, rule %g; field %v, rule %v", r, p, pot, f, field)
		}
		const h = 1e-5
		for k, e := range []geom.Point3{{X: h}, {Y: h}, {Z: h}} {
			up, _ := closedform.Face(r.Add(e), face)
			down, _ := closedform.Face(r.Sub(e), face)
			got := []float64{f.X, f.Y, f.Z}[k]
			if slope := -(up - down) / (2 * h); math.Abs(got-slope) > 1e-7 {
				t.Errorf("%v: field %d is %g, slope of the potential %g", r, k, got, slope)
			}
		}
	}
	// On the prolongation of an edge, on a corner and on an edge.
	on := turn(5, 0)
	p, f := closedform.Face(on, face)
	q, g := closedform.Face(on.Add(geom.Point3{X: 1e-9}), face)
	if math.Abs(p-q) > 1e-7 || !(f.Sub(g).Norm() < 1e-6) {
		t.Errorf("prolongation: %g %v, beside it %g %v", p, f, q, g)
	}
	for _, edge := range []geom.Point3{face[0], turn(2, 0)} {
		p, f = closedform.Face(edge, face)
		q, _ = closedform.Face(edge.Add(geom.Point3{Y: 1e-9}), face)
		if math.Abs(p-q) > 1e-6 || !math.IsNaN(f.X) {
			t.Errorf("edge: %g, beside it %g; field %v, want NaN", p, q, f)
		}
	}
}
