package check

import (
	"math"
	"testing"
)

func TestIsOrder(t *testing.T) {
	h := []float64{0.4, 0.2, 0.1, 0.05}
	power := func(c, p float64) []float64 {
		e := make([]float64, len(h))
		for i := range e {
			e[i] = c * math.Pow(h[i], p)
		}
		return e
	}
	for _, c := range []struct {
		name string
		e    []float64
		want bool
	}{
		{"right", power(3, 2), true},
		{"too low", power(3, 1.8), false},
		{"too high", power(3, 2.2), false},
		{"stalls", []float64{1, 0.25, 0.0625, 0.06}, false},
		{"rises", []float64{1, 2, 4, 8}, false},
		{"zero", []float64{1, 0.25, 0.0625, 0}, false},
		{"not a number", []float64{1, 0.25, math.NaN(), 0.015}, false},
	} {
		if got := IsOrder(h, c.e, 2, 0.1); got != c.want {
			t.Errorf("%s: %v (orders %v)", c.name, got, Orders(h, c.e))
		}
	}
	if IsOrder(h[:2], power(1, 2)[:2], 2, 0.1) {
		t.Error("two meshes are not enough")
	}
}
