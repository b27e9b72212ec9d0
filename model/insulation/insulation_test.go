package insulation

import (
	"math"
	"testing"
)

func TestNames(t *testing.T) {
	for k := Kind(0); int(k) < len(kindNames); k++ {
		got, ok := KindByName(kindNames[k])
		if ok != k.valid() || ok && got != k {
			t.Errorf("kind %d: %q leads to %d, %v", k, k, got, ok)
		}
	}
	for g := Group(0); g < 7; g++ {
		got, ok := GroupByName(g.String())
		if ok != g.valid() || ok && got != g {
			t.Errorf("group %d: %q leads to %d, %v", g, g, got, ok)
		}
	}
	for _, name := range []string{"", "Basic", "double", "III", "iiia"} {
		if _, ok := KindByName(name); ok {
			t.Errorf("kind %q was taken", name)
		}
		if _, ok := GroupByName(name); ok {
			t.Errorf("group %q was taken", name)
		}
	}
}

func TestConfidence(t *testing.T) {
	for _, tc := range []struct {
		a, b, want Confidence
	}{
		{'A', 'A', 'A'}, {'A', 'B', 'B'}, {'C', 'B', 'C'}, {'D', 'A', 'D'},
		{0, 'A', 'D'}, {'A', 'Z', 'D'}, {'a', 'A', 'D'},
	} {
		if got := Worst(tc.a, tc.b); got != tc.want {
			t.Errorf("worst of %v and %v: %v, want %v", tc.a, tc.b, got, tc.want)
		}
	}
	for c, want := range map[Confidence]bool{'A': true, 'B': true, 'C': false, 'D': false, 0: false, 'E': false, 'a': false} {
		if c.Confirmed() != want {
			t.Errorf("%v confirmed: %v", c, c.Confirmed())
		}
	}
	if Confidence('C').String() != "C" || Confidence(0).String() != "?" {
		t.Error("letters of the marks")
	}
}

func TestText(t *testing.T) {
	for _, tc := range []struct {
		v    float64
		want string
	}{
		{3, "3"}, {5.328, "5.328"}, {0.040, "0.04"}, {20000, "20000"}, {1.0000001, "1"},
		{23.879999999, "23.88"}, {123456, "123500"}, {0.00001, "0.00001"}, {math.Inf(1), "+Inf"}, {math.NaN(), "NaN"},
	} {
		if got := text(tc.v); got != tc.want {
			t.Errorf("%v: %q, want %q", tc.v, got, tc.want)
		}
	}
}
