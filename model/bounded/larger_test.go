package bounded

import (
	"math"
	"slices"
	"testing"
)

func TestLeads(t *testing.T) {
	for _, c := range []struct {
		value float64
		name  string
		top   float64
		of    string
		want  bool
	}{
		{2, "b", 1, "a", true}, {1, "a", 2, "b", false},
		{1, "a", 1, "b", true}, {1, "b", 1, "a", false},
		{1 + 1e-12, "b", 1, "a", false}, {1, "a", 1 + 1e-12, "b", true}, // round-off does not name
		{1 + 1e-8, "b", 1, "a", true}, {-1, "a", -1 - 1e-12, "b", true},
		{0, "b", 0, "a", false}, {1, "b", 0, "a", true}, {0, "b", math.Inf(-1), "", true},
		{math.Inf(1), "b", 5, "a", true}, {5, "a", math.Inf(1), "b", false}, {math.Inf(1), "a", math.Inf(1), "b", true},
		{math.NaN(), "a", 1, "b", false},
	} {
		if got := Leads(c.value, c.name, c.top, c.of); got != c.want {
			t.Errorf("%g of %q before %g of %q is %t", c.value, c.name, c.top, c.of, got)
		}
	}
}

func TestRank(t *testing.T) {
	type item struct {
		v float64
		n string
	}
	list := []item{{1, "d"}, {math.NaN(), "e"}, {1 + 1e-12, "f"}, {3, "z"}, {1 - 1e-12, "a"}, {0.5, "b"}}
	Rank(list, func(i item) float64 { return i.v }, func(i item) string { return i.n })
	got := ""
	for _, i := range list {
		got += i.n
	}
	if got != "zadfbe" {
		t.Errorf("order %s", got)
	}
	slices.Reverse(list)
	Rank(list, func(i item) float64 { return i.v }, func(i item) string { return i.n })
	if list[1].n != "a" || list[5].n != "e" {
		t.Errorf("another order of the same list: %v", list)
	}
}
