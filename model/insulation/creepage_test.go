package insulation

import (
	"math"
	"strings"
	"testing"
)

func TestCreepage(t *testing.T) {
	for _, tc := range []struct {
		name   string
		rmsV   float64
		degree int
		group  Group
		kind   Kind
		board  bool
		wantMM float64
		mark   Confidence
		row    string
	}{
		// Rows of the public catalogue page on DIN EN 60664-1, Table F.4.
		{"row, group I", 250, 2, GroupI, Basic, false, 1.25, 'B', "250 V"},
		{"row, group II", 250, 2, GroupII, Functional, false, 1.8, 'B', "250 V"},
		{"row, group IIIa", 250, 2, GroupIIIa, Supplementary, false, 2.5, 'B', "250 V"},
		{"row, group IIIb", 250, 2, GroupIIIb, Basic, false, 2.5, 'B', "250 V"},
		{"row, degree 1", 250, 1, GroupIIIb, Basic, false, 0.56, 'B', "250 V"},
		{"row, degree 3", 1000, 3, GroupIIIa, Basic, false, 16, 'B', "1000 V"},
		{"board, degree 1", 250, 1, GroupIIIb, Basic, true, 0.56, 'B', "250 V"},
		{"board, degree 1, small", 100, 1, GroupIIIa, Basic, true, 0.1, 'B', "100 V"},
		{"board, degree 2", 250, 2, GroupIIIa, Basic, true, 1.0, 'B', "250 V"},
		{"board at its last row", 1000, 2, GroupII, Basic, true, 5.0, 'B', "1000 V"},
		// Where a board has no column: the general one, not confirmed.
		{"board, degree 2, IIIb", 250, 2, GroupIIIb, Basic, true, 2.5, 'C', "250 V"},
		{"board, degree 3", 250, 3, GroupIIIa, Basic, true, 4.0, 'C', "250 V"},
		{"board above 1000 V", 1250, 2, GroupIIIa, Basic, true, 12.5, 'C', "1250 V"},
		{"board between 1000 V and 1250 V", 1125, 2, GroupIIIa, Basic, true, 11.25, 'C', "1000 V to 1250 V"},
		// Rules: twice for reinforced, linear between rows (both from memory).
		{"reinforced", 250, 2, GroupIIIa, Reinforced, false, 5.0, 'C', "250 V"},
		{"interpolated", 450, 2, GroupIIIa, Basic, false, 4.5, 'C', "400 V to 500 V"},
		{"interpolated, reinforced", 900, 2, GroupI, Reinforced, false, 9.0, 'C', "800 V to 1000 V"},
		{"IIIb at its limit", 630, 3, GroupIIIb, Basic, false, 10, 'B', "630 V"},
		{"IIIb above 630 V in degree 2", 800, 2, GroupIIIb, Basic, false, 8, 'B', "800 V"},
		{"below the first row", 5, 2, GroupI, Basic, false, 0.4, 'B', "10 V"},
		{"row from memory", 2500, 2, GroupI, Basic, false, 12.5, 'C', "2500 V"},
		{"last row", 5000, 3, GroupII, Basic, false, 71, 'C', "5000 V"},
	} {
		n, err := Creepage(tc.rmsV, tc.degree, tc.group, tc.kind, tc.board)
		if err != nil {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		if !(math.Abs(n.DistanceM*1000-tc.wantMM) < 1e-9) || n.Confidence != tc.mark || n.Row != tc.row {
			t.Errorf("%s: %v mm %v row %q, want %v mm %v row %q", tc.name, n.DistanceM*1000, n.Confidence, n.Row, tc.wantMM, tc.mark, tc.row)
		}
	}
}

// The series behind the table, as seen in the public text: from 320 V group I
// in degree 2 follows 200 V per millimetre, group III is twice group I, degree
// 3 is 2.5 times degree 2; each rounded to a preferred number, at most 3 % off.
func TestCreepageSeries(t *testing.T) {
	mm := func(rmsV float64, degree int, group Group) float64 {
		n, err := Creepage(rmsV, degree, group, Basic, false)
		if err != nil {
			t.Fatal(err)
		}
		return n.DistanceM * 1000
	}
	near := func(rmsV float64, what string, got, want float64) {
		if !(math.Abs(got/want-1) <= 0.03) {
			t.Errorf("%v V: %s %v mm, series %v mm", rmsV, what, got, want)
		}
	}
	for _, r := range creepageRows {
		one := mm(r.voltV, 2, GroupI)
		if r.voltV >= 320 {
			near(r.voltV, "group I, degree 2", one, r.voltV/200)
		}
		if r.voltV >= 63 {
			near(r.voltV, "group IIIa, degree 2", mm(r.voltV, 2, GroupIIIa), 2*one)
		}
		near(r.voltV, "group I, degree 3", mm(r.voltV, 3, GroupI), 2.5*one)
	}
}

func TestCreepageSteps(t *testing.T) {
	n, err := Creepage(450, 2, GroupIIIb, Reinforced, true)
	want := []string{
		"printed board: no column of its own in degree 2, group IIIb at 450 V; general column taken",
		"degree 2, group IIIb, 450 V between rows 400 V to 500 V: 4.5 mm",
		"reinforced: x 2 = 9 mm",
	}
	if err != nil || strings.Join(n.Steps, "\n") != strings.Join(want, "\n") {
		t.Errorf("steps %q, %v, want %q", n.Steps, err, want)
	}
	if n.Table != "IEC 60664-1:2007 Table F.4, pollution degree 2, group IIIb" {
		t.Errorf("table %q", n.Table)
	}
	n, err = Creepage(400, 1, GroupI, Basic, true)
	if err != nil || len(n.Steps) != 1 || n.Steps[0] != "degree 1, printed board, row 400 V: 1 mm" {
		t.Errorf("steps %q, %v", n.Steps, err)
	}
}

func TestCreepageRefuses(t *testing.T) {
	for _, tc := range []struct {
		name   string
		rmsV   float64
		degree int
		group  Group
		kind   Kind
		says   string
	}{
		{"above the table", 5001, 2, GroupI, Basic, "to 5000 V"},
		{"zero", 0, 2, GroupI, Basic, "above 0"},
		{"negative", -10, 2, GroupI, Basic, "above 0"},
		{"not a number", math.NaN(), 2, GroupI, Basic, "above 0"},
		{"infinite", math.Inf(1), 2, GroupI, Basic, "to 5000 V"},
		{"IIIb above 630 V in degree 3", 631, 3, GroupIIIb, Basic, "not recommended above 630 V"},
		{"degree 4", 250, 4, GroupI, Basic, "1 to 3"},
		{"no group", 250, 2, 0, Basic, "group"},
		{"group out of list", 250, 1, 7, Basic, "group"},
		{"no kind", 250, 2, GroupI, 0, "kind"},
	} {
		for _, board := range []bool{false, true} {
			n, err := Creepage(tc.rmsV, tc.degree, tc.group, tc.kind, board)
			if err == nil || n.DistanceM != 0 || !strings.Contains(err.Error(), tc.says) {
				t.Errorf("%s, board %v: %+v, error %v does not say %q", tc.name, board, n, err, tc.says)
			}
		}
	}
}

// Distances never fall with voltage, degree or a poorer group, and the columns
// for printed boards never ask for more than the general ones.
func TestCreepageMonotone(t *testing.T) {
	at := func(v float64, degree int, g Group, board bool) float64 {
		n, err := Creepage(v, degree, g, Basic, board)
		if err != nil {
			t.Fatal(err)
		}
		return n.DistanceM
	}
	for degree := 1; degree <= 3; degree++ {
		for g := GroupI; g <= GroupIIIb; g++ {
			top := 5000.0
			if degree == 3 && g == GroupIIIb {
				top = 630
			}
			last, lastBoard := 0.0, 0.0
			for v := 5.0; v <= top; v *= 1.01 {
				d, b := at(v, degree, g, false), at(v, degree, g, true)
				if d < last || b < lastBoard {
					t.Errorf("degree %d group %v %v V: falls from %v, %v to %v, %v m", degree, g, v, last, lastBoard, d, b)
				}
				last, lastBoard = d, b
				if b > d {
					t.Errorf("degree %d group %v %v V: board %v m, general %v m", degree, g, v, b, d)
				}
				if degree > 1 && d < at(v, degree-1, g, false) {
					t.Errorf("group %v %v V: degree %d asks for less than degree %d", g, v, degree, degree-1)
				}
				if g > GroupI && d < at(v, degree, g-1, false) {
					t.Errorf("degree %d %v V: group %v asks for less than %v", degree, v, g, g-1)
				}
			}
		}
	}
}

func TestCreepageNotBelow(t *testing.T) {
	// 250 V on group I in degree 2: 1.25 mm; 4 kV impulse: 3.0 mm through air.
	surface, err := Creepage(250, 2, GroupI, Basic, false)
	if err != nil {
		t.Fatal(err)
	}
	air, err := Clearance(4000, 2, Basic, 0)
	if err != nil {
		t.Fatal(err)
	}
	surface.Steps = append(make([]string, 0, 4), surface.Steps...) // room behind the end
	n := CreepageNotBelow(surface, air)
	if n.DistanceM != 3.0e-3 || n.Row != "4 kV" || n.Confidence != 'B' || n.Steps[len(n.Steps)-1] != "not below the clearance: 3 mm" {
		t.Errorf("raised: %+v", n)
	}
	if behind := surface.Steps[:2][1]; behind != "" {
		t.Errorf("the argument's memory was written to: %q", behind)
	}
	air.DistanceM, air.Confidence = 1e-3, 'D'
	n = CreepageNotBelow(surface, air)
	if n.DistanceM != 1.25e-3 || n.Row != "250 V" || n.Confidence != 'D' || len(n.Steps) != 1 {
		t.Errorf("kept: %+v", n)
	}
}
