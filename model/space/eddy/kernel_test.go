package eddy

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

func box(from, size geom.Point3) *body {
	var x [8]geom.Point3
	for i := range x {
		x[i] = from.Add(geom.Point3{X: size.X * float64(i&1), Y: size.Y * float64(i>>1&1), Z: size.Z * float64(i>>2&1)})
	}
	b := bodyOf(&x)
	return &b
}

// The mean of 1/|r−r'| in a unit cube is 1.88231 (twice the electrostatic energy of a uniformly
// charged cube, 0.941156; from memory). Two Gauss points each way find that of a cell with itself to a
// hundredth; cut in cells the mean of cells is that of the whole.
func TestMean(t *testing.T) {
	unit := geom.Point3{X: 1, Y: 1, Z: 1}
	if got := mean(box(geom.Point3{}, unit), box(geom.Point3{}, unit), nil); !(math.Abs(got/1.88231-1) < 1e-2) {
		t.Errorf("unit cube: %.5f", got)
	}
	var cells []*body
	const n = 3
	for i := range n * n * n {
		cells = append(cells, box(geom.Point3{X: float64(i % n), Y: float64(i / n % n), Z: float64(i / n / n)}.Scale(1.0/n), unit.Scale(1.0/n)))
	}
	sum := 0.0
	for _, a := range cells {
		for _, b := range cells {
			sum += mean(a, b, nil) / float64(len(cells)*len(cells))
		}
	}
	if !(math.Abs(sum/1.88231-1) < 1e-3) {
		t.Errorf("unit cube of cells: %.5f", sum)
	}
	// Where the expansion begins, flat cells side by side and one on the other, and an image.
	for _, at := range []geom.Point3{{X: 1}, {Z: 1}, {X: 1, Y: 0.3, Z: 0.7}} {
		a := box(geom.Point3{}, geom.Point3{X: 1, Y: 0.7, Z: 0.1})
		for _, mirror := range []*float64{nil, new(float64)} {
			b := box(at.Scale(farReaches*2*a.reach*1.001/at.Norm()), geom.Point3{X: 1, Y: 0.7, Z: 0.1})
			far := mean(a, b, mirror)
			near := 0.0
			for i, p := range a.gauss {
				if mirror != nil {
					p.Z = -p.Z
				}
				v, _ := b.of.integrals(p)
				near += a.weight[i] * v / b.volume
			}
			if !(math.Abs(far/near-1) < 1e-2) {
				t.Errorf("at %v: %.6f by the expansion, %.6f close by", at, far, near)
			}
		}
	}
}

// surface against closedform.Face, near and far, and the far form where it begins.
func TestSurface(t *testing.T) {
	b := box(geom.Point3{}, geom.Point3{X: 1, Y: 0.5, Z: 0.2})
	for _, q := range []geom.Point3{{X: 0.3, Y: 0.2, Z: 0.1}, {X: 1.2, Y: -0.1, Z: 0.4}, {X: 2, Y: 1, Z: 0.5}, {X: -3, Y: 2, Z: 4}} {
		var want geom.Point3
		for i, loop := range sideLoops {
			var corners []geom.Point3
			for _, k := range loop {
				corners = append(corners, b.of.corners[k])
			}
			v, _ := closedform.Face(q, corners)
			normal := [6]geom.Point3{{X: -1}, {X: 1}, {Y: -1}, {Y: 1}, {Z: -1}, {Z: 1}}[i]
			want = want.Add(normal.Scale(v / b.volume))
		}
		got := b.surface(q)
		if off := got.Sub(want).Norm(); !(off <= 5e-3*want.Norm()) {
			t.Errorf("at %v: %v, want %v", q, got, want)
		}
	}
}
