package sarif

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
)

// Lengths in code points. Hosts show the first sentence alone where room is
// short, and one of them drops a result whose text is too long.
const (
	maxSentence = 255
	maxMessage  = 1000
)

// ellipsis marks a cut.
const ellipsis = "…"

// messageText returns what a result says: the message as a sentence that stands
// alone, then the remedy, then a link to each related place, because one host
// shows only the places that the text links to. What does not fit is shortened
// or, for links, left out.
func messageText(f *finding.Finding) string {
	message := firstOf(f.Message, f.Rule)
	if f.Verdict == finding.Undecided {
		message = "undecided (" + f.Rule + "): " + message
	}
	out := escaped(sentence(message), maxSentence)
	if strings.HasSuffix(out, ellipsis) { // a cut sentence still has an end
		out = escaped(message, maxSentence-1) + "."
	}
	if f.Remedy != "" {
		out += " " + escaped(sentence("Try: "+f.Remedy), maxMessage-1-utf8.RuneCountInString(out))
	}
	for i, related := range f.Related {
		link := " See [" + escaped(relatedText(related), maxSentence) + "](" + strconv.Itoa(i+1) + ")."
		if utf8.RuneCountInString(out)+utf8.RuneCountInString(link) > maxMessage {
			break
		}
		out += link
	}
	return out
}

func relatedText(r finding.Related) string { return firstOf(r.Message, "related place") }

// sentence returns s with a full stop unless it ends a sentence already.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

// escaped returns s, cleaned and with the characters escaped that start an
// embedded link (section 3.11.6), in at most limit code points. The cut never
// parts an escape, and an ellipsis marks it.
func escaped(s string, limit int) string {
	return fit(finding.Clean(s), limit, func(c rune) string {
		if c == '[' || c == ']' || c == '\\' {
			return `\` + string(c)
		}
		return string(c)
	})
}

// shorten returns s in at most limit code points.
func shorten(s string, limit int) string {
	return fit(s, limit, func(c rune) string { return string(c) })
}

// fit writes every character of s in the form given, up to limit code points.
func fit(s string, limit int, form func(rune) string) string {
	var out strings.Builder
	length, cut := 0, 0 // cut is where an ellipsis still fits after
	for _, c := range s {
		next := form(c)
		length += utf8.RuneCountInString(next)
		if length > limit {
			if limit < 1 {
				return ""
			}
			return strings.TrimRightFunc(out.String()[:cut], unicode.IsSpace) + ellipsis
		}
		out.WriteString(next)
		if length < limit {
			cut = out.Len()
		}
	}
	return out.String()
}
