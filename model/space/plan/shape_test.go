package plan

import (
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// elbow returns a bar of width w whose centre lines, legM long, meet at the origin
// and turn by turnRad towards +x, and its two mitred legs with even flow.
func elbow(w, t, legM, turnRad float64) (Plan, []sheet) {
	k := w / 2 * math.Tan(turnRad/2)
	in, out := geom.Point{X: w / 2, Y: -k}, geom.Point{X: -w / 2, Y: k}
	u := geom.Point{X: math.Sin(turnRad), Y: math.Cos(turnRad)}
	right := geom.Point{X: u.Y, Y: -u.X}
	end := u.Scale(legM)
	pol := geom.Polygon{{X: -w / 2, Y: -legM}, {X: w / 2, Y: -legM}, in, end.Add(right.Scale(w / 2)), end.Sub(right.Scale(w / 2)), out}
	tri := func(a, b, c, k geom.Point) (s sheet) {
		s.place(a, b, c)
		s.flow[0].k, s.flow[1].k = k.Scale(1/w), k.Scale(1/w)
		return s
	}
	z := geom.Point{Y: 1}
	return Plan{Region: geom.Solid(pol), Entry: 0, Exit: 3, ThicknessM: t},
		[]sheet{tri(pol[0], pol[1], in, z), tri(pol[0], in, out, z), tri(out, in, pol[3], u), tri(out, pol[3], pol[4], u)}
}

// Right angle: 1 − (2/π) ln 2 = 0.5587 squares for the corner square (P. M. Hall, Thin
// Solid Films 1 (1968) 277, from memory; fixtures/reference/analytic-cases.yaml).
func TestSquareCorner(t *testing.T) {
	want := 1 - 2/math.Pi*math.Ln2
	table := numbersAfter(t, blockOf(t, "analytic-cases.yaml", "sheet_resistance"), "right_angle_bend")
	near(t, "formula against table", want, table[0], 1e-4)
	p, _ := elbow(10e-3, 1e-3, 50e-3, math.Pi/2)
	for _, c := range []float64{1e-2, 1e-3, 1e-4} {
		f, err := SolvePlan(p, Options{Certainty: c})
		if err != nil {
			t.Fatal(err)
		}
		s, bound := f.Squares()
		got := s - 2*4.5
		t.Logf("certainty %g: %.6f ± %.1e, %d triangles", c, got, bound, f.Triangles)
		near(t, "corner", got, want, bound)
		near(t, "corner", got, want, c/5)
		if f.upper < want+9 || f.lower > want+9 {
			t.Errorf("energies %.8f and %.8f do not enclose %.8f", f.lower, f.upper, want+9)
		}
	}
}

// stepSquares is what an abrupt step of a strip to the share a of its width, on both
// edges alike, adds in squares; a step on one edge is half of such a pair, seen in the
// mirror of the straight edge, and adds twice as much:
//
//	(1/π) ln[ (1−a²)/(4a) · ((1+a)/(1−a))^((a+1/a)/2) ]
//
// Source: N. Marcuvitz, Waveguide Handbook (1951), section 5.26, static limit of
// the symmetrical change of height (from memory): its field lines are our
// equipotentials. For resistors: P. M. Hall, Thin Solid Films 1 (1968) 277.
func stepSquares(a float64) float64 {
	return math.Log((1-a*a)/(4*a)*math.Pow((1+a)/(1-a), (a+1/a)/2)) / math.Pi
}

func TestStep(t *testing.T) {
	for _, a := range []float64{0.2, 0.4, 0.75} {
		// A step far from both ends: the cut runs over the far end.
		for _, c := range []struct {
			cut   layout.Cut
			steps float64
		}{
			{neck(60, 60, 20*a), 1},
			{notch(60, 60, 20*(1-a), 1), 2},
			{notch(60, 60, 20*(1-a), -1), 2},
		} {
			f := solve(t, bar(20, 2, -60, 70, c.cut), Options{})
			s, bound := f.Squares()
			want := 90.0/20 + 40.0/(20*a) + c.steps*stepSquares(a)
			near(t, "squares behind a step", s, want, bound)
			near(t, "squares behind a step", s, want, 5e-4)
			extra, _ := f.ExtraSquares()
			near(t, "extra squares", extra, want-130.0/20, 5e-4)
		}
	}
	// Both ends of a long neck.
	f := solve(t, bar(20, 2, -100, 100, neck(0, 60, 8)), Options{})
	s, _ := f.Squares()
	near(t, "two steps", s, 140.0/20+60.0/8+2*stepSquares(0.4), 5e-4)
}

// A round hole in the middle of a strip of width w, radius a: a row of dipoles of
// polarisability 2πa² at the spacing w, each in the field of the others (lattice
// sum π²/3):
//
//	2π a²/w² / (1 − π²a²/(3w²))
//
// to the order (a/w)^8. Source: Lord Rayleigh, Phil. Mag. 34 (1892) 481-502.
func TestHole(t *testing.T) {
	for _, a := range []float64{0.05, 0.1, 0.15} {
		f := solve(t, bar(20, 2, -100, 100, hole(0, 0, 40*a)), Options{Certainty: 1e-4})
		got, bound := f.ExtraSquares()
		want := 2 * math.Pi * a * a / (1 - math.Pi*math.Pi*a*a/3)
		t.Logf("a/w = %g: %.6f ± %.1e, series %.6f, %d triangles", a, got, bound, want, f.Triangles)
		near(t, "hole", got, want, 3e-3*want+2*math.Pow(a, 8)*100)
		near(t, "hole", got, want, bound+20*math.Pow(a, 8))
	}
}
