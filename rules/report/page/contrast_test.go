package page

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// Each pair of colours that text has on this page has a contrast of 4.5 or more, light
// and dark (WCAG 2.2, success criterion 1.4.3; formula of its relative luminance).
func TestContrast(t *testing.T) {
	sets := regexp.MustCompile(`:root\{([^}]*)\}`).FindAllStringSubmatch(styleSheet, -1)
	if len(sets) != 2 {
		t.Fatalf("%d sets of colours", len(sets))
	}
	for i, set := range sets {
		colour := map[string]float64{}
		for _, c := range regexp.MustCompile(`--([a-z]+):#([0-9a-f]{6})`).FindAllStringSubmatch(set[1], -1) {
			colour[c[1]] = luminance(t, c[2])
		}
		pairs := [][2]string{{"muted", "paper"}}
		for _, ground := range []string{"paper", "tint", "fail", "open", "kept", "pass"} {
			pairs = append(pairs, [2]string{"ink", ground})
		}
		for _, p := range pairs {
			a, b := colour[p[0]], colour[p[1]]
			if r := (math.Max(a, b) + 0.05) / (math.Min(a, b) + 0.05); !(r >= 4.5) {
				t.Errorf("set %d: %s on %s has a contrast of %.2f", i, p[0], p[1], r)
			}
		}
		// Lines of tables and controls: 3 to 1 (success criterion 1.4.11).
		a, b := colour["line"], colour["paper"]
		if r := (math.Max(a, b) + 0.05) / (math.Min(a, b) + 0.05); !(r >= 3) {
			t.Errorf("set %d: lines have a contrast of %.2f", i, r)
		}
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	sum := 0.0
	for i, w := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += w * c
	}
	return sum
}
