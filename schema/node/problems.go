package node

import (
	"cmp"
	"fmt"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// The identifiers of the problems that a file's text can have.
const (
	fileEncoding  = "file-encoding"
	fileSyntax    = "file-syntax"
	fileDocuments = "file-documents"
	fileLimits    = "file-limits"
	keyDuplicate  = "key-duplicate"
	keyForm       = "key-form"
	valueForm     = "value-form"
)

// Problems describes what Parse can report, sorted by identifier.
func Problems() []finding.Description {
	return []finding.Description{
		{
			ID: fileDocuments, Level: finding.Error,
			Title: "a file must hold exactly one document",
			Full: "The file is empty, holds comments only, or holds more than one document. " +
				"A YAML reader that takes the first document ignores the others silently, even broken ones, " +
				"so a second document is refused instead.",
			Help: "Keep one document a file. Split further documents into files of their own and remove the line of three hyphens. " +
				"Source: YAML 1.2.2, chapter 9.",
		},
		{
			ID: fileEncoding, Level: finding.Error,
			Title: "a file must be plain UTF-8 text without control characters",
			Full: "The file holds bytes that are not UTF-8, UTF-16 text, control characters, Unicode line separators " +
				"or tabs in the indentation. Line separators would shift line numbers between this program and editors; " +
				"tabs have no defined width in YAML.",
			Help: "Save the file as UTF-8, with or without a byte order mark at the start, and indent with spaces. " +
				"Characters that are needed inside a text can be written as escapes in double quotes, such as \"\\u2028\". " +
				"Source: YAML 1.2.2, sections 5.1, 5.2 and 6.1.",
		},
		{
			ID: fileLimits, Level: finding.Error,
			Title: "a file must stay within the limits of size",
			Full: "The file is too long, has too many values once aliases are counted as often as they are used, " +
				"is nested too deeply, or has a key of more than 1024 characters. " +
				"The limits keep a hostile file from using up time and memory.",
			Help: "Default limits: 4 MiB, 200000 keys and values, 100 levels, 1024 characters a key. " +
				"Common practice, except for the key length of implicit keys (YAML 1.2.2, section 7.4.2). Split the file.",
		},
		{
			ID: fileSyntax, Level: finding.Error,
			Title: "a file must be valid YAML or JSON",
			Full: "The text cannot be read as YAML. The line named is the first one behind the longest beginning of the file " +
				"that can be read, or the place of a quote or bracket that is not closed. " +
				"Nothing is read from such a file.",
			Help: "Correct the named line. Usual causes: a bracket or quote that is not closed, a missing space after a colon, " +
				"indentation that does not match, a text that needs quotes. Source: YAML 1.2.2; JSON: RFC 8259.",
		},
		{
			ID: keyDuplicate, Level: finding.Error,
			Title: "a key must not be repeated in one mapping",
			Full: "Two entries of one mapping have the same key. Readers differ in which of them they take, " +
				"so one of the two values would be lost without a word. Keys are compared by their text: 1 and \"1\" are the same.",
			Help: "Rename or remove one of the two. The second one is named, the first one is shown beside it. " +
				"Source: YAML 1.2.2, section 3.2.1.1.",
		},
		{
			ID: keyForm, Level: finding.Error,
			Title: "a key must be a plain word or text, followed by a colon and a space",
			Full: "A key is a number, true, false, null, a list, a mapping or an alias, a merge key (<<) is used, " +
				"or the space behind a colon is missing so that key and value became one text.",
			Help: "Write keys as text, in quotes where they look like a number; write merged entries out. " +
				"Source: JSON knows text keys only (RFC 8259, section 4); merge keys are not part of YAML 1.2.",
		},
		{
			ID: valueForm, Level: finding.Error,
			Title: "a value must have one meaning for every reader",
			Full: "A number is not written as plain decimal digits (010, 0x1F, 1_000, +5, .inf), is out of the range of a " +
				"double, a value has a tag other than the core ones, an alias contains itself, or a text escape is half a character. " +
				"Readers of YAML 1.1 and 1.2 disagree about such values.",
			Help: "Numbers: [-]digits[.digits][e[+-]digits] without leading zeros; put anything else in quotes. " +
				"Words such as yes, no, on and off and dates are text. Source: JSON number, RFC 8259, section 6; YAML 1.2.2, section 10.3.",
		},
	}
}

// maxListed is the number of problems of one file that are listed; one more
// says how many were left out.
const maxListed = 1000

// problems gathers findings of one file.
type problems struct {
	list []finding.Finding
}

func (p *problems) add(rule string, at span.Span, remedy, format string, args ...any) *finding.Finding {
	p.list = append(p.list, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: finding.Error, Span: at,
		Message: fmt.Sprintf(format, args...), Remedy: remedy,
	})
	return &p.list[len(p.list)-1]
}

// sorted returns the findings by position, rule and text, at most maxListed of
// them and one that counts the rest.
func (p *problems) sorted() []finding.Finding {
	// Findings are large: their order is sorted, not they themselves.
	order := make([]int, len(p.list))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := &p.list[i], &p.list[j]
		return cmp.Or(
			cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
			cmp.Compare(a.Span.Start.Column, b.Span.Start.Column),
			cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.Message, b.Message),
			cmp.Compare(i, j))
	})
	list := make([]finding.Finding, 0, min(len(order), maxListed+1))
	for _, i := range order[:min(len(order), maxListed)] {
		list = append(list, p.list[i])
	}
	if more := len(order) - maxListed; more > 0 {
		at := p.list[order[maxListed]].Span
		rest := problems{list: list}
		rest.add(fileLimits, at, "mend the listed ones first", "%d further problems from here on are not listed", more)
		list = rest.list
	}
	return list
}

// maxShown is the number of characters of the file that a message quotes.
const maxShown = 60

// quote returns text of the file for use in a message: in quotes, without
// anything that could forge a line or a colour, and shortened.
func quote(text string) string { return `"` + shorten(text) + `"` }

// shorten cleans text and cuts it to maxShown characters. Only the beginning is
// cleaned: a text may be megabytes long.
func shorten(text string) string {
	return finding.Clip(finding.Clean(finding.Clip(text, maxShown+1)), maxShown)
}
