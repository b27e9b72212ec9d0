package probe

import (
	"math"
	"testing"
)

// The place where heat balances is found to the last digits, of smooth, stiff and broken functions, and quickly where they are smooth.
func TestBalance(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func(float64) float64
		want float64
		most int
	}{
		{"straight", func(k float64) float64 { return k - 37 }, 37, 20},
		{"power", func(k float64) float64 { return math.Pow(k, 1.25) - 90 }, math.Pow(90, 0.8), 30},
		{"below one", func(k float64) float64 { return k*k - 0.01 }, 0.1, 45},
		{"stiff", func(k float64) float64 { return math.Expm1(k/3) - 1e4 }, 3 * math.Log1p(1e4), 60},
		{"jump", func(k float64) float64 { return math.Copysign(1, k-20.5) }, 20.5, 110},
		{"nothing below two", func(k float64) float64 { return math.Sqrt(k-2) - 1 }, 3, 60},
		{"never", func(float64) float64 { return -1 }, HottestK, 40},
	} {
		n := 0
		got := balance(func(k float64) float64 {
			n++
			if c.name == "nothing below two" && k == 1 {
				return -1
			}
			return c.f(k)
		})
		if !(math.Abs(got-c.want) <= 1e-11*c.want) || n > c.most {
			t.Errorf("%s: %v in %d steps, want %v in at most %d", c.name, got, n, c.want, c.most)
		}
	}
	if got := balance(func(float64) float64 { return math.NaN() }); !math.IsNaN(got) {
		t.Errorf("no number: %v", got)
	}
}
