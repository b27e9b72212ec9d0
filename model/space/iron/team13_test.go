package iron

import (
	"flag"
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/material"
)

// Benchmark problem 13 of the TEAM workshop: a plate between two offset channels of
// steel, magnetised by a racetrack coil. Its plates are prisms along its y, so the frame
// here is (z, x, y) of the problem. Data and measurements: fixtures/reference/team13.yaml.

// team13Curve reads the curve of bh-curves.yaml and its extension by formula.
func team13Curve(t testing.TB) *material.Curve {
	t.Helper()
	text, err := fs.ReadFile(fixtures.FS, "reference/bh-curves.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "team13_steel:")
	_, after, _ = strings.Cut(after, "points: ")
	line, _, _ := strings.Cut(after, "\n")
	var points []material.CurvePoint
	for _, m := range regexp.MustCompile(`\[([0-9.]+),([0-9.]+)\]`).FindAllStringSubmatch(line, -1) {
		h, _ := strconv.ParseFloat(m[1], 64)
		b, _ := strconv.ParseFloat(m[2], 64)
		points = append(points, material.CurvePoint{FieldAPerM: h, FluxDensityT: b})
	}
	if len(points) != 27 {
		t.Fatalf("%d points of the curve, want 27", len(points))
	}
	const mu0 = 4e-7 * math.Pi
	for h := 12000.0; h < 48000; h *= 1.2 {
		points = append(points, material.CurvePoint{FieldAPerM: h, FluxDensityT: mu0*h - 2.381e-10*h*h + 2.327e-5*h + 1.590})
	}
	c, err := material.NewCurve(points, material.Linear)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// team13Coil is the racetrack coil as filaments at the Gauss points of its section, per
// ampere-turn, in the frame of the problem.
func team13Coil() Source {
	type piece struct{ a, b geom.Point3 }
	var lines []piece
	var weight []float64
	gauss := func(n int) ([]float64, []float64) {
		if n == 2 {
			return []float64{-1 / math.Sqrt(3), 1 / math.Sqrt(3)}, []float64{0.5, 0.5}
		}
		return []float64{-0.9324695142, -0.6612093865, -0.2386191861, 0.2386191861, 0.6612093865, 0.9324695142},
			[]float64{0.0856622462, 0.1803807865, 0.2339569673, 0.2339569673, 0.1803807865, 0.0856622462}
	}
	rs, rw := gauss(2)
	zs, zw := gauss(6)
	for i, r := range rs {
		radius := (37.5 + 12.5*r) * mm
		var path []geom.Point
		for corner := range 4 {
			c := geom.Point{X: 50 * mm, Y: 50 * mm}.Rotate(float64(corner) * math.Pi / 2)
			const steps = 6
			// Chords a little outside the arc, so that they hold its area.
			out := radius * math.Sqrt(math.Pi/2/steps/math.Sin(math.Pi/2/steps))
			for k := range steps + 1 {
				p := geom.Point{X: out}.Rotate(float64(corner)*math.Pi/2 + math.Pi/2*float64(k)/steps)
				path = append(path, c.Add(p))
			}
		}
		for j, z := range zs {
			for k := range path {
				a, b := path[k], path[(k+1)%len(path)]
				lines = append(lines, piece{geom.Point3{X: a.X, Y: a.Y, Z: 50 * mm * z}, geom.Point3{X: b.X, Y: b.Y, Z: 50 * mm * z}})
				weight = append(weight, rw[i]*zw[j])
			}
		}
	}
	return func(p geom.Point3) geom.Point3 {
		var sum geom.Point3
		for k, l := range lines {
			sum = sum.Add(closedform.SegmentB(p, l.a, l.b, weight[k]))
		}
		return sum
	}
}

// team13 meshes the upper half of the problem, z >= 0: the sections in its (z, x) plane
// are extruded along y, then turned into its frame. The coil makes the field odd in the
// sense of this package, along z on the plane z = 0.
func team13(t testing.TB) *Problem {
	t.Helper()
	pieces := team13Pieces(team13Curve(t))
	g := standardGrading()
	g.far, g.corner, g.endZ, g.endZMax, g.farZ, g.growth = 3, 1, 0.6, 0.6, 4, 1
	b, err := build(pieces, nil, g, false)
	if err != nil {
		t.Fatal(err)
	}
	p := &Problem{pieces: pieces, scale: 1}
	m := b.mesh()
	for k := range p.levels {
		if k == 1 {
			m = m.refined()
		}
		turned := make([]geom.Point3, len(m.nodes))
		for i, r := range m.nodes {
			turned[i] = geom.Point3{X: r.Y, Y: r.Z, Z: r.X}
		}
		raw := newTetra(turned, slices.Clone(m.tets), m.piece, m.pieces)
		raw.mirror, raw.parents = true, m.parents
		p.levels[k] = newLevel(raw, p.pieces, p.scale)
	}
	return p
}

// team13Pieces are the upper halves of the plates in the frame (z, x, y) of the problem.
func team13Pieces(curve *material.Curve) []Piece {
	return []Piece{
		{Name: "centre", Section: mmRegion(0, -1.6, 63.2, -1.6, 63.2, 1.6, 0, 1.6), FromZM: -25 * mm, ToZM: 25 * mm, Curve: curve},
		{Name: "right", Section: mmRegion(0, 122.1, 60, 122.1, 60, 2.1, 63.2, 2.1, 63.2, 125.3, 0, 125.3), FromZM: 15 * mm, ToZM: 65 * mm, Curve: curve},
		{Name: "left", Section: mmRegion(0, -122.1, 60, -122.1, 60, -2.1, 63.2, -2.1, 63.2, -125.3, 0, -125.3), FromZM: -65 * mm, ToZM: -15 * mm, Curve: curve},
	}
}

func mmRegion(v ...float64) geom.Region {
	var p geom.Polygon
	for i := 0; i < len(v); i += 2 {
		p = append(p, geom.Point{X: v[i] * mm, Y: v[i+1] * mm})
	}
	return geom.Solid(p.Normal())
}

// stationMean returns the flux density through a cross-section of a piece: a straight
// line fitted to its cells in the part given, weighted by volume, out to half of the
// place asked for.
func stationMean(a *answer, piece int32, in func(geom.Point3) bool, coordinate func(geom.Point3) float64, along geom.Point3, at, half float64) float64 {
	var s0, s1, s2, v0, v1 float64
	for e, c := range a.l.m.centre {
		if x := coordinate(c) - at; a.l.m.piece[e] == piece && in(c) && math.Abs(x) <= half {
			w, v := a.l.m.vol[e], a.b[0][0][e].Dot(along)
			s0, s1, s2, v0, v1 = s0+w, s1+w*x, s2+w*x*x, v0+w*v, v1+w*v*x
		}
	}
	return math.Abs((v0*s2 - v1*s1) / (s0*s2 - s1*s1))
}

const team13Source = "measured, team13.yaml"

var long = flag.Bool("long", false, "run cases of minutes too")

// At 1000 ampere-turns the flux densities of the plates within 5 % of the measurement;
// at station 5, and at 9 and 10 beside the gap of 0.5 mm, within 6 %: a mesh of 7413
// unknowns in place of 5715 comes no nearer. Station 8 is the very end of a plate,
// where a line fitted to cells means little: reported only, like the line in air at
// 3000 ampere-turns.
func TestTeam13(t *testing.T) {
	if !*long {
		t.Skip("a minute or two; run with -long")
	}
	p := team13(t)
	coil := team13Coil()
	s, err := p.Saturate(func(r geom.Point3) geom.Point3 { return coil(r).Scale(1000) })
	if err != nil {
		t.Fatal(err)
	}
	a, b := s.p.Unknowns()
	t.Logf("%d and %d unknowns, %d steps", a, b, s.Steps)
	text, err := fs.ReadFile(fixtures.FS, "reference/team13.yaml")
	if err != nil {
		t.Fatal(err)
	}
	stations := regexp.MustCompile(`no: (\d+), part: (\w+), [xz]: ([0-9.]+), B: ([0-9.]+)`).FindAllStringSubmatch(string(text), -1)
	if len(stations) != 25 {
		t.Fatalf("%d stations, want 25", len(stations))
	}
	var rows []fixtures.ReferenceRow
	x, z := func(r geom.Point3) float64 { return r.X }, func(r geom.Point3) float64 { return r.Z }
	for _, m := range stations {
		at, _ := strconv.ParseFloat(m[3], 64)
		want, _ := strconv.ParseFloat(m[4], 64)
		var v [2]float64
		for k := range v {
			a := s.levels[k]
			switch m[2] {
			case "centre":
				v[k] = stationMean(a, 0, func(geom.Point3) bool { return true }, z, geom.Point3{Z: 1}, at*mm, 12*mm)
			case "top":
				v[k] = stationMean(a, 1, func(r geom.Point3) bool { return r.Z > 60*mm && r.X < 122.1*mm }, x, geom.Point3{X: 1}, at*mm, 12*mm)
			case "leg":
				v[k] = stationMean(a, 1, func(r geom.Point3) bool { return r.X > 122.1*mm && r.Z < 60*mm }, z, geom.Point3{Z: 1}, at*mm, 12*mm)
			}
		}
		// A line fitted to cells is no station of a wall: its bound is from both meshes alone, and a hundredth.
		got := v[1] + (v[1]-v[0])*limitStep(assumedOrder)
		bound := boundShare*math.Abs(v[1]-v[0]) + 0.01*got
		t.Logf("no %s %s %g: %.4f %.4f -> %.4f T, measured %.4f, %+.1f %%, bound %.1f %%", m[1], m[2], at, v[0], v[1], got, want, 100*(got/want-1), 100*bound/want)
		r := row1("problem 13, 1000 ampere-turns", fmt.Sprintf("station %s, %s, mean of the plate", m[1], m[2]), "T", want, got, 0.05, team13Source)
		if slices.Contains([]string{"5", "9", "10"}, m[1]) {
			r.Tolerance = 0.06
		}
		// The measurement's own uncertainty is not published: the tolerance stands for it.
		r.Bound, r.Spread, r.Reported = bound, r.Tolerance*want, m[1] == "8"
		rows = append(rows, r)
	}
	if s, err = p.Saturate(func(r geom.Point3) geom.Point3 { return coil(r).Scale(3000) }); err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "rows: ")
	line, _, _ := strings.Cut(after, "\n")
	for _, m := range regexp.MustCompile(`\[([0-9]+), ([0-9.]+)\]`).FindAllStringSubmatch(line, -1) {
		at, _ := strconv.ParseFloat(m[1], 64)
		want, _ := strconv.ParseFloat(m[2], 64)
		got, bound := s.B(geom.Point3{X: at * mm, Y: 20 * mm, Z: 55 * mm})
		t.Logf("air at x = %g mm: %.5f T, measured %.5f, bound %.5f", at, got.Norm(), want, bound.T)
		r := row1("problem 13, 3000 ampere-turns", fmt.Sprintf("size of B in air at (%g, 20, 55) mm", at), "T", want, got.Norm(), 0, team13Source)
		r.Bound, r.Reported = bound.T, true
		rows = append(rows, r)
	}
	if len(rows) != 25+11 {
		t.Errorf("%d rows", len(rows))
	}
	fixtures.ReferenceBlock(t, tableFile, "go test ./model/space/iron -run TestTeam13 -long -update", `
## TEAM workshop problem 13 against measurement

Steel channels round a coil (team13.yaml). *Reported* rows are held to nothing: station 8 is the very end of a plate; the codes of the workshop
lie 6 to 20 % above the measurement in air. Stations 5, 9 and 10, about the gap of 0.5 mm, are held to 6 %: a finer mesh comes
no nearer.
`, rows, "")
}
