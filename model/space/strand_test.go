package space

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// Strands of a bar that go and return: the field is μ0 times minus the gradient of the
// potential (J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.4: B has a scalar potential where no
// current flows), for a long bar, a straight one and one with bends; the open ends, where the potential is of
// closed strands, are far.
func TestStrandPotential(t *testing.T) {
	at := geom.Point{X: 6e-3, Y: 1.2e-3}
	back := geom.Point{X: -5e-3, Y: -0.8e-3}
	for name, b := range map[string]*layout.Bar{
		"long":     flat(18e-3, 4e-3),
		"straight": lengthOf(flat(18e-3, 4e-3), 2),
		"bent": runOf(flat(18e-3, 4e-3), geom.Point3{Y: 0.6, Z: -0.05}, geom.Point3{Z: -0.05}, geom.Point3{Z: 0.04},
			geom.Point3{Y: -0.5, Z: 0.04}),
	} {
		c, err := NewConductor(b)
		if err != nil {
			t.Fatal(err)
		}
		out, ret := c.Strand(at, back), c.Strand(back, back)
		for _, q := range []geom.Point3{{X: 3e-3, Y: 7e-3, Z: 2e-3}, {X: 15e-3, Y: -2e-3, Z: -8e-3}, {X: -9e-3, Y: -6e-3, Z: 20e-3}} {
			want := out.B(q).Sub(ret.B(q)).Scale(1 / si.Mu0HPerM)
			const h = 1e-6
			diff := func(d geom.Point3) float64 {
				return -(out.PotentialA(q.Add(d.Scale(h))) - out.PotentialA(q.Add(d.Scale(-h)))) / (2 * h)
			}
			got := geom.Point3{X: diff(geom.Point3{X: 1}), Y: diff(geom.Point3{Y: 1}), Z: diff(geom.Point3{Z: 1})}
			if e := got.Sub(want).Norm(); !(e <= 1e-3*want.Norm()) {
				t.Errorf("%s at %v: %v, want %v", name, q, got, want)
			}
		}
	}
}

// The same of a stretch, which closes on itself: nothing is far.
func TestStretchPotential(t *testing.T) {
	for name, b := range map[string]*layout.Bar{"long": flat(18e-3, 4e-3), "straight": lengthOf(flat(18e-3, 4e-3), 0.05)} {
		c, err := NewConductor(b)
		if err != nil {
			t.Fatal(err)
		}
		loop := c.Stretch(geom.Point{X: 6e-3, Y: 1.2e-3}, geom.Point{X: -1e-3}, -7e-3, 9e-3)
		for _, q := range []geom.Point3{{X: 3e-3, Y: 7e-3, Z: 2e-3}, {X: 15e-3, Y: -2e-3, Z: -8e-3}, {X: -9e-3, Y: -6e-3, Z: 20e-3}} {
			want := loop.B(q).Scale(1 / si.Mu0HPerM)
			const h = 1e-6
			diff := func(d geom.Point3) float64 {
				return -(loop.PotentialA(q.Add(d.Scale(h))) - loop.PotentialA(q.Add(d.Scale(-h)))) / (2 * h)
			}
			got := geom.Point3{X: diff(geom.Point3{X: 1}), Y: diff(geom.Point3{Y: 1}), Z: diff(geom.Point3{Z: 1})}
			if e := got.Sub(want).Norm(); !(e <= 1e-5*want.Norm()) {
				t.Errorf("%s at %v: %v, want %v", name, q, got, want)
			}
		}
	}
}

// Strands spread evenly over a section add up to the field of the bar (polyhedron, its
// source there), outside of it.
func TestStrandsMakeTheBar(t *testing.T) {
	for _, lengthM := range []float64{0, 0.3} {
		b := flat(18e-3, 4e-3)
		if lengthM > 0 {
			b = lengthOf(b, lengthM)
		}
		c, err := NewConductor(b)
		if err != nil {
			t.Fatal(err)
		}
		q := geom.Point3{X: 4e-3, Y: 6e-3, Z: 10e-3}
		const nx, ny = 90, 20
		var sum geom.Point3
		for i := range nx {
			for j := range ny {
				p := geom.Point{X: 18e-3 * ((float64(i)+0.5)/nx - 0.5), Y: 4e-3 * ((float64(j)+0.5)/ny - 0.5)}
				sum = sum.Add(c.Strand(p, geom.Point{}).B(q).Scale(1.0 / (nx * ny)))
			}
		}
		want, _ := c.B(q)
		if e := sum.Sub(want).Norm(); !(e <= 1e-3*want.Norm()) || math.IsNaN(e) {
			t.Errorf("%s: %v, want %v", fmt.Sprintf("%g m", lengthM), sum, want)
		}
	}
}

func lengthOf(b *layout.Bar, lengthM float64) *layout.Bar {
	b.LengthM = layout.Num{V: lengthM, Set: true}
	return b
}
