package finding

import (
	"strings"
	"testing"
)

// The characters are those of ISO/IEC 6429 (C0, C1, DEL) and of Unicode
// Standard Annex #9, section 2 (bidirectional controls).
func TestClean(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "bar U é 😀", "bar U é 😀"},
		{"empty", "", ""},
		{"line feed", "a\n::error::b", `a\n::error::b`},
		{"carriage return and tab", "a\r\tb", `a\r\tb`},
		{"colour code", "\x1b[31mred", `\x1b[31mred`},
		{"NUL", "a\x00b", `a\x00b`},
		{"DEL", "a\x7fb", `a\x7fb`},
		{"C1 control sequence introducer", "a\u009b31m", `a\u009b31m`},
		{"next line", "a\u0085b", `a\u0085b`},
		{"override", "a\u202eb", `a\u202eb`},
		{"isolates", "\u2066a\u2069", `\u2066a\u2069`},
		{"marks", "\u200e\u200f\u061c", `\u200e\u200f\u061c`},
		{"separators", "a\u2028b\u2029", `a\u2028b\u2029`},
		{"broken bytes", "a\xff\xc3", `a\xff\xc3`},
		{"broken byte after a good one", "é\xe2\x82", `é\xe2\x82`},
		{"replacement character itself", "a\ufffdb", "a\ufffdb"},
		{"both", "\ufffd\xff", `` + "\ufffd" + `\xff`},
		{"no-break space stays", "20\u00a0mm", "20\u00a0mm"},
		{"line after the range", "\u202f\u2065\u206a\u00a0", "\u202f\u2065\u206a\u00a0"},
	} {
		if got := Clean(c.in); got != c.want {
			t.Errorf("%s: Clean(%q) = %q, want %q", c.name, c.in, got, c.want)
		}
	}
}

func TestCleanLeavesNothingUnsafe(t *testing.T) {
	var all strings.Builder
	for r := rune(0); r < 0x3000; r++ {
		all.WriteRune(r)
	}
	for _, r := range Clean(all.String()) {
		if r < 0x20 || r >= 0x7f && r <= 0x9f || r >= 0x2028 && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			t.Fatalf("U+%04X is left", r)
		}
	}
}
