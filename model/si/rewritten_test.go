package si

import (
	"math"
	"testing"
)

func TestRewritten(t *testing.T) {
	for _, c := range []struct {
		text string
		v    float64
		want string
	}{
		{"5.5 mm", 4.1e-3, "4.1 mm"},
		{"5.5 mm", 4.10000000001e-3, "4.1 mm"},
		{"5.5 mm", -3.5355339e-3, "-3.536 mm"},
		{"0 mm", -0.3e-3, "-0.3 mm"},
		{"0.2 in", 5.08e-3 + 2.54e-3, "0.3 in"},
		{"180 deg", math.Pi / 2, "90 deg"},
		{"180°", -1e-12, "0°"},
		{"0.1 m", 0.0123456789, "0.012346 m"},
		{"240 mV/mT", 96.6, "96.6 mV/mT"},
		{"10 kohm", 12300, "12.3 kohm"},
		{"0.01", 0.0123456789, "0.0123457"},
		{"100", 12345678, "12345678"},
		{"20 °C", 35, "35 °C"},
		{"5\u00a0mm", 0.006, "6\u00a0mm"},
	} {
		if got, ok := Rewritten(c.text, c.v); !ok || got != c.want {
			t.Errorf("Rewritten(%q, %g) = %q, %v; want %q", c.text, c.v, got, ok, c.want)
		}
	}
	for _, text := range []string{"", "mm", "5 furlongs", "2,5 mm", "copper"} {
		if got, ok := Rewritten(text, 1); ok {
			t.Errorf("Rewritten(%q) = %q", text, got)
		}
	}
	if got, ok := Rewritten("5 mm", math.NaN()); ok {
		t.Errorf("not a number gives %q", got)
	}
}
