package si

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

// FuzzParse tries any text under every dimension and as a pure number: no
// panic; success is finite, belongs to one dimension only and survives
// printing; failure is one short, harmless line.
func FuzzParse(f *testing.F) {
	for d := Length; d < endOfDimensions; d++ {
		for _, u := range d.Units() {
			f.Add("12.5 " + u)
		}
	}
	for _, text := range []string{"", " ", "3mm", "20", "1e400 mm", ".inf", "010", "09", "0x1F", "1_000", "+5", "-5 mm", "\u22125 mm", "1,5 mm",
		"20\u00a0mm", "45°", "3 ohm mm2/m", "3 A rms", "3 ppm/°C", "0e99999999999 m", "1e-99999999999 m", "\xff\xfe", "3 \x1b[31m", "3 mm\u202e", "5 1", "1 1/K"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		accepted := Dimension(0)
		for d := Length; d < endOfDimensions; d++ {
			v, err := Parse(text, d)
			if err != nil {
				harmless(t, text, err)
				continue
			}
			if accepted != 0 {
				t.Fatalf("%q is both %s and %s", text, accepted, d)
			}
			accepted = d
			if math.IsNaN(v) || math.IsInf(v, 0) || v == 0 && math.Signbit(v) {
				t.Fatalf("%q as %s = %v", text, d, v)
			}
			printed := FormatDigits(v, d.Symbol(), 17)
			read := Parse
			if d == Ratio {
				read = func(text string, _ Dimension) (float64, error) { return ParsePure(text) }
			}
			again, err := read(printed, d)
			if d == Angle && (math.Abs(v) > math.MaxFloat64/60 || math.Abs(v) < 1e-300) {
				continue // the printed degrees leave the range of float64, or its full digits
			}
			if err != nil || math.Abs(again-v) > math.Abs(v)*0x1p-51 {
				t.Fatalf("%q as %s = %v prints as %q and reads as %v, %v", text, d, v, printed, again, err)
			}
		}
		v, err := ParsePure(text)
		if err != nil {
			harmless(t, text, err)
		} else if accepted != 0 || math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%q is the pure number %v and a %s", text, v, accepted)
		}
	})
}

func harmless(t *testing.T, text string, err error) {
	t.Helper()
	message := err.Error()
	if !utf8.ValidString(message) || len(message) > 600 || strings.HasSuffix(message, ".") {
		t.Fatalf("%q gives the message %q", text, message)
	}
	for _, r := range message {
		isKnown := r >= ' ' && r < 0x7f || strings.ContainsRune("°µμΩ√²·±\u2126\u212a\u22c5", r)
		if !isKnown {
			t.Fatalf("%q puts %q into a message", text, r)
		}
	}
}
