package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"
	"time"

	"busgauss/model/fem"
	"busgauss/model/geom"
)

const computedFile = "computed-references.yaml"

// uShield is the bar in its U of computed-references.yaml, u_shield.
func uShield() (*fem.Problem, geom.Point) {
	q := geom.Point{Y: 11e-3}
	return &fem.Problem{Pieces: []fem.Piece{
		{Name: "bar", IsBar: true, SigmaSPerM: 58e6, Region: mmBox(-8, 4.5, 8, 7.5)},
		{Name: "U", Region: mmOutline(-13.5, 0, 13.5, 0, 13.5, 20, 12, 20, 12, 1.5, -12, 1.5, -12, 20, -13.5, 20)},
	}, Sensors: []geom.Point{q}}, q
}

func microtesla(re, im float64) [2]complex128 { return [2]complex128{complex(re, im)} }

// shieldRows computes u_shield: two independent methods in the reference; linear iron,
// saturating iron, and iron with eddy currents or ideal sheet.
func shieldRows(t *testing.T) []refRow {
	const name, unit, factor = "u_shield, ", "µT/A", 1e6
	var rows []refRow
	for _, r := range referenceNumbers(t, computedFile, "/u_shield/linear/rows") {
		p, q := uShield()
		p.Pieces[1].MuRel = r[0]
		s, mu := solve(t, p, 0), fmt.Sprintf("μr %g, ", r[0])
		rows = append(rows,
			s.bar(name+"linear", mu+"own field", unit, q, 0, factor, microtesla(r[1], 0), r[2]),
			s.uniform(name+"linear", mu+"factor of a stray field along x", q, 0, complex(r[3], 0), r[5]*r[3]),
			s.uniform(name+"linear", mu+"factor of a stray field along y", q, 1, complex(r[4], 0), r[5]*r[4]))
	}
	rows = append(rows, saturatingShieldRows(t)...)
	for _, r := range referenceNumbers(t, computedFile, "/u_shield/time_harmonic_mur1000/rows") {
		tol := 1e-4 // of the reference, its block "tolerance"
		switch {
		case r[0] >= 10000:
			tol = 2e-3
		case r[0] >= 5000:
			tol = 5e-4
		}
		p, q := uShield()
		p.Pieces[1].MuRel = 1000
		s, hz := solve(t, p, r[0]), fmt.Sprintf("%g Hz, ", r[0])
		own := microtesla(r[4], r[5])
		rows = append(rows,
			s.bar(name+"ideal sheet", hz+"own field", unit, q, 0, factor, own, tol*size(own)),
			s.resistance(name+"ideal sheet", hz+"resistance ratio", r[6], tol*r[6]))
		p.Pieces[1].SigmaSPerM = 2e6
		s = solve(t, p, r[0])
		own = microtesla(r[1], r[2])
		// The reference ends at 0.8 m, which its stray factors lack 1.5e-4 for; where eddy
		// currents screen, its grid counts fivefold.
		x, y := complex(r[7], r[8]), complex(r[9], r[10])
		rows = append(rows,
			s.bar(name+"solid", hz+"own field", unit, q, 0, factor, own, tol*size(own)),
			s.resistance(name+"solid", hz+"resistance ratio", r[3], tol*r[3]),
			s.uniform(name+"solid", hz+"factor of a stray field along x", q, 0, x, 5*tol*cmplx.Abs(x)),
			s.uniform(name+"solid", hz+"factor of a stray field along y", q, 1, y, 5*tol*cmplx.Abs(y)))
	}
	return rows
}

// saturatingShieldRows follows the curve from 10 A to 10 kA. The reference ends at
// 0.4 m, worth up to 1.5e-4 by its own account.
func saturatingShieldRows(t *testing.T) []refRow {
	p, q := uShield()
	p.Pieces[1].Curve = team13Steel(t)
	z, err := fem.NewSaturating(p, precisely)
	if err != nil {
		t.Fatal(err)
	}
	var rows []refRow
	for _, r := range referenceNumbers(t, computedFile, "/u_shield/nonlinear_team13_steel/rows") {
		start := time.Now()
		n, err := z.Solve([]float64{r[0]}, [2]float64{})
		if err != nil {
			t.Errorf("u_shield, saturating, %g A: %v", r[0], err)
			continue
		}
		x, y, e := n.B(q)
		w, err := n.Wall(0)
		if err != nil {
			t.Fatal(err)
		}
		row := refRow{name: "u_shield, saturating", quantity: fmt.Sprintf("%g A, own field", r[0]), unit: "mT",
			want: number(r[1]), got: [2]complex128{complex(x*1e3, 0), complex(y*1e3, 0)}, bound: e * 1e3,
			spread: 5e-4 * math.Abs(r[1]), unknowns: n.Unknowns, took: time.Since(start)}
		rows = append(rows, row)
		// The middle of the base carries the most.
		row.quantity, row.unit = fmt.Sprintf("%g A, mean of the base", r[0]), "T"
		row.want, row.got, row.bound, row.spread = number(r[3]), number(w.PeakT), w.PeakBoundT, 1e-3*r[3]
		rows = append(rows, row)
	}
	return rows
}

// barRows computes the bare bars of computed-references.yaml: an integral equation on
// two grids, which differ by less than 1e-3 in resistance and 3e-4 in fields.
func barRows(t *testing.T) []refRow {
	const grids, fields, factor = 1e-3, 3e-4, 1e6
	var rows []refRow
	for _, r := range referenceNumbers(t, computedFile, "/bar_ac_resistance/rows") {
		s := solve(t, &fem.Problem{Pieces: []fem.Piece{copperBar(r[0], r[1], 0, 0)}, Sensors: []geom.Point{{Y: (r[1]/2 + 3) / 1e3}}}, r[2])
		rows = append(rows, s.resistance("bar_ac_resistance", fmt.Sprintf("%g × %g mm, %g Hz", r[0], r[1], r[2]), r[3], grids*r[3]))
	}
	rows = append(rows, pairRows(t, grids)...)
	for _, r := range referenceNumbers(t, computedFile, "/bar_field_versus_frequency/rows") {
		q := geom.Point{X: r[1] / 1e3, Y: r[2] / 1e3}
		s := solve(t, &fem.Problem{Pieces: []fem.Piece{copperBar(20, 3, 0, 0)}, Sensors: []geom.Point{q}}, r[0])
		want := [2]complex128{complex(r[3], r[4]), complex(r[5], r[6])}
		// Their tolerance is of the static field, up to half as large again as the field here.
		rows = append(rows, s.bar("bar_field_versus_frequency", fmt.Sprintf("%g Hz, at (%g, %g) mm", r[0], r[1], r[2]), "µT/A", q, 0, factor, want, 1.5*fields*size(want)))
	}
	for _, r := range referenceNumbers(t, computedFile, "/eddy_currents_in_neighbour_bar/rows") {
		q := geom.Point{X: 40e-3, Y: 5.5e-3}
		s := solve(t, &fem.Problem{Pieces: []fem.Piece{copperBar(20, 3, 0, 0), copperBar(20, 3, 40, 0)}, Sensors: []geom.Point{q}}, r[0])
		want := [2]complex128{complex(r[1], r[2]), complex(r[3], r[4])}
		// Tolerance of the static field, which is up to 2.4 times the field here.
		rows = append(rows, s.bar("eddy_currents_in_neighbour_bar", fmt.Sprintf("%g Hz", r[0]), "µT/A", q, 0, factor, want, fields*5.05))
	}
	return rows
}

// pairRows computes bar_pair_ac_resistance: the share of one bar with both
// carrying current.
func pairRows(t *testing.T, spread float64) []refRow {
	var rows []refRow
	for _, item := range reference(t, computedFile, "/bar_pair_ac_resistance/rows").Items {
		text := item.Items[0].Text
		hz, want := cellNumber(item.Items[1]), cellNumber(item.Items[2])
		p := &fem.Problem{Sensors: []geom.Point{{Y: 10e-3}}}
		switch {
		case strings.HasPrefix(text, "10x2 side by side, centres 20 mm"):
			p.Pieces = []fem.Piece{copperBar(10, 2, -10, 0), copperBar(10, 2, 10, 0)}
		case strings.HasPrefix(text, "20x2 face to face, gap 2 mm"):
			p.Pieces = []fem.Piece{copperBar(20, 2, 0, 2), copperBar(20, 2, 0, -2)}
		default:
			t.Fatalf("arrangement %q", text)
		}
		other := complex(1, 0)
		if strings.HasSuffix(text, "go-return") {
			other = -1
		}
		s := solve(t, p, hz)
		loss := s.LossesWPerM([]complex128{1, other})
		rows = append(rows, refRow{name: "bar_pair_ac_resistance", quantity: fmt.Sprintf("%s, %g Hz", strings.ReplaceAll(text, "x", " × "), hz),
			want: number(want), got: number(2 * loss[0] / s.Resistance(0).DCOhmPerM), bound: math.NaN(), spread: spread * want,
			unknowns: s.Unknowns, took: s.took})
	}
	return rows
}
