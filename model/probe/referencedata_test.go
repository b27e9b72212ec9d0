package probe_test

import (
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"busgauss/fixtures"
	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/material"
	"busgauss/model/si"
	"busgauss/schema/node"
)

const mu0 = si.Mu0HPerM

// reference returns the node at a JSON pointer of a file of fixtures/reference.
func reference(t *testing.T, file, pointer string) *node.Node {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+file)
	if err != nil {
		t.Fatal(err)
	}
	root, problems := node.Parse(file, b, node.Limits{})
	if root == nil {
		t.Fatalf("%s: %v", file, problems)
	}
	n, _, ok := root.At(pointer)
	if !ok {
		t.Fatalf("%s: nothing at %s", file, pointer)
	}
	return n
}

// referenceNumbers returns the rows of numbers at a pointer. A word is NaN, .inf
// is infinite.
func referenceNumbers(t *testing.T, file, pointer string) [][]float64 {
	t.Helper()
	var rows [][]float64
	for _, item := range reference(t, file, pointer).Items {
		var row []float64
		for _, cell := range item.Items {
			row = append(row, cellNumber(cell))
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s: no rows at %s", file, pointer)
	}
	return rows
}

func cellNumber(n *node.Node) float64 {
	if v, ok := n.Value().(float64); ok {
		return v
	}
	if n.Text == ".inf" {
		return math.Inf(1)
	}
	return math.NaN()
}

// referenceCSV returns the numbers of a table; empty cells are NaN.
func referenceCSV(t *testing.T, file string) [][]float64 {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+file)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	for line := range strings.Lines(string(b)) {
		var row []float64
		for cell := range strings.SplitSeq(strings.TrimSpace(line), ",") {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				v = math.NaN()
			}
			row = append(row, v)
		}
		if !math.IsNaN(row[0]) {
			rows = append(rows, row)
		}
	}
	return rows
}

// precisely is the certainty that the command asks for when it prints numbers;
// roughly is its first level, for shells and half spaces: what is left behind a
// shell to 0.1 % takes seconds.
var (
	precisely = fem.Options{Certainty: 0.001}
	roughly   = fem.Options{Certainty: 0.005}
)

// solved is a solution with its time.
type solved struct {
	*fem.Solution
	took time.Duration
}

func solve(t *testing.T, p *fem.Problem, freqHz float64) solved {
	t.Helper()
	return solveTo(t, p, freqHz, precisely)
}

// solveTo is solve to another certainty.
func solveTo(t *testing.T, p *fem.Problem, freqHz float64, opt fem.Options) solved {
	t.Helper()
	start := time.Now()
	s, err := fem.Solve(p, freqHz, opt)
	if err != nil {
		t.Fatal(err)
	}
	return solved{s, time.Since(start)}
}

// bar compares the field of one ampere in a bar, times scale.
func (s solved) bar(name, quantity, unit string, q geom.Point, bar int, scale float64, want [2]complex128, spread float64) refRow {
	x, y, e := s.B(q, bar)
	k := complex(scale, 0)
	return refRow{name: name, quantity: quantity, unit: unit, want: want, got: [2]complex128{k * x, k * y},
		bound: scale * e, spread: spread, unknowns: s.Unknowns, took: s.took}
}

// uniform compares the response to a uniform field of 1 T along dir, its component
// along dir alone.
func (s solved) uniform(name, quantity string, q geom.Point, dir int, want complex128, spread float64) refRow {
	x, y, e := s.Uniform(q, dir)
	if dir == 1 {
		x = y
	}
	return refRow{name: name, quantity: quantity, want: [2]complex128{want}, got: [2]complex128{x},
		bound: e, spread: spread, unknowns: s.Unknowns, took: s.took}
}

// resistance compares R_ac/R_dc of bar 0, all losses of the plane included.
func (s solved) resistance(name, quantity string, want, spread float64) refRow {
	r := s.Resistance(0)
	return refRow{name: name, quantity: quantity, want: number(want), got: number(r.TotalRatio),
		bound: r.RatioBound, spread: spread, unknowns: s.Unknowns, took: s.took}
}

// mmBox is a rectangle in millimetres.
func mmBox(x0, y0, x1, y1 float64) geom.Region {
	return mmOutline(x0, y0, x1, y0, x1, y1, x0, y1)
}

func mmOutline(xy ...float64) geom.Region {
	var p geom.Polygon
	for i := 0; i < len(xy); i += 2 {
		p = append(p, geom.Point{X: xy[i] / 1e3, Y: xy[i+1] / 1e3})
	}
	return geom.Solid(p)
}

// copperBar is a bar of 58 MS/m, its sides and centre in millimetres.
func copperBar(w, h, x, y float64) fem.Piece {
	return fem.Piece{Name: "bar", IsBar: true, SigmaSPerM: 58e6, Region: mmBox(x-w/2, y-h/2, x+w/2, y+h/2)}
}

// team13Steel is the curve of TEAM workshop problem 13, bh-curves.yaml.
func team13Steel(t *testing.T) *material.Curve {
	t.Helper()
	steel, ok := material.IronByName("low-carbon-steel")
	if !ok {
		t.Fatal("no steel")
	}
	c, err := steel.Curve()
	if err != nil {
		t.Fatal(err)
	}
	return c
}
