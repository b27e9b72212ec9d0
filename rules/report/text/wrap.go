package text

import (
	"strings"
	"unicode"
)

// painter writes text in a colour, or as it is.
type painter interface{ Sprint(a ...any) string }

// styled is text with the colour that it is written in.
type styled struct {
	text  string
	style painter
}

// wrapped writes text in lines no wider than the terminal, broken at blanks but not between a number and what follows
// it: the first after lead, the others after hang. A word that is wider stands on a line of its own.
// One that build hosts would take for a command at the beginning of a line stays behind the word before.
func (p *printer) wrapped(lead, hang string, parts ...styled) {
	width := max(p.options.Width, leastWidth)
	p.out.WriteString(lead)
	at, start := columns(lead), true
	for _, part := range parts {
		for _, word := range unbroken(part.text) {
			n := columns(word)
			switch {
			case start:
			case at+1+n > width && !strings.HasPrefix(strings.TrimLeftFunc(word, unicode.IsSpace), "::"):
				p.out.WriteString("\n" + hang)
				at = columns(hang)
			default:
				p.out.WriteString(" ")
				at++
			}
			p.out.WriteString(part.style.Sprint(word))
			at, start = at+n, false
		}
	}
	p.out.WriteString("\n")
}

// unbroken cuts text at its blanks and leaves a number and its unit together.
func unbroken(text string) []string {
	var out []string
	number := false
	for word := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ' ' }) {
		if number {
			out[len(out)-1] += " " + word
		} else {
			out = append(out, word)
		}
		last := word[len(word)-1]
		number = '0' <= last && last <= '9'
	}
	return out
}

// columns returns how many columns text takes on a terminal.
func columns(text string) int {
	n := 0
	for _, r := range text {
		n += runeColumns(r)
	}
	return n
}

// runeColumns is 0 for marks that stand over the letter before them, 2 for the wide letters of East Asia and for
// pictures, and 1 for all others (Unicode Standard Annex #11, classes W and F, in whole blocks).
func runeColumns(r rune) int {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r >= 0x1100 && r <= 0x115f, r >= 0x2e80 && r <= 0xa4cf, r >= 0xac00 && r <= 0xd7a3, r >= 0xf900 && r <= 0xfaff,
		r >= 0xfe30 && r <= 0xfe6f, r >= 0xff00 && r <= 0xff60, r >= 0xffe0 && r <= 0xffe6, r >= 0x1f300 && r <= 0x1faff,
		r >= 0x20000 && r <= 0x3fffd:
		return 2
	}
	return 1
}

// head returns as much of the beginning of text as fits, with an ellipsis where it is cut.
func head(text string, most int) string {
	if columns(text) <= most {
		return text
	}
	if most < 1 {
		return ""
	}
	n := 0
	for i, r := range text {
		if n += runeColumns(r); n > most-1 {
			return text[:i] + "…"
		}
	}
	return text
}

// tail returns the end of text in at most that many columns.
func tail(text string, most int) string {
	n := 0
	runes := []rune(text)
	for i := len(runes) - 1; i >= 0; i-- {
		if n += runeColumns(runes[i]); n > most {
			return string(runes[i+1:])
		}
	}
	return text
}
