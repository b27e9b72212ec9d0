package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"
	"time"

	"busgauss/model/fem"
	"busgauss/model/geom"
)

// printed is what the last printed digit of a closed form may be off, relative.
const printed = 3e-6

// analyticRows computes fixtures/reference/analytic-cases.yaml; each block names its
// formula and source.
func analyticRows(t *testing.T) []refRow {
	const file = "analytic-cases.yaml"
	var rows []refRow
	shell := func(a, b, sigma, mu float64) (*fem.Problem, geom.Point) {
		q := geom.Point{X: 0.3 * a / 1e3, Y: -0.2 * a / 1e3}
		return &fem.Problem{Pieces: []fem.Piece{{Name: "shell", MuRel: mu, SigmaSPerM: sigma,
			Round: &fem.Round{OuterM: b / 1e3, InnerM: a / 1e3}}}, Sensors: []geom.Point{q}}, q
	}
	for _, r := range referenceNumbers(t, file, "/cylindrical_shell_dc/rows") {
		p, q := shell(r[0], r[1], 0, r[2])
		rows = append(rows, solveTo(t, p, 0, roughly).uniform("cylindrical_shell_dc",
			fmt.Sprintf("field inside over outside, a %g, b %g mm, μr %g", r[0], r[1], r[2]), q, 0, complex(1/r[3], 0), printed/r[3]))
	}
	for _, r := range referenceNumbers(t, file, "/cylindrical_shell_ac/rows") {
		p, q := shell(r[0], r[1], r[2], r[3])
		want := 1 / complex(r[5], r[6])
		rows = append(rows, solveTo(t, p, r[4], roughly).uniform("cylindrical_shell_ac",
			fmt.Sprintf("field inside over outside, b %g mm, %g MS/m, μr %g, %g Hz", r[1], r[2]/1e6, r[3], r[4]), q, 0, want, printed*cmplx.Abs(want)))
	}
	rows = append(rows, cylinderRows(t)...)
	rows = append(rows, halfSpaceRows(t)...)
	return append(rows, tubeRows(t)...)
}

// cylinderRows computes a solid cylinder in a transverse field: outside it is that
// field and a line dipole D a²; on the x axis, B0 along x, Bx = B0 (1 + D a²/x²).
func cylinderRows(t *testing.T) []refRow {
	var rows []refRow
	for _, c := range []struct {
		block          string
		aM, sigma, muR float64
		reIdx          int
	}{
		{"copper_a10mm_58MS", 0.010, 58e6, 1, 3},
		{"steel_a5mm_mur1000_5MS", 0.005, 5e6, 1000, 2},
	} {
		for _, r := range referenceNumbers(t, "analytic-cases.yaml", "/solid_cylinder_transverse/"+c.block+"/rows") {
			q := geom.Point{X: 1.5 * c.aM}
			s := solve(t, &fem.Problem{Pieces: []fem.Piece{{Name: "cylinder", SigmaSPerM: c.sigma, MuRel: c.muR,
				Round: &fem.Round{OuterM: c.aM}}}, Sensors: []geom.Point{q}}, r[0])
			name, metal := "solid_cylinder_transverse", strings.SplitN(c.block, "_", 2)[0]
			want := 1 + complex(r[c.reIdx], r[c.reIdx+1])/(1.5*1.5)
			rows = append(rows, s.uniform(name, fmt.Sprintf("%s, %g Hz, B/B0 at 1.5 radii", metal, r[0]), q, 0, want, printed*cmplx.Abs(want)))
			if c.muR == 1 && r[0] < 500 {
				axis := cmplx.Rect(r[1], r[2]*math.Pi/180)
				rows = append(rows, s.uniform(name, fmt.Sprintf("%s, %g Hz, B/B0 on the axis", metal, r[0]), geom.Point{}, 0, axis, printed))
			}
		}
	}
	return rows
}

// halfSpaceRows computes a line current of 100 A 10 mm above a block: 8 m wide and
// 4 m deep of iron, 0.8 m by 0.2 m of copper. In the conducting one the whole current
// returns, so the block is a bar that carries it. What a block leaves out: the return
// of iron's magnetisation current over its far faces, about μ0 I/(2π · 4 m); of the
// eddy currents, the tail 2 h′/(π · 0.4 m) beyond its width, h′ the height and the
// skin depth together, which spreads over that width instead.
func halfSpaceRows(t *testing.T) []refRow {
	const amperes, h = 100.0, 0.010
	wire := fem.Piece{Name: "wire", IsBar: true, SigmaSPerM: 1, Round: &fem.Round{Centre: geom.Point{Y: h}, OuterM: 2e-4}}
	var rows []refRow
	for _, r := range referenceNumbers(t, "analytic-cases.yaml", "/line_current_over_permeable_half_space/rows") {
		if math.IsInf(r[0], 0) {
			continue
		}
		q := geom.Point{X: r[1] / 1e3, Y: r[2] / 1e3}
		p := &fem.Problem{Pieces: []fem.Piece{wire, {Name: "block", MuRel: r[0], Region: mmBox(-4000, -4000, 4000, 0)}}, Sensors: []geom.Point{q}}
		rows = append(rows, solve(t, p, 0).bar("line_current_over_permeable_half_space", fmt.Sprintf("μr %g, at (%g, %g) mm", r[0], r[1], r[2]), "mT", q, 0,
			amperes*1e3, [2]complex128{complex(r[3], 0), complex(r[4], 0)}, 1e3*mu0*amperes/(2*math.Pi*4)+1e-6))
	}
	block := fem.Piece{Name: "block", IsBar: true, SigmaSPerM: 58e6, Region: mmBox(-400, -200, 400, 0)}
	const half = 0.4
	frequencies := map[float64]solved{}
	var points []geom.Point
	for _, r := range referenceNumbers(t, "analytic-cases.yaml", "/line_current_over_conducting_half_space/rows") {
		if q := (geom.Point{X: r[1] / 1e3, Y: r[2] / 1e3}); !slices.Contains(points, q) {
			points = append(points, q)
		}
	}
	for _, r := range referenceNumbers(t, "analytic-cases.yaml", "/line_current_over_conducting_half_space/rows") {
		q := geom.Point{X: r[1] / 1e3, Y: r[2] / 1e3}
		s, ok := frequencies[r[0]]
		if !ok {
			s = solveTo(t, &fem.Problem{Pieces: []fem.Piece{wire, block}, Sensors: points}, r[0], roughly)
			frequencies[r[0]] = s
		}
		tail := 2 * (h + 1/math.Sqrt(math.Pi*r[0]*mu0*58e6)) / (math.Pi * half)
		row := s.bar("line_current_over_conducting_half_space", fmt.Sprintf("copper, %g Hz, at (%g, %g) mm", r[0], r[1], r[2]), "mT", q, 0, amperes*1e3,
			[2]complex128{complex(r[3], r[4]), complex(r[5], r[6])}, 1e3*mu0*amperes*tail/(2*half)+1e-6)
		back := s.bar("", "", "", q, 1, amperes*1e3, row.want, 0)
		row.got[0], row.got[1] = row.got[0]-back.got[0], row.got[1]-back.got[1]
		row.bound += back.bound
		rows = append(rows, row)
	}
	return rows
}

// tubeRows computes the steel tube on the curve, exact by Ampère's law: flux of the
// wall over its thickness, and the field outside, which is that of the wire.
func tubeRows(t *testing.T) []refRow {
	q := geom.Point{X: 15e-3}
	p := &fem.Problem{Pieces: []fem.Piece{
		{Name: "wire", IsBar: true, SigmaSPerM: 58e6, Round: &fem.Round{OuterM: 2e-3}},
		{Name: "tube", Curve: team13Steel(t), Round: &fem.Round{OuterM: 12e-3, InnerM: 10e-3}},
	}, Sensors: []geom.Point{q}}
	var rows []refRow
	for _, r := range referenceNumbers(t, "analytic-cases.yaml", "/nonlinear_steel_tube/rows") {
		start := time.Now()
		n, err := fem.SolveSaturating(p, []float64{r[0]}, [2]float64{}, precisely)
		if err != nil {
			t.Errorf("nonlinear_steel_tube, %g A: %v", r[0], err)
			continue
		}
		w, err := n.Wall(0)
		if err != nil {
			t.Fatal(err)
		}
		took := time.Since(start)
		want := r[3] / 2e-3
		rows = append(rows, refRow{name: "nonlinear_steel_tube", quantity: fmt.Sprintf("%g A, mean of the wall", r[0]), unit: "T",
			want: number(want), got: number(w.PeakT), bound: w.PeakBoundT, spread: printed * want, unknowns: n.Unknowns, took: took})
		x, y, e := n.B(q)
		b := 1e3 * mu0 * r[0] / (2 * math.Pi * q.X)
		rows = append(rows, refRow{name: "nonlinear_steel_tube", quantity: fmt.Sprintf("%g A, B at 15 mm", r[0]), unit: "mT",
			want: [2]complex128{0, complex(b, 0)}, got: [2]complex128{complex(x*1e3, 0), complex(y*1e3, 0)}, bound: e * 1e3, unknowns: n.Unknowns, took: took})
	}
	return rows
}

// roundWireRows computes fixtures/reference/skin-round-wire.csv, the exact Bessel
// solution of R_ac/R_dc over x = a √(ω μ0 σ).
func roundWireRows(t *testing.T) []refRow {
	const a, sigma = 5e-3, 58e6
	var rows []refRow
	for _, r := range referenceCSV(t, "skin-round-wire.csv") {
		p := &fem.Problem{Pieces: []fem.Piece{{Name: "wire", IsBar: true, SigmaSPerM: sigma, Round: &fem.Round{OuterM: a}}}, Sensors: []geom.Point{{X: 6e-3}}}
		s := solve(t, p, r[0]*r[0]/(a*a*mu0*sigma)/(2*math.Pi))
		rows = append(rows, s.resistance("skin-round-wire", fmt.Sprintf("R_ac/R_dc at x = %g", r[0]), r[2], 1e-8*r[2]))
	}
	return rows
}

// machineRows computes TEAM workshop problem 30A at standstill, team30a.yaml: exact
// series. The six belts of the winding are bars of next to no conductivity,
// sectors of 45° whose arcs are chords of 3° and which end 0.1 mm inside the stator, so
// that corners do not touch its circle; the chords are worth the spread.
func machineRows(t *testing.T) []refRow {
	const outer = 0.0519
	p := &fem.Problem{Pieces: []fem.Piece{
		{Name: "steel", MuRel: 30, SigmaSPerM: 1.6e6, Round: &fem.Round{OuterM: 0.020}},
		{Name: "aluminium", SigmaSPerM: 3.72e7, Round: &fem.Round{OuterM: 0.030, InnerM: 0.020}},
		{Name: "stator", MuRel: 30, Round: &fem.Round{OuterM: 0.057, InnerM: 0.052}},
	}}
	var currents []complex128
	for k, phase := range []float64{0, -60, -120, -180, -240, -300} { // A −C B −A C −B
		var poly geom.Polygon
		mid := float64(k) * math.Pi / 3
		const n = 15
		for _, radius := range []float64{0.032, outer} {
			for i := range n + 1 {
				at := i
				if radius == outer {
					at = n - i
				}
				poly = append(poly, geom.Point{X: radius}.Rotate(mid-math.Pi/8+math.Pi/4*float64(at)/n))
			}
		}
		p.Pieces = append(p.Pieces, fem.Piece{Name: "belt", IsBar: true, SigmaSPerM: 1, Region: geom.Solid(poly)})
		currents = append(currents, cmplx.Rect(2045.2*math.Sqrt2, phase*math.Pi/180))
	}
	start := time.Now()
	s := solve(t, p, 60)
	loss := s.LossesWPerM(currents)
	took := time.Since(start)
	r := referenceNumbers(t, "team30a.yaml", "/results_per_metre/rows")[0]
	row := func(what string, want, got float64) refRow {
		return refRow{name: "team30a, standstill", quantity: what, unit: "W/m", want: number(want), got: number(got),
			bound: math.NaN(), unknowns: s.Unknowns, took: took}
	}
	return []refRow{row("loss of the rotor", r[2], loss[0]+loss[1]), row("loss of its steel", r[3], loss[0])}
}
