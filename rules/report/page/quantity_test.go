package page

import "testing"

// A number keeps its sign, its exponent and its unit; what is part of a word is none.
func TestQuantities(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"value 20.2 mT, limit", `value [20.2 mT], limit`},
		{"-153 % of the range", `[-153 %] of the range`},
		{"±1.00e-7 % is", `[±1.00e-7 %] is`},
		{"22.0 uT/A at 8.00 kHz", `[22.0 uT/A] at [8.00 kHz]`},
		{"4.33 A/mm2, 25 W per metre", `[4.33 A/mm2], [25 W] per metre`},
		{"x ±400 um, 180 deg", `x [±400 um], [180 deg]`},
		{"240 mV/mT instead", `[240 mV/mT] instead`},
		{"3 Apples and 2 metres", `[3] Apples and [2] metres`},
		{"bfae73d57b27", `bfae73d57b27`},
		{"15e4364dd6, and 3rd", `15e4364dd6, and 3rd`},
		{"2026-11-25", `[2026-11-25]`},
		{"12,5 % <b>", `[12,5 %] &lt;b&gt;`},
		{"90 °C or -1.5°", `[90 °C] or [-1.5°]`},
		{"no number", `no number`},
		{"", ``},
	} {
		got := string(quantities(c.in))
		want := marked(c.want)
		if got != want {
			t.Errorf("%q gives %q, want %q", c.in, got, want)
		}
	}
}

// marked writes brackets as the element of a quantity.
func marked(text string) string {
	out := ""
	for _, r := range text {
		switch r {
		case '[':
			out += `<span class="q">`
		case ']':
			out += `</span>`
		default:
			out += string(r)
		}
	}
	return out
}

// A running head ends no string and no style, whatever the title is.
func TestCSSText(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"Ferry 4, deck", `"Ferry 4, deck"`},
		{`a"b\c</style>`, `"a\22 b\5c c\3c \2f style\3e "`},
		{"é\n", `"\e9 \a "`},
	} {
		if got := cssText(c.in); got != c.want {
			t.Errorf("%q gives %s, want %s", c.in, got, c.want)
		}
	}
	if got := clipEnd("abcdef", 4); got != "abc…" {
		t.Error(got)
	}
	if got := clipStart("abcdef", 4); got != "…def" {
		t.Error(got)
	}
}
