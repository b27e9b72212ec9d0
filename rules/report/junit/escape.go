package junit

import (
	"fmt"
	"strings"
)

// content returns s as the text of an element. Characters that XML cannot hold,
// not even escaped (XML 1.0, 5th edition, section 2.2), become visible.
func content(s string) string {
	var out strings.Builder
	for _, c := range s {
		switch {
		case c == '<':
			out.WriteString("&lt;")
		case c == '>':
			out.WriteString("&gt;")
		case c == '&':
			out.WriteString("&amp;")
		case c == '\n', c == '\t', c >= 0x20 && c <= 0xd7ff, c >= 0xe000 && c <= 0xfffd, c >= 0x10000:
			out.WriteRune(c)
		default:
			fmt.Fprintf(&out, `\u%04x`, c)
		}
	}
	return out.String()
}

// attribute returns s as the value of an attribute in double quotes. It has no
// line ends: readers turn those of attributes into blanks (section 3.3.3).
func attribute(s string) string {
	return strings.NewReplacer(`"`, "&quot;", "\n", `\n`, "\t", `\t`).Replace(content(s))
}
