package laws

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
)

// rows reads the bracketed rows that follow a key of a reference table: numbers only, others NaN.
func rows(file, key string) [][]float64 {
	text, err := fixtures.FS.ReadFile("reference/" + file)
	if err != nil {
		panic("laws: " + err.Error())
	}
	_, after, _ := strings.Cut(string(text), "\n"+key)
	var out [][]float64
	for l := range strings.Lines(after) {
		l = strings.TrimSpace(l)
		if !strings.HasPrefix(l, "- [") {
			if len(out) > 0 {
				break
			}
			continue
		}
		var row []float64
		for _, cell := range strings.Split(strings.Trim(strings.TrimPrefix(l, "- "), "[]"), ",") {
			v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
			if err != nil {
				v = math.NaN()
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	return out
}

var (
	clearanceRows = rows("clearance.yaml", "case_A_inhomogeneous:") // IEC 60664-1:2007, table F.2, case A
	creepageRows  = rows("creepage.yaml", "column_notes:")          // IEC 60664-1:2007, table F.4
)

// impulses is table F.1 of IEC 60664-1:2007 as fixtures/reference/impulse.yaml has it: volts to
// neutral, then categories I to IV.
var impulses = [][5]float64{{50, 330, 500, 800, 1500}, {100, 500, 800, 1500, 2500}, {150, 800, 1500, 2500, 4000},
	{300, 1500, 2500, 4000, 6000},
	{600, 2500, 4000, 6000, 8000}, {1000, 4000, 6000, 8000, 12000}}

var preferred = []float64{330, 500, 800, 1500, 2500, 4000, 6000, 8000, 12000}

// pairOf is the insulation that a finding is about.
func (y *yard) pairOf(f *finding.Finding) *node {
	var found *node
	if in := y.root.get("insulation"); in != nil {
		for _, item := range in.items {
			b := item.get("between").items
			if b[0].text == f.Object && b[1].text == f.Cause {
				if found != nil {
					return nil // twice the same two: which is meant cannot be told
				}
				found = item
			}
		}
	}
	return found
}

// oracleClearance looks the impulse up in the table.
func oracleClearance(y *yard, f *finding.Finding) (float64, bool) {
	in := y.pairOf(f)
	if in == nil || in.get("temporary") != nil || in.get("recurring") != nil {
		return 0, false // the table of lasting peaks may ask for more
	}
	return clearanceOf(in)
}

// thinner is table A.2 of IEC 60664-1:2007: by how much thin air lengthens a gap, at two of its rows.
var thinner = map[float64]float64{3000: 1.14, 4000: 1.29}

func clearanceOf(in *node) (float64, bool) {
	longer := 1.0
	if h := in.num(2000, "altitude"); h > 2000 {
		if longer = thinner[h]; longer == 0 {
			return 0, false
		}
	}
	impulse := in.num(0, "impulse")
	if impulse == 0 {
		for _, row := range impulses {
			if in.num(math.Inf(1), "supply", "rms") <= row[0] {
				impulse = row[int(in.num(0, "category"))]
				break
			}
		}
	}
	if in.str("kind") == "reinforced" {
		next := 0.0
		for i, v := range preferred[:len(preferred)-1] {
			if v == impulse {
				next = preferred[i+1]
			}
		}
		impulse = next
	}
	for _, row := range clearanceRows {
		if math.Abs(row[0]*1e3-impulse) < 1e-6 {
			return row[int(in.num(2, "pollution-degree"))] * 1e-3 * longer, true
		}
	}
	return 0, false
}

// oracleCreepage looks the working voltage up, where the table has its row.
func oracleCreepage(y *yard, f *finding.Finding) (float64, bool) {
	in := y.pairOf(f)
	if in == nil || in.get("temporary") != nil || in.get("recurring") != nil {
		return 0, false
	}
	least, ok := clearanceOf(in)
	if !ok {
		return 0, false
	}
	column := 3
	switch degree := in.num(2, "pollution-degree"); degree {
	case 2, 3:
		group := map[string]int{"I": 0, "II": 1, "IIIa": 2, "": 2}[in.str("material-group")]
		column = 4 + 3*int(degree-2) + group
	}
	v := in.num(in.num(0, "working", "dc"), "working", "rms")
	for _, row := range creepageRows {
		if row[0] == v {
			d := row[column]
			if in.str("kind") == "reinforced" {
				d *= 2
			}
			return math.Max(d*1e-3, least), true
		}
	}
	return 0, false
}

// oracleGap walks round two sections in small steps and takes the nearest pair of points.
func oracleGap(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	in := y.pairOf(f)
	if in == nil || in.get("clearance") != nil || y.root.get("bars", f.Object) == nil ||
		y.root.get("bars", f.Cause) == nil || y.piecesMove() {
		return 0, 0, false
	}
	a, b := edge(y.root.get("bars", f.Object)), edge(y.root.get("bars", f.Cause))
	value = math.Inf(1)
	for _, p := range a {
		for _, r := range b {
			d := p.minus(r)
			value = math.Min(value, d.dot(d))
		}
	}
	value = math.Sqrt(value)
	// A round bar of the drawing is a polygon, 3e-4 of its radius inside.
	return value, 60e-6 + 0.01*value, true
}

// edge is a section's outline in steps of a hundredth of its size.
func edge(bar *node) []vec {
	s := bar.get("section")
	var corners []vec
	switch {
	case s.get("diameter") != nil:
		for i := range 720 {
			corners = append(corners, direction(float64(i)*math.Pi/360).times(s.num(0, "diameter")/2))
		}
	case s.get("outline") != nil:
		for _, c := range s.get("outline").items {
			corners = append(corners, c.point())
		}
	default:
		w, t := s.num(0, "width")/2, s.num(0, "thickness")/2
		corners = []vec{{-w, -t}, {w, -t}, {w, t}, {-w, t}}
	}
	var out []vec
	at, turn := bar.get("at").point(), bar.turn()
	for i := range corners {
		a, b := corners[i], corners[(i+1)%len(corners)]
		n := 1
		if len(corners) < 100 {
			n = 200
		}
		for k := range n {
			out = append(out, at.plus(a.plus(b.minus(a).times(float64(k)/float64(n))).turned(turn)))
		}
	}
	return out
}

// The tables must be read for what they are: a key that moves would leave the oracles silent.
func TestTablesAreRead(t *testing.T) {
	if len(clearanceRows) < 20 || clearanceRows[0][0] != 0.33 {
		t.Errorf("clearance: %d rows", len(clearanceRows))
	}
	if len(creepageRows) < 20 || creepageRows[0][0] != 10 {
		t.Errorf("creepage: %d rows", len(creepageRows))
	}
}
