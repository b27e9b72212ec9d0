package si

import (
	"math"
	"strings"
	"testing"
)

func TestParsePure(t *testing.T) {
	for _, tt := range []struct {
		text string
		want float64
	}{
		{"0", 0}, {"-0", 0}, {"2000", 2000}, {"-1.5", -1.5}, {"0.1", 0.1}, {"1e3", 1e3}, {"1E3", 1e3}, {"1e+3", 1e3}, {"2.5e-3", 2.5e-3},
		{"1e05", 1e5}, {"0.0", 0}, {"0e0", 0}, {"1.7976931348623157e308", math.MaxFloat64}, {"9007199254740993", 9007199254740992},
	} {
		got, err := ParsePure(tt.text)
		if err != nil || got != tt.want || math.Signbit(got) != (tt.want < 0) {
			t.Errorf("ParsePure(%q) = %v, %v, want %v", tt.text, got, err, tt.want)
		}
	}
}

func TestParsePureRefuses(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", "the number is missing: write digits, such as 12.5"},
		{"010", `010 starts with a zero: write 10, or "010" where text is meant`},
		{"09", `09 starts with a zero: write 9, or "09" where text is meant`},
		{"00", `00 starts with a zero: write 0, or "00" where text is meant`},
		{"-007.5", `-007.5 starts with a zero: write -7.5, or "-007.5" where text is meant`},
		{"00.5e3", `00.5e3 starts with a zero: write 0.5e3, or "00.5e3" where text is meant`},
		{"0x1F", `"0x1F" is not a decimal number: write 31`},
		{"-0x10", `"-0x10" is not a decimal number: write -16`},
		{"0o10", `"0o10" is not a decimal number: write 8`},
		{"0b11", `"0b11" is not a decimal number: write 3`},
		{"0xZZ", `"0xZZ" is not a decimal number: write digits, such as 12.5`},
		{"0x1p4", `"0x1p4" is not a decimal number: write digits, such as 12.5`},
		{"1_000", `"1_000" has an underscore: write 1000`},
		{"+5", `"+5" has a leading plus: write 5`},
		{"+010", `"+010" has a leading plus: write digits, such as 12.5`},
		{"--5", `"--5" is not a number: write digits, such as 12.5`},
		{".5", `".5" has no digit before the point: write 0.5`},
		{"-.5", `"-.5" has no digit before the point: write -0.5`},
		{"5.", `"5." has no digit after the point: write 5`},
		{"1e", `"1e" is not a number: write digits, such as 12.5`},
		{"e5", `"e5" is not a number: write digits, such as 12.5`},
		{"-", `"-" is not a number: write digits, such as 12.5`},
		{".", `"." has no digit before the point: write digits, such as 12.5`},
		{".inf", `".inf" is not a finite number: write digits, such as 12.5`},
		{"-.Inf", `"-.Inf" is not a finite number: write digits, such as 12.5`},
		{"Infinity", `"Infinity" is not a finite number: write digits, such as 12.5`},
		{".nan", `".nan" is not a finite number: write digits, such as 12.5`},
		{"NaN", `"NaN" is not a finite number: write digits, such as 12.5`},
		{"1e400", "1e400 is out of range: write a number below 1e308"},
		{"-1e400", "-1e400 is out of range: write a number below 1e308"},
		{"1e99999999999999999999", "1e99999999999999999999 is out of range: write a number below 1e308"},
		{"1e-400", "1e-400 is out of range: write 0 or a number above 1e-308"},
		{"1e-99999999999999999999", "1e-99999999999999999999 is out of range: write 0 or a number above 1e-308"},
		{"1,5", `"1,5" has a comma: write a decimal point, and no sign between thousands`},
		{"\u22125", `"\u22125" has a minus sign that is not the hyphen of the keyboard: write -5`},
		{"\u20135", `"\u20135" has a minus sign that is not the hyphen of the keyboard: write -5`},
		{"\u0663", `"\u0663" is not a number: write digits, such as 12.5`},
		{" 5", `" 5" has a space at an end: write it without`},
		{"5\n", `"5\n" has a space at an end: write it without`},
		{"five", `"five" is not a number: write digits, such as 12.5`},
		{"5 mm", `"5 mm" has a unit, a length, where a pure number is wanted`},
		{"5mm", `"5mm" has a unit, a length, where a pure number is wanted`},
		{"2 %", `"2 %" has a unit, a pure number is wanted: write 0.02`},
		{strings.Repeat("1", 101), `"` + strings.Repeat("1", 40) + `..." is too long for a number`},
	} {
		v, err := ParsePure(tt.text)
		if err == nil {
			t.Errorf("ParsePure(%q) = %v, want %q", tt.text, v, tt.want)
		} else if err.Error() != tt.want {
			t.Errorf("ParsePure(%q):\n got %s\nwant %s", tt.text, err, tt.want)
		}
	}
}

// Mu0HPerM against the recommended values: the relative distance is the one
// CODATA publishes, μ0/(4π × 10⁻⁷) − 1 = 55(15) × 10⁻¹¹ in 2018 and
// −13(16) × 10⁻¹¹ in 2022; tolerance 1 × 10⁻¹¹, a digit of theirs.
func TestMu0(t *testing.T) {
	for _, c := range []struct {
		edition            string
		valueHPerM, excess float64
	}{
		{"CODATA 2018", 1.25663706212e-6, 55e-11},
		{"CODATA 2022", 1.25663706127e-6, -13e-11},
	} {
		if got := c.valueHPerM/Mu0HPerM - 1; math.Abs(got-c.excess) > 1e-11 {
			t.Errorf("%s: relative excess %.3g, published %.3g", c.edition, got, c.excess)
		}
	}
}
