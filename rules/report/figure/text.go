package figure

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
)

// Text sizes in drawing units: a unit is a quarter of a millimetre at 170 mm of
// paper, so 13 units are 3.25 mm or 9.2 points.
const (
	textSize   = 13.0
	lineHeight = 16.0
)

// textWidth returns the width of s in drawing units, rather too wide than too
// narrow: the page's type is not known here. The widths are those of the widest
// of the common sans-serif types, in shares of its size (common practice).
func textWidth(s string) float64 {
	w := 0.0
	for _, r := range finding.Clean(s) {
		w += runeWidth(r)
	}
	return w * textSize
}

// boldness is how much wider the names of sensors are, which are set bold.
const boldness = 1.13

func runeWidth(r rune) float64 {
	switch {
	case strings.ContainsRune("iljI.,:;'|!()[]ft/", r):
		return 0.4
	case r == ' ' || r == '\u00a0':
		return 0.33
	case strings.ContainsRune("mwMW%@…", r):
		return 1
	case unicode.Is(unicode.Mn, r):
		return 0
	case r >= 0x1100 && (unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana) || r > 0xffff):
		return 1.1
	case unicode.IsUpper(r):
		return 0.78
	}
	return 0.645
}

// shorten returns s cleaned and cut with an ellipsis so that it is at most
// width drawing units wide. Cutting in the middle keeps what tells long names
// apart, which is often their end.
func shorten(s string, width float64) string {
	s = finding.Clean(s)
	if textWidth(s) <= width {
		return s
	}
	head, tail := 0, len(s)
	w := textWidth("…")
	for head < tail {
		r, n := utf8.DecodeRuneInString(s[head:tail])
		if w += float64(runeWidth(r) * textSize); w > width {
			break
		}
		head += n
		if head >= tail {
			break
		}
		r, n = utf8.DecodeLastRuneInString(s[head:tail])
		if w += float64(runeWidth(r) * textSize); w > width {
			break
		}
		tail -= n
	}
	return s[:head] + "…" + s[tail:]
}

// wrap breaks s at spaces and after hyphens into lines of at most width drawing units; a word that
// is too long is shortened. At most lines lines come back, the last shortened.
func wrap(s string, width float64, lines int) []string {
	var out []string
	line := ""
	words := pieces(s)
	for i, w := range words {
		if line == "" || textWidth(strings.TrimSpace(line+w)) <= width {
			line += w
			continue
		}
		if len(out) == lines-1 {
			line += strings.Join(words[i:], "")
			break
		}
		out = append(out, shorten(strings.TrimSpace(line), width))
		line = w
	}
	if line = strings.TrimSpace(line); line != "" {
		out = append(out, shorten(line, width))
	}
	return out
}

// pieces cuts s, cleaned and with single spaces, after each space and hyphen.
func pieces(s string) []string {
	s = strings.Join(strings.Fields(finding.Clean(s)), " ")
	var out []string
	for s != "" {
		k := strings.IndexAny(s, " -") + 1
		if k == 0 {
			k = len(s)
		}
		out = append(out, s[:k])
		s = s[k:]
	}
	return out
}
