package load

import (
	"fmt"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// reader collects a layout and the problems of its file.
type reader struct {
	out       *layout.Layout
	findings  []finding.Finding
	places    map[string]bool // JSON pointers that a finding of the reader speaks of
	names     names
	circuitAt []layout.CircuitIndex // of the circuits of the file, in its order
	standing  []standing            // of each bar
	judged    map[span.Pos]bool     // starts of values whose text is reported already
	spare     finding.Finding       // takes what is not worth saying twice
	// asked holds the members of mappings that the reader looked at; nil when
	// nobody wants to know.
	asked map[*node.Node]bool
	index *Index // what IndexOf makes; nil when nobody wants to know
}

// spot is one value of the file, there or missing, with what is needed to speak
// of it.
type spot struct {
	r    *reader
	up   *spot
	key  string     // its key, or its index in a list
	n    *node.Node // nil when the file does not have it
	edit span.Span  // its key; of an item of a list, the item; of a missing value, the key of the object that lacks it
	name string     // how messages call it; empty: by its key
	id   string     // the named object that it belongs to
}

// top returns the spot of the whole file. The place to edit is its first character.
func (r *reader) top(root *node.Node) *spot {
	first := root.Span
	first.End = first.Start
	if len(root.Members) > 0 {
		first = root.Members[0].KeySpan
	}
	return &spot{r: r, n: root, edit: first, name: "the layout"}
}

// present reports whether the file has the value.
func (s *spot) present() bool { return s.n != nil }

// at returns the value of a key of s.
func (s *spot) at(key string) *spot {
	child := &spot{r: s.r, up: s, key: key, edit: s.edit, id: s.id}
	if s.n == nil || s.n.Kind != node.Map {
		return child
	}
	if m, ok := s.n.Member(key); ok {
		child.n, child.edit = m.Value, m.KeySpan
		s.r.ask(m.Value)
	}
	return child
}

// called gives s a name for messages.
func (s *spot) called(format string, args ...any) *spot {
	s.name = fmt.Sprintf(format, args...)
	return s
}

// members returns the values of a mapping in file order; nothing when s is
// missing or no mapping, which is then a problem.
func (s *spot) members() []*spot {
	if !s.mapping() {
		return nil
	}
	out := make([]*spot, len(s.n.Members))
	for i, m := range s.n.Members {
		out[i] = &spot{r: s.r, up: s, key: m.Key, n: m.Value, edit: m.KeySpan, id: s.id}
		s.r.ask(m.Value)
	}
	return out
}

// objects returns the named objects of a section, each called word "ID".
func (s *spot) objects(word string) []*spot {
	out := s.members()
	for _, o := range out {
		o.id = o.key
		o.name = word + " " + quote(o.key)
	}
	return out
}

// items returns the values of a list; ok is false when s is missing or no list,
// which is then a problem.
func (s *spot) items() (out []*spot, ok bool) {
	if s.n == nil {
		return nil, false
	}
	if s.n.Kind != node.List {
		s.wrongKind("a list")
		return nil, false
	}
	out = make([]*spot, len(s.n.Items))
	for i, item := range s.n.Items {
		out[i] = &spot{r: s.r, up: s, key: strconv.Itoa(i), n: item, edit: item.Span, id: s.id}
	}
	return out, true
}

// label returns the words for s, such as `width of section of bar "U"`.
func (s *spot) label() string {
	switch {
	case s.name != "":
		return s.name
	case s.up == nil || s.up.up == nil:
		return s.key
	case s.up.n != nil && s.up.n.Kind == node.List:
		i, _ := strconv.Atoi(s.key)
		return fmt.Sprintf("item %d of %s", i+1, s.up.label())
	}
	return clip(s.key) + " of " + s.up.label()
}

// pointer returns the JSON pointer (RFC 6901) of s.
func (s *spot) pointer() string {
	if s.up == nil {
		return ""
	}
	return s.up.pointer() + "/" + escape(s.key)
}

func escape(token string) string {
	if !strings.ContainsAny(token, "~/") {
		return token
	}
	return strings.ReplaceAll(strings.ReplaceAll(token, "~", "~0"), "/", "~1")
}

// where returns the place of the value, or where it is missing.
func (s *spot) where() span.Span {
	if s.n != nil {
		return s.n.Span
	}
	return s.edit
}

// problem reports a problem at the value of s.
func (s *spot) problem(rule, format string, args ...any) *finding.Finding {
	return s.problemAt(s.where(), rule, format, args...)
}

// problemAt reports a problem of s at another place. The result may be added to
// until the next problem.
func (s *spot) problemAt(at span.Span, rule, format string, args ...any) *finding.Finding {
	p := s.pointer()
	s.r.places[p] = true
	if s.r.judged[at.Start] {
		return &s.r.spare
	}
	return s.r.add(at, rule, s.id, p, fmt.Sprintf(format, args...))
}

func (r *reader) add(at span.Span, rule, object, cause, message string) *finding.Finding {
	r.findings = append(r.findings, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: finding.Error,
		Object: object, Cause: cause, Span: at, Message: message,
	})
	return &r.findings[len(r.findings)-1]
}

// assume lists a default that the file leaves open.
func (r *reader) assume(at span.Span, object, format string, args ...any) {
	r.out.Assumed = append(r.out.Assumed, finding.Assumption{
		Span: at, Object: object, Text: fmt.Sprintf(format, args...),
	})
}

// quoted returns the text of s as messages show it.
func (s *spot) quoted() string { return quote(s.n.Text) }

// maxQuoted is the number of characters of the file that a message quotes.
const maxQuoted = 60

// quote returns text of the file for messages.
func quote(text string) string { return finding.Quote(text, maxQuoted) }

func clip(text string) string { return finding.Clip(text, maxQuoted) }
