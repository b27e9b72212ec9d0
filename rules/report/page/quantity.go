package page

import (
	"html/template"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// unitText is a unit as model/si prints it and as people write it, in the pattern of a quantity.
const unitText = `(?:%|°C|°|ppm|deg|degC|rad|mils?|in|min|bits?|counts?|rtHz|[pnuµmckMG]?(?:A|Ah|C|F|G|H|Hz|J|K|N|Oe|S|T|V|W|Wb|m2|m²|m|ohm|s|Ω))`

// number is a number, or several that signs join: a day, a number of a standard.
const number = `[+\-−±]?\d+(?:[.,:\-]\d+)*(?:e[+\-]?\d+)?`

var (
	// quantity is a number with its sign and, where one follows, its unit.
	quantity = longest(number + `(?:°|(?: ` + unitText + `(?:[ ·]` + unitText + `)?(?:/` + unitText + `2?)*))?`)
	// bare is the number of a quantity alone.
	bare = longest(`^` + number)
)

// longest compiles a pattern that takes all that it can: Hz, not H.
func longest(pattern string) *regexp.Regexp {
	r := regexp.MustCompile(pattern)
	r.Longest()
	return r
}

// quantities returns text as HTML in which no line breaks inside a number or between it and its unit.
func quantities(text string) template.HTML {
	var out strings.Builder
	at := 0
	for at < len(text) {
		place := quantity.FindStringIndex(text[at:])
		if place == nil {
			break
		}
		from, to := at+place[0], at+place[1]
		end := from + len(bare.FindString(text[from:]))
		before, _ := utf8.DecodeLastRuneInString(text[:from])
		after, _ := utf8.DecodeRuneInString(text[end:])
		if from > 0 && (wordly(before) || before == '.') || end < len(text) && wordly(after) { // of a word, such as a digest
			out.WriteString(template.HTMLEscapeString(text[at:end]))
			at = end
			continue
		}
		if r, _ := utf8.DecodeRuneInString(text[to:]); to < len(text) && wordly(r) {
			to = end // no unit, but the beginning of a word
		}
		out.WriteString(template.HTMLEscapeString(text[at:from]))
		out.WriteString(`<span class="q">` + template.HTMLEscapeString(text[from:to]) + `</span>`)
		at = to
	}
	out.WriteString(template.HTMLEscapeString(text[at:]))
	return template.HTML(out.String())
}

func wordly(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' }
