package plan

import (
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// The field of the true flow round a corner less that of two mitred legs with
// even flow, over points at a distance d of the mitre face, against the formula; and the
// moment k of the loop by which the two flows differ.
func TestMitreError(t *testing.T) {
	rows := []struct {
		turnDeg, height, k float64
	}{{90, 0.01, 0.1885}, {90, 1, 0.1885}, {45, 0.05, 0.0710}, {120, 0.15, 0.3662}}
	if testing.Short() {
		rows = rows[:1]
	}
	for _, r := range rows {
		turn := r.turnDeg * math.Pi / 180
		p, legs := elbow(1, r.height, 6, turn)
		f, err := SolvePlan(p, Options{Certainty: 2e-3})
		if err != nil {
			t.Fatal(err)
		}
		moment := 0.0
		for _, sh := range f.mesh {
			moment += sh.moment()
		}
		for _, sh := range legs {
			moment -= sh.moment()
		}
		near(t, "moment of the loop", math.Abs(moment), r.k, 2e-3*r.k)
		if limit := 0.19 * math.Tan(turn/2); r.turnDeg <= 90 && math.Abs(moment) > limit {
			t.Errorf("moment %g above %g", moment, limit)
		}
		worst, loosest, at90 := 0.0, 0.0, 0.0
		for _, d := range []float64{0.05, 0.25, 1, 3, 5} {
			largest := 0.0
			for _, q := range aboutMitre(p, d) {
				b, _ := f.B(q)
				var sum twoFields
				at, h1, h2 := f.foot(q)
				for n := range legs {
					legs[n].add(at, h1, h2, &sum)
				}
				largest = max(largest, b.Sub(sum[0].Scale(si.Mu0HPerM/(4*math.Pi*r.height))).Norm())
			}
			ratio := largest / MitreErrorT(1, 1, turn, d)
			worst, loosest = max(worst, ratio), max(loosest, 1/ratio)
			if d == 3 {
				at90 = largest * 2 * math.Pi * d / si.Mu0HPerM
			}
		}
		t.Logf("turn %g°, height %g: error/bound %.2f to %.2f; at 3 w %.3f of a straight bar's field", r.turnDeg, r.height, 1/loosest, worst, at90)
		if worst > 1 {
			t.Errorf("turn %g°, height %g: error %g times the formula", r.turnDeg, r.height, worst)
		}
		if loosest > 40 {
			t.Errorf("turn %g°: the formula is %g times too high somewhere", r.turnDeg, loosest)
		}
	}
	if v := MitreErrorT(-100, 0.02, math.Pi/2, 0.06); !(v > 0) || math.Abs(v/MitreErrorT(1, 0.01, math.Pi/2, 0.03)-50) > 1e-9 {
		t.Errorf("scale: %g", v)
	}
	for _, v := range []float64{MitreErrorT(1, 1, 2.2, 1), MitreErrorT(1, 0, 1, 1), MitreErrorT(1, 1, 1, 0.01), MitreErrorT(1, 1, -0.1, 1)} {
		if !math.IsNaN(v) {
			t.Errorf("%g outside the domain", v)
		}
	}
}

// moment returns ½ ∫ (z Kx − x Kz) dA, exact for linear K by the middles of the edges.
func (sh *sheet) moment() float64 {
	sum := 0.0
	for i := range 3 {
		q := sh.corner[i].Add(sh.corner[(i+1)%3]).Scale(0.5)
		k := sh.flow[0].at(q.Sub(sh.centre))
		sum += (q.Y*k.X - q.X*k.Y) * sh.areaM2 / 6
	}
	return sum
}

// aboutMitre returns points at the distance d from the mitre face of an elbow of
// width 1: over its line, round its ends, and at heights from the middle to above.
func aboutMitre(p Plan, d float64) []geom.Point3 {
	in, out := p.Region.Outer[2], p.Region.Outer[5]
	length := out.Sub(in).Norm()
	along := out.Sub(in).Scale(1 / length)
	across := geom.Point{X: -along.Y, Y: along.X}
	var pts []geom.Point3
	add := func(q geom.Point, y float64) { pts = append(pts, geom.Point3{X: q.X, Y: y, Z: q.Y}) }
	for i := range 6 {
		s, c := math.Sincos(math.Pi / 2 * float64(i) / 4)
		y := p.ThicknessM/2 + d*s
		if i == 5 {
			y, c = 0, 1
		}
		r := d * c
		for j := range 33 {
			sa, ca := math.Sincos(math.Pi * float64(j) / 32)
			add(in.Add(along.Scale(-r*sa)).Add(across.Scale(r*ca)), y)
			add(out.Add(along.Scale(r*sa)).Add(across.Scale(r*ca)), y)
			middle := in.Add(along.Scale(length * float64(j) / 32))
			add(middle.Add(across.Scale(r)), y)
			add(middle.Sub(across.Scale(r)), y)
		}
	}
	return pts
}
