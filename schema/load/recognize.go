package load

import (
	"bytes"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"busgauss/schema/node"
)

// ownKeys are the keys by which a layout is known among other files.
var ownKeys = []string{"layout", "bars", "sensors", "duties"}

// mostRecognized is the length of a text up to which its tree is looked at: no longer one is a layout.
const mostRecognized = 4 << 20

// firstKey finds one of ownKeys at the very start of a line, where a text that is in no brackets has it at the top.
var firstKey = regexp.MustCompile(`(?m)^["']?(layout|bars|sensors|duties)["']?[ \t]*:`)

// Recognize reports whether a file that nobody named is a layout: its tree has a key of a layout at the top of a document,
// however it is written, or two of them in a mapping of a list there. A text that cannot be read counts where it speaks of
// layouts: Load then says what is wrong with it, and nothing hides behind a slip.
func Recognize(data []byte) bool {
	if start := bytes.TrimLeft(data, " \t\r\n"); len(start) > 0 && start[0] != '{' && start[0] != '[' && firstKey.Match(data) {
		return true // as nearly all are written: the tree would say so too
	}
	if !maySpeak(data) {
		return false
	}
	if len(data) > mostRecognized {
		return speaks(data)
	}
	heads, text, whole := node.Heads(data)
	for _, h := range heads {
		own := 0
		for _, k := range ownKeys {
			if slices.Contains(h.Keys, k) {
				own++
			}
		}
		if own > 1 || own == 1 && !h.InList {
			return true
		}
	}
	return !whole && speaks(text)
}

// maySpeak reports whether a text can have one of ownKeys at all: as it is, behind escapes, or in another encoding.
func maySpeak(data []byte) bool {
	if bytes.IndexByte(data, '\\') >= 0 || bytes.IndexByte(data, 0) >= 0 {
		return true
	}
	return slices.ContainsFunc(ownKeys, func(k string) bool { return bytes.Contains(data, []byte(k)) })
}

var (
	// anyKey finds one of ownKeys where a key may stand, with what is in front of it in its line.
	anyKey = regexp.MustCompile("(?:^|[\r\n\u0085\u2028\u2029])([ \t]*)(?:[^\r\n]*[{,][ \t]*)?(?:---[ \t]+)?(?:-[ \t]+)*(?:[?][ \t]+)?(?:[&!][^ \t\r\n]*[ \t]+)*" +
		`["']?(layout|bars|sensors|duties)["']?[ \t]*(:[ \t]*[0-9"']*|[\r\n]|$)`)
	escaped = regexp.MustCompile(`\\(?:x[0-9a-fA-F]{2}|u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8})`)
	indents = regexp.MustCompile(`(?:^|[\r\n])([ \t]*)[^ \t\r\n#]`)
)

// speaks reports whether a text that cannot be read looks like a layout: it gives layout a version, has two of the keys of a
// layout anywhere, or one as far to the left as anything in it.
func speaks(text []byte) bool {
	text = escaped.ReplaceAllFunc(text, func(e []byte) []byte {
		r, err := strconv.ParseUint(string(e[2:]), 16, 32)
		if err != nil || r > 0x7e {
			return e
		}
		return []byte{byte(r)}
	})
	seen := map[string]bool{}
	least := -1
	for _, m := range anyKey.FindAllSubmatch(text, -1) {
		key, value := string(m[2]), strings.Trim(string(m[3]), ": \t\r\n\"'")
		if seen[key] = true; len(seen) > 1 || key == "layout" && value != "" {
			return true
		}
		if least < 0 || len(m[1]) < least {
			least = len(m[1])
		}
	}
	if least < 0 {
		return false
	}
	for _, m := range indents.FindAllSubmatch(text, -1) {
		if len(m[1]) < least {
			return false
		}
	}
	return true
}
