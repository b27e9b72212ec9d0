package finding

import (
	"strings"
	"testing"
)

func TestQuote(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", `""`},
		{"abcde", `"abcde"`},
		{"abcdef", `"abcd…"`},
		{"µµµµµ", `"µµµµµ"`},
		{"µµµµµµ", `"µµµµ…"`},
		{strings.Repeat("x", 1000), `"xxxx…"`},
		{"a\n\"b", `"a\n\"b"`},
	} {
		if got := Quote(c.text, 5); got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}
