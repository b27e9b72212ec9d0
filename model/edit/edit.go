// Package edit alters a text at places that a finding names and leaves every other byte
// as it stands.
package edit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// Apply returns source with each edit carried out. Edits may come in any order; the
// same edit twice counts once, and what is inserted stands before what is replaced in
// the same place. An error says that two overlap or that one lies outside the text.
func Apply(source string, edits []finding.Edit) (string, error) {
	list := slices.Clone(edits)
	slices.SortFunc(list, func(a, b finding.Edit) int {
		return cmp.Or(comparePlaces(a.Span.Start, b.Span.Start), comparePlaces(a.Span.End, b.Span.End), strings.Compare(a.Text, b.Text))
	})
	list = slices.CompactFunc(list, func(a, b finding.Edit) bool {
		return a.Text == b.Text && a.Span.Start == b.Span.Start && a.Span.End == b.Span.End
	})
	var out strings.Builder
	done := 0
	for _, e := range list {
		from, ok := offset(source, e.Span.Start)
		to, ok2 := offset(source, e.Span.End)
		if !ok || !ok2 || to < from {
			return "", fmt.Errorf("%s is no place of the text", e.Span)
		}
		if from < done {
			return "", fmt.Errorf("two changes meet at %s", e.Span)
		}
		out.WriteString(source[done:from])
		out.WriteString(e.Text)
		done = to
	}
	out.WriteString(source[done:])
	return out.String(), nil
}

func comparePlaces(a, b span.Pos) int {
	return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
}

// Text returns what stands at s; empty where s is no place of the text.
func Text(source string, s span.Span) string {
	from, ok := offset(source, s.Start)
	to, ok2 := offset(source, s.End)
	if !ok || !ok2 || to < from {
		return ""
	}
	return source[from:to]
}

// offset returns the byte at which p stands. Lines end with LF, CR LF or CR, as in YAML 1.2, section 5.4.
func offset(source string, p span.Pos) (int, bool) {
	if p.Line < 1 || p.Column < 1 {
		return 0, false
	}
	at := 0
	for range p.Line - 1 {
		end := strings.IndexAny(source[at:], "\r\n")
		if end < 0 {
			return 0, false
		}
		at += end + 1
		if source[at-1] == '\r' && at < len(source) && source[at] == '\n' {
			at++
		}
	}
	for range p.Column - 1 {
		if at >= len(source) || source[at] == '\n' || source[at] == '\r' {
			return 0, false
		}
		_, size := utf8.DecodeRuneInString(source[at:])
		at += size
	}
	return at, true
}
