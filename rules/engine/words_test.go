package engine

import "testing"

func TestShowLimit(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want string
	}{
		{0.05, "1", "5 %"}, {0.0328, "1", "3.28 %"}, {1, "1", "100 %"}, {0, "1", "0 %"}, {0.001, "1", "0.1 %"}, {0.606, "1", "60.6 %"},
		{40, "K", "40 K"}, {3.03, "A", "3.03 A"}, {5.5e-3, "m", "5.5 mm"}, {1, "", "1"}, {1e-9, "1", "1.00e-7 %"},
	} {
		if got := ShowLimit(c.v, c.unit); got != c.want {
			t.Errorf("%v of %q: %q, want %q", c.v, c.unit, got, c.want)
		}
	}
}

func TestSentence(t *testing.T) {
	for text, want := range map[string]string{"": "", "noise": "Noise", `"P" and "V"`: `"P" and "V"`, "écart": "Écart", "5 mT": "5 mT"} {
		if got := Sentence(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
