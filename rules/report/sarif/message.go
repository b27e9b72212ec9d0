package sarif

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Lengths in code points. Hosts show the first sentence alone where room is
// short, and one of them drops a result whose text is too long.
const (
	maxSentence = 255
	maxMessage  = 1000
)

// ellipsis marks a cut.
const ellipsis = "…"

// messageText returns what a result says: the first sentence of the message, which
// stands alone, those that explain it, then the remedy, then a link to each related
// place, because one host shows only the places that the text links to. What does
// not fit is shortened or, for links and what explains, left out: the remedy comes first.
func messageText(f *finding.Finding) string {
	message := firstOf(f.Message, withoutMessage(f))
	if f.Verdict == finding.Undecided {
		message = "undecided (" + f.Rule + "): " + message
	}
	first, more := finding.Sentences(message)
	out := escaped(sentence(first), maxSentence)
	if strings.HasSuffix(out, ellipsis) { // a cut sentence still has an end
		out = escaped(first, maxSentence-1) + "."
	}
	way := ""
	if f.Remedy != "" {
		way = " " + escaped(sentence("Try: "+f.Remedy), maxMessage-1-utf8.RuneCountInString(out))
	}
	for _, s := range more {
		s = " " + escaped(sentence(s), maxSentence)
		if utf8.RuneCountInString(out)+utf8.RuneCountInString(s)+utf8.RuneCountInString(way) > maxMessage {
			break
		}
		out += s
	}
	out += way
	for i, related := range f.Related {
		link := " See [" + escaped(relatedText(related), maxSentence) + "](" + strconv.Itoa(i+1) + ")."
		if utf8.RuneCountInString(out)+utf8.RuneCountInString(link) > maxMessage {
			break
		}
		out += link
	}
	return out
}

// withoutMessage returns what stands for a message that a verdict lacks, as a pass
// may: what it is about and its number.
func withoutMessage(f *finding.Finding) string {
	out := firstOf(report.About(f), f.Rule)
	if f.Verdict != finding.Fail && f.Measure != nil {
		out += ": " + report.Numbers(*f.Measure)
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
	return report.Fit(finding.Clean(s), limit, func(c rune) string {
		if c == '[' || c == ']' || c == '\\' {
			return `\` + string(c)
		}
		return string(c)
	})
}
