// Package node reads YAML and JSON text into a small tree in which every key
// and value knows its place. It alone imports a YAML library, takes from it
// nothing but its node tree, and judges scalars, keys, tags, aliases and sizes
// by its own, stricter rules. All problems are findings; none is an error.
package node

import (
	"strconv"
	"strings"

	"busgauss/model/span"
)

// Kind is what a value is.
type Kind uint8

// The kinds of values.
const (
	Null Kind = iota
	Bool
	Number
	Text
	Map
	List
)

// String returns the word that messages use for k.
func (k Kind) String() string {
	switch k {
	case Null:
		return "null"
	case Bool:
		return "true or false"
	case Number:
		return "number"
	case Text:
		return "text"
	case Map:
		return "mapping"
	case List:
		return "list"
	}
	return "unknown kind"
}

// Node is one value of a file. An alias is resolved: it shows the anchor's
// content under its own span, while the children keep the anchor's spans.
// Nodes below an anchor are shared between its uses and must not be changed.
type Node struct {
	Kind    Kind
	Text    string    // content of a scalar without quotes and escapes; a number as it was written
	Quoted  bool      // written in quotes or as a block scalar
	Span    span.Span // without anchor and tag; an empty value has no length and stands behind its colon
	Members []Member  // of a Map, in file order; of equal keys only the first
	Items   []*Node   // of a List

	places map[string]int // key to index in Members, for large maps only
}

// Member is one entry of a Map.
type Member struct {
	Key     string
	KeySpan span.Span
	Value   *Node
}

// indexFrom is the number of members from which a map keeps an index.
const indexFrom = 16

// Member returns the entry of n with the given key, and false when n is nil,
// is not a map or has no such key.
func (n *Node) Member(key string) (Member, bool) {
	if n == nil {
		return Member{}, false
	}
	if i, ok := n.places[key]; ok && i < len(n.Members) && n.Members[i].Key == key {
		return n.Members[i], true
	}
	for _, m := range n.Members {
		if m.Key == key {
			return m, true
		}
	}
	return Member{}, false
}

// Get returns the value of the given key, nil when it is absent.
func (n *Node) Get(key string) *Node {
	m, _ := n.Member(key)
	return m.Value
}

// Value returns n as a schema validator takes it: map[string]any, []any,
// string, bool, nil, or float64 for numbers, which are always finite.
func (n *Node) Value() any {
	if n == nil {
		return nil
	}
	switch n.Kind {
	case Bool:
		return n.Text == "true"
	case Number:
		if f, ok := strictValue(n.Text); ok {
			return f
		}
		return n.Text
	case Text:
		return n.Text
	case Map:
		m := make(map[string]any, len(n.Members))
		for _, e := range n.Members {
			m[e.Key] = e.Value.Value()
		}
		return m
	case List:
		l := make([]any, len(n.Items))
		for i, e := range n.Items {
			l[i] = e.Value()
		}
		return l
	}
	return nil
}

// At walks a JSON pointer (RFC 6901) from n. It returns the node, and the span
// of its key when the last step went through a map; otherwise that span is
// zero. The last result is false when the pointer leads nowhere.
func (n *Node) At(pointer string) (*Node, span.Span, bool) {
	if n == nil {
		return nil, span.Span{}, false
	}
	var key span.Span
	if pointer == "" {
		return n, key, true
	}
	if pointer[0] != '/' {
		return nil, key, false
	}
	at := n
	for _, step := range strings.Split(pointer[1:], "/") {
		switch at.Kind {
		case Map:
			// RFC 6901, section 4: first ~1, then ~0, so that ~01 means ~1.
			step = strings.ReplaceAll(strings.ReplaceAll(step, "~1", "/"), "~0", "~")
			m, ok := at.Member(step)
			if !ok {
				return nil, span.Span{}, false
			}
			at, key = m.Value, m.KeySpan
		case List:
			i, err := strconv.Atoi(step)
			if err != nil || i < 0 || i >= len(at.Items) || strconv.Itoa(i) != step {
				return nil, span.Span{}, false
			}
			at, key = at.Items[i], span.Span{}
		default:
			return nil, span.Span{}, false
		}
	}
	return at, key, true
}
