package fem

import (
	"encoding/json"
	"io/fs"
	"math"
	"math/cmplx"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
	"busgauss/model/material"
)

// planeCase is a file of fixtures/reference/plane-cases. The reader knows these
// files and no more of the format.
type planeCase struct {
	p        *Problem
	barID    []string
	shieldID []string
	sensorID []string
	currents []complex128
	freqHz   float64
}

var (
	caseEntry = regexp.MustCompile(`^  (\w+): \{(.*)\}$`)
	casePair  = regexp.MustCompile(`\[([^\s\[]+) (?:mm|A/m), (\S+) (?:mm|T)\]`)
	caseQty   = func(key, unit string) *regexp.Regexp { return regexp.MustCompile(key + `: (\S+?)` + unit + `[,}]`) }
	caseFlow  = regexp.MustCompile(`(\w+): \{(?:dc: (\S+) A|peak: (\S+) A, phase: (\S+) deg)\}`)
)

func readPlaneCase(t *testing.T, name string) *planeCase {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/plane-cases/"+name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return v
	}
	quantity := func(text, key, unit string) float64 {
		if m := caseQty(key, unit).FindStringSubmatch(text + "}"); m != nil {
			return number(m[1])
		}
		return 0
	}
	points := func(text string) (out [][2]float64) {
		for _, m := range casePair.FindAllStringSubmatch(text, -1) {
			out = append(out, [2]float64{number(m[1]), number(m[2])})
		}
		return out
	}
	c := &planeCase{p: &Problem{}}
	materials := map[string]string{}
	entries := map[string][][]string{}
	section := ""
	for line := range strings.Lines(string(b)) {
		line = strings.TrimRight(line, "\n")
		if !strings.HasPrefix(line, " ") {
			section, _, _ = strings.Cut(line, ":")
			continue
		}
		m := caseEntry.FindStringSubmatch(line)
		if m == nil {
			t.Fatalf("%s: cannot read %q", name, line)
		}
		entries[section] = append(entries[section], m[1:])
	}
	for _, e := range entries["materials"] {
		materials[e[0]] = e[1]
	}
	piece := func(e []string, key string) {
		outline, rest, _ := strings.Cut(e[1], "]]")
		q := Piece{Name: e[0], IsBar: key == "metal"}
		var poly geom.Polygon
		for _, v := range points(outline + "]]") {
			poly = append(poly, geom.Point{X: v[0] / 1e3, Y: v[1] / 1e3})
		}
		q.Region = geom.Solid(poly)
		id := regexp.MustCompile(key + `: (\w+)`).FindStringSubmatch(rest)[1]
		q.SigmaSPerM = 1e6 * quantity(materials[id], "conductivity", " MS/m")
		q.MuRel = quantity(materials[id], "relative-permeability", "")
		if strings.Contains(materials[id], "curve") {
			var pts []material.CurvePoint
			for _, v := range points(materials[id]) {
				pts = append(pts, material.CurvePoint{FieldAPerM: v[0], FluxDensityT: v[1]})
			}
			if q.Curve, err = material.NewCurve(pts, material.Linear); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		c.p.Pieces = append(c.p.Pieces, q)
	}
	for _, e := range entries["bars"] {
		piece(e, "metal")
		c.barID = append(c.barID, e[0])
	}
	for _, e := range entries["shields"] {
		piece(e, "material")
		c.shieldID = append(c.shieldID, e[0])
	}
	for _, e := range entries["sensors"] {
		v := points(e[1])[0]
		c.p.Sensors = append(c.p.Sensors, geom.Point{X: v[0] / 1e3, Y: v[1] / 1e3})
		c.sensorID = append(c.sensorID, e[0])
	}
	duty := entries["duties"][0][1]
	c.freqHz = quantity(duty, "frequency", " Hz")
	c.currents = make([]complex128, len(c.barID))
	for _, m := range caseFlow.FindAllStringSubmatch(duty, -1) {
		for i, id := range c.barID {
			if id != m[1] {
				continue
			}
			if m[2] != "" {
				c.currents[i] = complex(number(m[2]), 0)
			} else {
				c.currents[i] = cmplx.Rect(number(m[3]), number(m[4])*math.Pi/180)
			}
		}
	}
	return c
}

type expectedCase struct {
	Sensors map[string]struct {
		Bx          [2]float64 `json:"Bx_mT"`
		By          [2]float64 `json:"By_mT"`
		LevelChange float64    `json:"level_change"`
	} `json:"sensors"`
	Shields map[string]struct {
		Rms    float64 `json:"rms_mT"`
		Change float64 `json:"rms_level_change"`
	} `json:"shields"`
}

func expectedCases(t *testing.T) map[string]expectedCase {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/plane-cases/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Cases map[string]expectedCase }
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	return all.Cases
}

// Independent finite-element values, fixtures/reference/plane-cases: 0.5 % of |B|,
// which is 0.3° of phase; and the bound is not smaller than the true error, less
// the spread of the reference between its two meshes and what its outer circle of
// 1.2 m leaves out (thirty-fold in a shield, which gathers the flux of a strip as
// wide as itself): the image of the currents' first moment, μ0 |Σ I d|/(2π R²).
func TestPlaneCases(t *testing.T) {
	want := expectedCases(t)
	names := make([]string, 0, len(want))
	entries, err := fs.ReadDir(fixtures.FS, "reference/plane-cases")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if n, ok := strings.CutSuffix(e.Name(), ".yaml"); ok {
			names = append(names, n)
		}
	}
	if len(names) != len(want) || len(names) < 20 {
		t.Fatalf("%d files, %d expected", len(names), len(want))
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) { runPlaneCase(t, readPlaneCase(t, name), want[name]) })
	}
}

func runPlaneCase(t *testing.T, c *planeCase, want expectedCase) {
	const mT = 1e-3
	var field func(q geom.Point) (bx, by complex128, bound, parts float64)
	var wall func(k int) Wall
	saturating := false
	for _, piece := range c.p.Pieces {
		saturating = saturating || piece.Curve != nil
	}
	if saturating {
		real1 := make([]float64, len(c.currents))
		for i, v := range c.currents {
			real1[i] = real(v)
		}
		n, err := SolveSaturating(c.p, real1, [2]float64{}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d unknowns, %d meshes, %d Newton steps", n.Unknowns, n.Levels, n.Steps)
		field = func(q geom.Point) (complex128, complex128, float64, float64) {
			x, y, e := n.B(q)
			return complex(x, 0), complex(y, 0), e, math.Hypot(x, y)
		}
		wall = func(k int) Wall { w, _ := n.Wall(k); return w }
	} else {
		s, err := Solve(c.p, c.freqHz, Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d unknowns, %d meshes", s.Unknowns, s.Levels)
		field = func(q geom.Point) (bx, by complex128, bound, parts float64) {
			for bar, i := range c.currents {
				if i != 0 {
					x, y, e := s.B(q, bar)
					bx, by, bound = bx+i*x, by+i*y, bound+e*cmplx.Abs(i)
					parts += math.Hypot(cmplx.Abs(x), cmplx.Abs(y)) * cmplx.Abs(i)
				}
			}
			return
		}
		wall = func(k int) Wall { w, _ := s.Wall(k, c.currents); return w }
	}
	var moment [2]complex128
	iron := 0.0
	for i, k := 0, 0; k < len(c.p.Pieces); k++ {
		if c.p.Pieces[k].IsBar {
			g := c.p.Pieces[k].Region.Outer.Centroid()
			moment[0] += c.currents[i] * complex(g.X, 0)
			moment[1] += c.currents[i] * complex(g.Y, 0)
			iron += cmplx.Abs(c.currents[i])
			i++
		}
	}
	if len(c.shieldID) == 0 {
		iron = 0
	}
	// A shield about a bar moves the centre of its far field by up to half its size.
	iron *= 0.015
	truncation := mu0 / (2 * math.Pi) * (iron + math.Hypot(cmplx.Abs(moment[0]), cmplx.Abs(moment[1]))) / (1.2 * 1.2)
	for i, id := range c.sensorID {
		w := want.Sensors[id]
		bx, by, bound, parts := field(c.p.Sensors[i])
		rx, ry := complex(w.Bx[0], w.Bx[1])*mT, complex(w.By[0], w.By[1])*mT
		size := math.Hypot(cmplx.Abs(rx), cmplx.Abs(ry))
		diff := math.Hypot(cmplx.Abs(bx-rx), cmplx.Abs(by-ry))
		t.Logf("sensor %s: |B| %.4g mT, difference %.1e, bound %.1e, spread %.1e, truncation %.1e", id, size/mT, diff/size, bound/size, w.LevelChange, truncation/size)
		if !(diff <= 0.005*size) {
			t.Errorf("sensor %s: (%g, %g) mT, want (%g, %g)", id, bx/mT, by/mT, rx/mT, ry/mT)
		}
		if !(diff <= bound+2*w.LevelChange*size+truncation) {
			t.Errorf("sensor %s: bound %.2g of |B|, difference %.2g", id, bound/size, diff/size)
		}
		if !(bound <= 0.005*parts) {
			t.Errorf("sensor %s: bound %.2g of |B|, asked 0.005 of each bar's", id, bound/size)
		}
	}
	for k, id := range c.shieldID {
		w, ref := wall(k), want.Shields[id].Rms*mT
		rmsT, boundT := w.Rms()
		diff := math.Abs(rmsT - ref)
		t.Logf("shield %s: rms %.6g mT, difference %.1e, bound %.1e, spread %.1e; wall %.4g mT ± %.1e", id, rmsT/mT, diff/ref, boundT/ref, want.Shields[id].Change, w.PeakT/mT, w.PeakBoundT/w.PeakT)
		if !(diff <= 0.005*ref) {
			t.Errorf("shield %s: rms %g mT, want %g", id, rmsT/mT, ref/mT)
		}
		if !(diff <= boundT+2*want.Shields[id].Change*ref+30*truncation) {
			t.Errorf("shield %s: bound %.2g, difference %.2g", id, boundT/ref, diff/ref)
		}
	}
}
