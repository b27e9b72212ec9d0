package insulation

import (
	"math"
	"strings"
	"testing"
)

func TestClearance(t *testing.T) {
	for _, tc := range []struct {
		name      string
		impulseV  float64
		degree    int
		kind      Kind
		altitudeM float64
		wantMM    float64
		mark      Confidence
		row       string
	}{
		// Railway technical rules, public text, same clearances as EN 50124-1.
		{"railway 1.5 kV", 1500, 2, Basic, 0, 0.5, 'B', "1.5 kV"},
		{"railway 1.5 kV, degree 3", 1500, 3, Basic, 0, 0.8, 'B', "1.5 kV"},
		{"railway 2.5 kV", 2500, 2, Supplementary, 0, 1.5, 'B', "2.5 kV"},
		{"railway 4 kV", 4000, 2, Functional, 0, 3.0, 'B', "4 kV"},
		{"railway 6 kV", 6000, 2, Basic, 0, 5.5, 'B', "6 kV"},
		// Component data sheet, October 2021.
		{"one step above 6 kV", 6000, 2, Reinforced, 0, 8.0, 'C', "8 kV"},
		// 4.6 kV lies 0.6 of the way from 3.0 mm to 4.0 mm; 3.6 mm becomes
		// 5.328 mm at 5000 m in a public seminar paper. The 5 kV row is C.
		{"interpolated", 4600, 2, Basic, 2000, 3.6, 'C', "4 kV to 5 kV"},
		{"seminar example at 5000 m", 4600, 2, Basic, 5000, 5.328, 'C', "4 kV to 5 kV"},
		{"between confirmed rows", 7000, 2, Basic, 0, 6.75, 'B', "6 kV to 8 kV"},
		{"floor of degree 2", 400, 2, Basic, 0, 0.2, 'C', "0.4 kV"},
		{"below the first row", 50, 1, Basic, 0, 0.01, 'C', "0.33 kV"},
		{"330 V from a rounded unit", 0.33 * 1000 * (1 + 1e-13), 1, Basic, 0, 0.01, 'C', "0.33 kV"},
		{"row from memory", 10000, 2, Basic, 0, 11, 'D', "10 kV"},
		{"neighbour from memory", 9000, 2, Basic, 0, 9.5, 'D', "8 kV to 10 kV"},
		// 5 kV is not in the series: 160 % is 8 kV.
		{"160 %", 5000, 2, Reinforced, 0, 8.0, 'C', "8 kV"},
		// 12 kV ends the series: 160 % is 19.2 kV, 18 + 7*4.2/5 mm.
		{"end of the series", 12000, 2, Reinforced, 0, 23.88, 'D', "15 kV to 20 kV"},
		{"first step of the series", 330, 2, Reinforced, 0, 0.2, 'C', "0.5 kV"},
		{"last row", 100000, 3, Basic, 0, 170, 'B', "100 kV"},
		{"altitude from memory spoils the mark", 6000, 2, Basic, 20000, 5.5 * 14.5, 'C', "6 kV"},
	} {
		n, err := Clearance(tc.impulseV, tc.degree, tc.kind, tc.altitudeM)
		if err != nil {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		if !(math.Abs(n.DistanceM*1000-tc.wantMM) < 1e-9) || n.Confidence != tc.mark || n.Row != tc.row {
			t.Errorf("%s: %v mm %v row %q, want %v mm %v row %q", tc.name, n.DistanceM*1000, n.Confidence, n.Row, tc.wantMM, tc.mark, tc.row)
		}
	}
}

func TestClearanceSteps(t *testing.T) {
	for _, tc := range []struct {
		impulseV, altitudeM float64
		kind                Kind
		want                []string
	}{
		{4000, 3000, Basic, []string{"case A degree 2, row 4 kV: 3 mm", "altitude 3000 m: x 1.14 = 3.42 mm"}},
		{4600, 0, Basic, []string{"case A degree 2, 4.6 kV between rows 4 kV to 5 kV: 3.6 mm"}},
		{12000, 0, Reinforced, []string{
			"reinforced: 160 % of 12 kV = 19.2 kV, no step in the preferred series",
			"case A degree 2, 19.2 kV between rows 15 kV to 20 kV: 23.88 mm",
		}},
	} {
		n, err := Clearance(tc.impulseV, 2, tc.kind, tc.altitudeM)
		if err != nil || strings.Join(n.Steps, "\n") != strings.Join(tc.want, "\n") {
			t.Errorf("steps %q, %v, want %q", n.Steps, err, tc.want)
		}
		if n.Table != "IEC 60664-1 Table F.2, case A, pollution degree 2" {
			t.Errorf("table %q", n.Table)
		}
	}
}

func TestClearanceRefuses(t *testing.T) {
	for _, tc := range []struct {
		name      string
		impulseV  float64
		degree    int
		kind      Kind
		altitudeM float64
		says      string
	}{
		{"above the table", 100001, 2, Basic, 0, "to 100 kV"},
		{"reinforced above the table", 70000, 2, Reinforced, 0, "112 kV"},
		{"zero", 0, 2, Basic, 0, "above 0"},
		{"negative", -4000, 2, Reinforced, 0, "above 0"},
		{"not a number", math.NaN(), 2, Basic, 0, "above 0"},
		{"infinite", math.Inf(1), 2, Reinforced, 0, "to 100 kV"},
		{"degree 4", 4000, 4, Basic, 0, "1 to 3"},
		{"degree 0", 4000, 0, Basic, 0, "1 to 3"},
		{"no kind", 4000, 2, 0, 0, "kind"},
		{"kind out of list", 4000, 2, 9, 0, "kind"},
		{"too high", 4000, 2, Basic, 25000, "20000 m"},
	} {
		n, err := Clearance(tc.impulseV, tc.degree, tc.kind, tc.altitudeM)
		if err == nil || n.DistanceM != 0 || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: %+v, error %v does not say %q", tc.name, n, err, tc.says)
		}
	}
}

// Distances never fall with voltage, pollution degree or altitude.
func TestClearanceMonotone(t *testing.T) {
	at := func(impulseV float64, degree int, kind Kind, altitudeM float64) float64 {
		n, err := Clearance(impulseV, degree, kind, altitudeM)
		if err != nil {
			t.Fatal(err)
		}
		return n.DistanceM
	}
	for degree := 1; degree <= 3; degree++ {
		last := 0.0
		for v := 10.0; v <= 100000; v *= 1.01 {
			d := at(v, degree, Basic, 0)
			if d < last {
				t.Errorf("degree %d, %v V: falls from %v to %v m", degree, v, last, d)
			}
			last = d
			if degree > 1 && d < at(v, degree-1, Basic, 0) {
				t.Errorf("%v V: degree %d asks for less than degree %d", v, degree, degree-1)
			}
			if v < 60000 && at(v, degree, Reinforced, 0) < d {
				t.Errorf("degree %d, %v V: reinforced below basic", degree, v)
			}
		}
		last = 0
		for h := 0.0; h <= 20000; h += 100 {
			d := at(5000, degree, Basic, h)
			if d < last {
				t.Errorf("degree %d, %v m: falls from %v to %v m", degree, h, last, d)
			}
			last = d
		}
		last = 0
		for _, v := range preferredV { // reinforced is monotone along its series
			d := at(v, degree, Reinforced, 0)
			if d < last {
				t.Errorf("degree %d, reinforced %v V: falls from %v to %v m", degree, v, last, d)
			}
			last = d
		}
	}
}
