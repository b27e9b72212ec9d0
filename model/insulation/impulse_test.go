package insulation

import (
	"math"
	"strings"
	"testing"
)

func TestImpulseV(t *testing.T) {
	for _, tc := range []struct {
		name     string
		voltV    float64
		category int
		dc       bool
		want     float64
		mark     Confidence
	}{
		{"component data sheet, October 2021", 1000, 2, false, 6000, 'A'},
		{"public mailing list on electromagnetic compatibility", 1000, 3, false, 8000, 'A'},
		{"public glossary, 230/400 V supply, category I", 230, 1, false, 1500, 'A'},
		{"public glossary, 230/400 V supply, category IV", 230, 4, false, 6000, 'A'},
		{"row itself", 600, 2, false, 4000, 'B'},
		{"just above a row takes the next", 600.01, 2, false, 6000, 'A'},
		{"rounding of a unit stays on its row", 600 * (1 + 1e-12), 2, false, 4000, 'B'},
		{"row from memory", 24, 2, true, 500, 'D'},
		{"direct voltage above 1000 V", 1200, 2, true, 8000, 'D'},
		{"direct voltage within the common rows", 750, 3, true, 8000, 'A'},
	} {
		got, mark, err := ImpulseV(tc.voltV, tc.category, tc.dc)
		if err != nil || got != tc.want || mark != tc.mark {
			t.Errorf("%s: %v %v %v, want %v %v", tc.name, got, mark, err, tc.want, tc.mark)
		}
	}
}

func TestImpulseVRefuses(t *testing.T) {
	for _, tc := range []struct {
		name     string
		voltV    float64
		category int
		dc       bool
		says     string
	}{
		{"alternating above 1000 V", 1200, 2, false, "1000 V"},
		{"direct above 1500 V", 1501, 2, true, "1500 V"},
		{"zero", 0, 2, false, "above 0"},
		{"negative", -230, 2, false, "above 0"},
		{"not a number", math.NaN(), 2, false, "above 0"},
		{"infinite", math.Inf(1), 2, true, "1500 V"},
		{"category 0", 230, 0, false, "1 to 4"},
		{"category 5", 230, 5, false, "1 to 4"},
	} {
		got, _, err := ImpulseV(tc.voltV, tc.category, tc.dc)
		if err == nil || got != 0 || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: %v, error %v does not say %q", tc.name, got, err, tc.says)
		}
	}
}

func TestImpulseVMonotone(t *testing.T) {
	for category := 1; category <= 4; category++ {
		last := 0.0
		for v := 1.0; v <= 1500; v++ {
			got, _, err := ImpulseV(v, category, true)
			if err != nil {
				t.Fatal(err)
			}
			if got < last {
				t.Errorf("category %d, %v V: impulse falls from %v to %v", category, v, last, got)
			}
			last = got
			if category > 1 {
				if lower, _, _ := ImpulseV(v, category-1, true); !(lower < got) {
					t.Errorf("%v V: category %d has %v, category %d has %v", v, category-1, lower, category, got)
				}
			}
		}
	}
}

func TestSupplyClearance(t *testing.T) {
	// 1000 V, category II, reinforced: 6 kV, one step above is 8 kV, 8.0 mm
	// (component data sheet, October 2021).
	n, err := SupplyClearance(1000, 2, false, 2, Reinforced, 0)
	if err != nil || n.DistanceM != 8.0e-3 || n.Confidence != 'C' || n.Row != "8 kV" {
		t.Fatalf("%+v, %v", n, err)
	}
	want := []string{
		"impulse 6 kV (1000 V line to neutral, category II)",
		"reinforced: 8 kV, one step above 6 kV in the preferred series",
		"case A degree 2, row 8 kV: 8 mm",
	}
	if strings.Join(n.Steps, "\n") != strings.Join(want, "\n") {
		t.Errorf("steps %q, want %q", n.Steps, want)
	}
	// The mark of the impulse row counts: 100 V is from memory, 2.5 kV is B.
	n, err = SupplyClearance(100, 4, false, 2, Basic, 0)
	if err != nil || n.DistanceM != 1.5e-3 || n.Confidence != 'D' {
		t.Errorf("%+v, %v", n, err)
	}
	if n, err := SupplyClearance(1200, 2, false, 2, Basic, 0); err == nil {
		t.Errorf("1200 V alternating: %+v", n)
	}
	if n, err := SupplyClearance(1000, 2, false, 4, Basic, 0); err == nil {
		t.Errorf("degree 4: %+v", n)
	}
}
