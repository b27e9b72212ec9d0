package figure

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// linear undoes the curve of sRGB (IEC 61966-2-1:1999, section 5.2).
func linear(c [3]uint8) (out [3]float64) {
	for k, v := range c {
		f := float64(v) / 255
		if f <= 0.04045 {
			out[k] = f / 12.92
		} else {
			out[k] = math.Pow((f+0.055)/1.055, 2.4)
		}
	}
	return out
}

// luminance is Y of CIE XYZ for linear sRGB, white 1.
func luminance(l [3]float64) float64 { return 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2] }

// labOf is the inverse of srgb for linear light (CIE 15:2004, section 8.2.1).
func labOf(l [3]float64) lab {
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*l[0] + 0.3576*l[1] + 0.1805*l[2]) / 0.95047)
	y := f(luminance(l))
	z := f((0.0193*l[0] + 0.1192*l[1] + 0.9505*l[2]) / 1.08883)
	return lab{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// The matrices for full deuteranopia and protanopia on linear sRGB.
//
// Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A
// Physiologically-based Model for Simulation of Color Vision Deficiency, IEEE
// Transactions on Visualization and Computer Graphics 15 (2009) 1291, DOI
// 10.1109/TVCG.2009.113, severity 1.0; numbers from memory, each row adds to 1.
var blindness = map[string][3][3]float64{
	"full sight":   {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
}

func seen(m [3][3]float64, c [3]uint8) (out [3]float64) {
	l := linear(c)
	for i, row := range m {
		out[i] = min(max(row[0]*l[0]+row[1]*l[1]+row[2]*l[2], 0), 1)
	}
	return out
}

// TestPalette: lightness goes one way in steps that can be seen, to every kind of
// eye. A difference of 2.3 in L*a*b* is just noticeable (M. Mahy, L. Van Eycken,
// A. Oosterlinck, Color Research and Application 19 (1994) 105); steps must be
// more than that.
func TestPalette(t *testing.T) {
	for name, stops := range map[string][4]lab{"light": lightStops, "dark": darkStops} {
		for eye, m := range blindness {
			worst := math.Inf(1)
			for i := 1; i < shades; i++ {
				a, b := labOf(seen(m, shade(stops, i-1))), labOf(seen(m, shade(stops, i)))
				step := b.l - a.l
				if name == "light" {
					step = -step
				}
				if step <= 1 {
					t.Errorf("%s, %s: lightness from step %d to %d goes by %.2f", name, eye, i-1, i, step)
				}
				d := math.Sqrt((a.l-b.l)*(a.l-b.l) + (a.a-b.a)*(a.a-b.a) + (a.b-b.b)*(a.b-b.b))
				worst = min(worst, d)
			}
			if worst < 2.3 {
				t.Errorf("%s, %s: two steps differ by %.2f only", name, eye, worst)
			}
			t.Logf("%s, %s: least difference %.2f", name, eye, worst)
		}
	}
}

func TestLabRoundTrip(t *testing.T) {
	// White of sRGB is L* = 100 by definition; mid grey 119 is L* = 50.
	if c := (lab{l: 100}).srgb(); c != [3]uint8{255, 255, 255} {
		t.Errorf("white is %v", c)
	}
	if c := (lab{l: 50}).srgb(); c != [3]uint8{119, 119, 119} {
		t.Errorf("grey is %v", c)
	}
	if p := labOf(linear([3]uint8{255, 0, 0})); math.Abs(p.l-53.24) > 0.1 || math.Abs(p.a-80.09) > 0.3 || math.Abs(p.b-67.2) > 0.3 {
		t.Errorf("red is %v, want 53.24, 80.09, 67.20 (value from memory)", p)
	}
}

func colour(t *testing.T, s string) [3]float64 {
	t.Helper()
	n, err := strconv.ParseUint(s[1:], 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	return linear([3]uint8{uint8(n >> 16), uint8(n >> 8), uint8(n)})
}

// contrast is the contrast ratio of WCAG 2.2, "contrast ratio".
func contrast(a, b [3]float64) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// TestContrast holds text to 4.5 to 1 and lines to 3 to 1 (WCAG 2.2, success
// criteria 1.4.3 and 1.4.11). Ink must be readable on every shade, though letters
// have a rim of paper as well.
func TestContrast(t *testing.T) {
	for _, theme := range []struct {
		ink, paper, muted string
		series            [6]string
		stops             [4]lab
	}{
		{lightInk, lightPaper, lightMuted, seriesLight, lightStops},
		{darkInk, darkPaper, darkMuted, seriesDark, darkStops},
	} {
		paper := colour(t, theme.paper)
		for _, s := range []string{theme.ink, theme.muted} {
			if r := contrast(colour(t, s), paper); r < 4.5 {
				t.Errorf("%s on %s: %.2f", s, theme.paper, r)
			}
		}
		for _, s := range theme.series {
			if r := contrast(colour(t, s), paper); r < 3 {
				t.Errorf("series %s on %s: %.2f", s, theme.paper, r)
			}
		}
		for i := range shades {
			if r := contrast(colour(t, theme.ink), linear(shade(theme.stops, i))); r < 3 {
				t.Errorf("ink %s on shade %d: %.2f", theme.ink, i, r)
			}
		}
	}
}

// TestStyle: every class that a figure uses is in the style sheet, and the sheet
// fetches nothing.
func TestStyle(t *testing.T) {
	css := Style()
	if css != Style() {
		t.Error("two style sheets")
	}
	if regexp.MustCompile(`url\(|@import|</|expression`).MatchString(css) {
		t.Error("the style sheet fetches something")
	}
	plain := map[string]bool{"fg-note": true, "fg-value": true, "fg-part": true, "fg-title": true, "fg-name": true, "fg-sensor": true, "fg-axes": true} // for scripts and the page: text as it is
	for name, draw := range samples() {
		for _, e := range parse(t, draw()) {
			for _, class := range regexp.MustCompile(`\S+`).FindAllString(e.attr["class"], -1) {
				if class != "fg" && !plain[class] && !regexp.MustCompile(`\.`+class+`\b`).MatchString(css) {
					t.Errorf("%s: class %s has no style", name, class)
				}
			}
		}
	}
	for _, size := range regexp.MustCompile(`font-size:(\d+)px`).FindAllStringSubmatch(css, -1) {
		// A unit is 170 mm / WidthUnits; a point is 25.4 mm / 72.
		n, _ := strconv.ParseFloat(size[1], 64)
		if pt := n * 170 / WidthUnits / 25.4 * 72; pt < 9 {
			t.Errorf("text of %.1f pt on paper", pt)
		}
	}
}
