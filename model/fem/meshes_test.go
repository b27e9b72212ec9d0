package fem

import (
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// threeBars is three bars, each in a channel of iron with permeability mu, and places beside the first sensor.
func threeBars(mu float64) *Problem {
	box := func(x, y, w, h float64) geom.Polygon {
		return geom.Polygon{{X: x - w/2, Y: y - h/2}, {X: x + w/2, Y: y - h/2}, {X: x + w/2, Y: y + h/2}, {X: x - w/2, Y: y + h/2}}
	}
	p := &Problem{}
	var channels []Piece
	for _, x := range []float64{-35e-3, 0, 35e-3} {
		p.Pieces = append(p.Pieces, Piece{Name: "bar", IsBar: true, Region: geom.Solid(box(x, 0, 14e-3, 3e-3)), SigmaSPerM: 50e6})
		p.Sensors = append(p.Sensors, geom.Point{X: x, Y: 5e-3})
		out, in, low, high := 11e-3, 9.5e-3, -5e-3, 9e-3
		channels = append(channels, Piece{Name: "channel", MuRel: mu, SigmaSPerM: 2e6, SheetM: 0.2e-3, Region: geom.Solid(geom.Polygon{
			{X: x - out, Y: low}, {X: x + out, Y: low}, {X: x + out, Y: high}, {X: x + in, Y: high},
			{X: x + in, Y: low + 1.5e-3}, {X: x - in, Y: low + 1.5e-3}, {X: x - in, Y: high}, {X: x - out, Y: high}})})
	}
	p.Pieces = append(p.Pieces, channels...)
	return p
}

// A first mesh that is kept changes nothing; a solution on the mesh of another permeability agrees with one of its
// own within both bounds, and takes that mesh where it is good enough.
func TestMeshes(t *testing.T) {
	for _, hz := range []float64{0, 50} {
		kept := Options{Meshes: &Meshes{}}
		high, err := Solve(threeBars(4000), hz, kept)
		if err != nil {
			t.Fatal(err)
		}
		own, err := Solve(threeBars(2500), hz, Options{})
		if err != nil {
			t.Fatal(err)
		}
		same, err := Solve(threeBars(2500), hz, kept)
		if err != nil {
			t.Fatal(err)
		}
		kept.Like = high
		like, err := Solve(threeBars(2500), hz, kept)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(kept.Meshes.kept); n != 1 {
			t.Errorf("%g Hz: %d first meshes of one arrangement", hz, n)
		}
		if like.Levels != 1 || like.Unknowns != high.Unknowns {
			t.Errorf("%g Hz: %d levels, %d unknowns on the mesh of %d", hz, like.Levels, like.Unknowns, high.Unknowns)
		}
		for i, q := range own.p.Sensors {
			ax, ay, a := own.B(q, i)
			if bx, by, b := same.B(q, i); ax != bx || ay != by || a != b {
				t.Errorf("%g Hz, sensor %d: a first mesh that is kept changes %g, %g ± %g to %g, %g ± %g", hz, i, ax, ay, a, bx, by, b)
			}
			bx, by, b := like.B(q, i)
			if d := cmplx.Abs(bx-ax) + cmplx.Abs(by-ay); !(d <= a+b) {
				t.Errorf("%g Hz, sensor %d: %g, %g ± %g on the mesh of another, %g, %g ± %g", hz, i, bx, by, b, ax, ay, a)
			}
		}
	}
}
