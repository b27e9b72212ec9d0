package finding

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Clean returns s with every character that could forge a line, a colour code
// or a reading direction replaced by a visible escape: C0 and C1 controls,
// DEL, bidirectional controls, the line and paragraph separators, and bytes
// that are not UTF-8. "a\nb" becomes the four characters a, backslash, n, b.
// Text without such characters comes back as it is; a backslash of the text
// itself is not doubled, so the escapes are for reading, not for parsing.
//
// The bidirectional controls are those of Unicode Standard Annex #9, section 2.
func Clean(s string) string {
	clean := true
	for i, r := range s {
		if unsafeRune(r) || r == utf8.RuneError && invalidAt(s, i) {
			clean = false
			break
		}
	}
	if clean {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == utf8.RuneError && invalidAt(s, i):
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case unsafeRune(r) && r < 0x80:
			fmt.Fprintf(&b, `\x%02x`, r)
		case unsafeRune(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// invalidAt reports whether the replacement character found at s[i] stands for
// a broken byte rather than for U+FFFD written in the text.
func invalidAt(s string, i int) bool {
	_, size := utf8.DecodeRuneInString(s[i:])
	return size == 1
}

// unsafeRune reports whether r must not reach a terminal or a log as it is.
func unsafeRune(r rune) bool {
	switch {
	case r < 0x20, r >= 0x7f && r <= 0x9f:
		return true
	case r == 0x061c, r == 0x200e, r == 0x200f:
		return true
	case r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
		return true
	case r == 0x2028, r == 0x2029:
		return true
	}
	return false
}
