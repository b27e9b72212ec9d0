package eddy

import (
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// team7 returns the rows of one table of fixtures/reference/team7.yaml.
func team7(t *testing.T, table string) (rows [][]float64) {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/team7.yaml")
	if err != nil {
		t.Fatal(err)
	}
	in := false
	for line := range strings.Lines(string(b)) {
		text := strings.TrimSpace(line)
		if name, _, ok := strings.Cut(text, ":"); ok {
			in = name == table
		}
		list, ok := strings.CutPrefix(text, "- [")
		if !in || !ok {
			continue
		}
		var row []float64
		for _, v := range strings.Split(strings.TrimSuffix(list, "]"), ",") {
			x, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, x)
		}
		rows = append(rows, row)
	}
	if len(rows) < 10 {
		t.Fatalf("table %s has %d rows", table, len(rows))
	}
	return rows
}

// team7Coil is the coil of 2742 ampere turns as filaments at the Gauss points of its section.
func team7Coil() Source {
	const mm = 1e-3
	type segment struct {
		a, b geom.Point3
		i    float64
	}
	var parts []segment
	three := [3][2]float64{{-math.Sqrt(0.6), 5.0 / 18}, {0, 8.0 / 18}, {math.Sqrt(0.6), 5.0 / 18}}
	for _, across := range three {
		offset := 12.5 + 12.5*across[0] // outwards from the inner face
		for slice := range 3 {
			for _, up := range three {
				z := (49 + 100.0/3*(float64(slice)+0.5+up[0]/2)) * mm
				i := 2742 * across[1] * up[1] / 3
				var loop []geom.Point3
				const chords = 6
				swell := math.Sqrt(math.Pi / 2 / chords / math.Sin(math.Pi/2/chords))
				for corner, c := range []geom.Point{{X: 244, Y: 150}, {X: 144, Y: 150}, {X: 144, Y: 50}, {X: 244, Y: 50}} {
					for k := range chords + 1 {
						s, cos := math.Sincos(math.Pi / 2 * (float64(corner) + float64(k)/chords))
						r := (25 + offset)
						if k > 0 && k < chords {
							r *= swell
						}
						loop = append(loop, c.Add(geom.Point{X: r * cos, Y: r * s}).Scale(mm).Space(z))
					}
				}
				for k := range loop {
					parts = append(parts, segment{loop[k], loop[(k+1)%len(loop)], i})
				}
			}
		}
	}
	return func(q geom.Point3) (b geom.Point3) {
		for _, p := range parts {
			b = b.Add(closedform.SegmentB(q, p.a, p.b, p.i))
		}
		return b
	}
}

// TEAM problem 7, measured: an aluminium plate with a hole under a coil that stands askew.
// Source: fixtures/reference/team7.yaml (K. Fujiwara, T. Nakata, COMPEL 9 (1990) 137-154).
//
// What is read out of that file otherwise than it says:
//
// The labels of the two lines of currents are exchanged, as it warns itself. The columns of the
// currents at 0 and 90 degrees hold those at −90 and 180: as labelled, the currents on the far
// face would lead those on the near one, which no diffusion does; in the rows of
// 200 Hz nothing else is changed. The 50 Hz columns of the far face stand one row too low from
// x = 126 on: the value of x = 18 is missing there, and the last has no row.
//
// On A2-B2 the measured field at 90 degrees and 200 Hz is 3.0 G at x = 198, where skin
// depth times the slope of the coil's field over an endless plate is 5.3 G; at x = 108 the field
// changes by 2 G a millimetre. There 8 % of the peak are allowed, 5 % as root of the mean square: with more than twice the
// cells the values move by 0.2 % of the peak.
func TestTeam7(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	const mm = 1e-3
	square := func(a, b float64) geom.Polygon {
		return geom.Polygon{{X: a * mm, Y: a * mm}, {X: b * mm, Y: a * mm}, {X: b * mm, Y: b * mm}, {X: a * mm, Y: b * mm}}
	}
	plate := Piece{Name: "plate", Section: geom.Region{Outer: square(0, 294), Holes: []geom.Polygon{square(18, 126)}},
		ToZM: 19 * mm, SigmaSPerM: 3.526e7}
	p, err := New([]Piece{plate}, []geom.Point3{{X: 147 * mm, Y: 147 * mm, Z: 37 * mm}}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	coil := team7Coil()
	r, err := p.Respond([]Source{coil}, nil)
	if err != nil {
		t.Fatal(err)
	}
	coarse, fine := p.Cells()
	t.Logf("%d, %d cells", coarse, fine)
	for i, hz := range []float64{50, 200} {
		now := r.At(hz, [][]complex128{{1}})
		for _, line := range []struct {
			table     string
			y, within float64
		}{{"A1_B1", 72, 0.05}, {"A2_B2", 144, 0.08}} {
			rows := team7(t, line.table)
			peak, worst, bounds, square := 0.0, 0.0, 0.0, 0.0
			for _, row := range rows {
				peak = max(peak, math.Hypot(row[1+2*i], row[2+2*i]))
			}
			for _, row := range rows {
				q := geom.Point3{X: row[0] * mm, Y: line.y * mm, Z: 34 * mm}
				b, bound := now.B(q, 0)
				gauss := (b[2] + complex(coil(q).Z, 0)) * 1e4
				// At the angle φ of the current the field is the real part of b e^(jφ).
				off := math.Hypot(real(gauss)-row[1+2*i], -imag(gauss)-row[2+2*i])
				worst, bounds = max(worst, off), max(bounds, bound*1e4)
				square += off * off / float64(len(rows))
				t.Logf("%g Hz %s x %g: %.2f %.2f, want %.2f %.2f", hz, line.table, row[0], real(gauss), -imag(gauss), row[1+2*i], row[2+2*i])
			}
			t.Logf("%g Hz %s: off by %.2f %% of the peak, root of the mean square %.2f %%, largest bound %.2f %%", hz, line.table, 100*worst/peak, 100*math.Sqrt(square)/peak, 100*bounds/peak)
			if !(worst <= line.within*peak) || !(math.Sqrt(square) <= 0.05*peak) {
				t.Errorf("%g Hz %s: off by %.1f %% of the peak", hz, line.table, 100*worst/peak)
			}
		}
		for _, line := range []struct {
			table string
			z     float64
		}{{"labelled_A3_B3_z19", 0}, {"labelled_A4_B4_z0", 19}} {
			rows := team7(t, line.table)
			if hz == 50 && line.z == 0 {
				for k := 1; k+1 < len(rows); k++ { // from the row of x = 126 on as printed one row above
					copy(rows[len(rows)-k][1:3], rows[len(rows)-k-1][1:3])
				}
				rows = append(rows[:1], rows[2:]...)
			}
			peak, worst := 0.0, 0.0
			for _, row := range rows {
				peak = max(peak, math.Hypot(row[1+2*i], row[2+2*i]))
			}
			for _, row := range rows {
				j := now.levels[1].density(geom.Point3{X: row[0] * mm, Y: 72 * mm, Z: line.z * mm})[1] * 1e-6
				off := math.Hypot(real(j)+row[2+2*i], -imag(j)+row[1+2*i])
				worst = max(worst, off)
				t.Logf("%g Hz currents %s x %g: %.3f %.3f, want %.3f %.3f", hz, line.table, row[0], real(j), -imag(j), -row[2+2*i], -row[1+2*i])
			}
			t.Logf("%g Hz currents %s: off by %.1f %% of the peak", hz, line.table, 100*worst/peak)
			if !(worst <= 0.08*peak) {
				t.Errorf("%g Hz currents %s: off by %.1f %% of the peak", hz, line.table, 100*worst/peak)
			}
		}
	}
}

// density returns J in A/m² at a place of a plate by interpolation between the middles of
// cells, or beyond the last of them.
func (fs flows) density(q geom.Point3) (out vec3) {
	m := fs[0].y.m
	at := []float64{q.X, q.Y, q.Z}
	mirrored := q.Z < m.midM
	if mirrored {
		at[2] = 2*m.midM - q.Z
	}
	type near struct {
		x []float64
		w []float64
	}
	var axes [3]near
	for k := range 3 {
		var places []float64
		for c := range m.body {
			p := m.body[c].centre
			row := [3]float64{p.X, p.Y, p.Z}
			// Only cells in the same rows: the metal may have a hole.
			if k == 0 && math.Abs(row[1]-at[1]) > 0.02 {
				continue
			}
			places = append(places, math.Round(row[k]*1e9)/1e9)
		}
		slices.Sort(places)
		places = slices.Compact(places)
		i, _ := slices.BinarySearch(places, at[k])
		i = min(max(i, 1), len(places)-1)
		if k == 0 { // on the side of the hole that q is on
			gap := func(i int) bool { return places[i]-places[i-1] > 0.1 }
			if gap(i) && at[0] < 0.072 {
				i--
			} else if gap(i) {
				i++
			}
		}
		a, b := places[i-1], places[i]
		f := (at[k] - a) / (b - a)
		axes[k] = near{[]float64{a, b}, []float64{1 - f, f}}
	}
	for c := range m.body {
		p := m.body[c].centre
		w := 1.0
		for k, v := range [3]float64{p.X, p.Y, p.Z} {
			x := math.Round(v*1e9) / 1e9
			switch x {
			case axes[k].x[0]:
				w *= axes[k].w[0]
			case axes[k].x[1]:
				w *= axes[k].w[1]
			default:
				w = 0
			}
		}
		if w == 0 {
			continue
		}
		for i := range fs {
			sign := 1.0
			if mirrored && fs[i].y.p == through {
				sign = -1
			}
			for k := range 2 { // Jx, Jy
				out[k] += fs[i].moments[0][c][k] * complex(sign*w/m.body[c].volume, 0)
			}
		}
	}
	return out
}
