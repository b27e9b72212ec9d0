package load

import (
	"fmt"
	"regexp"
	"strconv"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// plainWord is text that needs no quotes in YAML, wherever it stands, and is not taken for a
// number or a truth value when it begins so.
var plainWord = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]*$`)

// meant adds to a problem that what stands at a place was meant to be text: a slip of writing.
func meant(f *finding.Finding, at span.Span, text string) {
	f.Changes = []finding.Change{{
		Title: fmt.Sprintf("write %s", finding.Clean(text)),
		Edits: []finding.Edit{{Span: at, Text: text}},
		Safe:  true,
	}}
}

// asWord returns a word as YAML text.
func asWord(word string) string {
	if plainWord.MatchString(word) {
		return word
	}
	return strconv.Quote(word)
}

// asText returns text in the place of n, in quotes where n has them.
func asText(n *node.Node, text string) string {
	if n.Span.Start.Line == n.Span.End.Line && n.Span.End.Column-n.Span.Start.Column > utf8.RuneCountInString(n.Text) {
		return strconv.Quote(text)
	}
	return text
}
