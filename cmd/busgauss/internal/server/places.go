package server

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"

	"busgauss/model/span"
	"busgauss/schema/load"
	"busgauss/schema/node"
)

// mark stands for what is being typed, so that the file has a tree while it is.
const mark = "busgauss-types-here"

// typed is a place at which something is being typed: the key of a mapping, or a value.
type typed struct {
	path   []string // of the mapping for a key, of the value else
	key    bool
	at     span.Span // of the mark in the tree of index
	before string    // what stands before the word in the same scalar: "20 " of "20 m"
	beside []string  // the other keys of the mapping
	index  *load.Index
}

// word is what is being typed at a byte of a text, and what stands around it.
type word struct {
	from, to int  // bytes
	quote    byte // that it stands in, 0: none
	colon    bool // one follows, so that the word is a key
}

// breaks are the characters that end a word.
const breaks = " \t\r\n,[]{}\"'#"

func wordAt(l *lines, at int) word {
	n := l.pos(at).Line - 1
	begin, end := l.line(n)
	w := word{from: at, to: at}
	for w.from > begin && strings.IndexByte(breaks+":", l.text[w.from-1]) < 0 {
		w.from--
	}
	for w.to < end && strings.IndexByte(breaks+":", l.text[w.to]) < 0 {
		w.to++
	}
	rest := l.text[w.to:end]
	if w.from > begin {
		if q := l.text[w.from-1]; (q == '"' || q == '\'') && strings.HasPrefix(rest, string(q)) {
			w.quote, rest = q, rest[1:]
		}
	}
	rest = strings.TrimLeft(rest, " \t")
	w.colon = rest == ":" || strings.HasPrefix(rest, ": ") || w.quote != 0 && strings.HasPrefix(rest, ":")
	return w
}

// typedAt returns what may be typed at a word: as a key, as a value, or as both where the text allows it. The text is read as
// it would be with a mark in place of the word; where it has no tree even so, brackets that are open are closed,
// and what follows is left out.
func typedAt(path string, l *lines, w word) []typed {
	_, end := l.line(l.pos(w.from).Line - 1)
	_, size := utf8.DecodeRuneInString(l.text[w.to:])
	after := w.to
	if w.quote != 0 {
		after += size
	}
	head, tail := l.text[:w.from], l.text[after:]
	quote := ""
	if w.quote != 0 {
		quote = string(w.quote)
	}
	close := closers(head)
	var out []typed
	for _, key := range []bool{true, false} {
		if w.colon && !key {
			break
		}
		put := mark + quote
		if key && !w.colon {
			put += ": null"
		}
		for _, text := range []string{
			head + put + tail,
			head + put + close + l.text[end:],
			head + put + close + "\n",
		} {
			if t, ok := find(path, text, key); ok {
				out = append(out, t)
				break
			}
		}
	}
	return out
}

// closers returns the brackets that are open at the end of a text, closed. Brackets in quotes and comments do not count.
func closers(text string) string {
	var open []byte
	var quote byte
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case quote == '"' && c == '\\':
			i++
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case (c == '"' || c == '\'') && (i == 0 || strings.IndexByte(" \t\n,[{:", text[i-1]) >= 0):
			quote = c
		case c == '#' && (i == 0 || strings.IndexByte(" \t\n", text[i-1]) >= 0):
			if to := strings.IndexByte(text[i:], '\n'); to >= 0 {
				i += to
			} else {
				i = len(text)
			}
		case c == '{':
			open = append(open, '}')
		case c == '[':
			open = append(open, ']')
		case (c == '}' || c == ']') && len(open) > 0:
			open = open[:len(open)-1]
		}
	}
	for i, j := 0, len(open)-1; i < j; i, j = i+1, j-1 {
		open[i], open[j] = open[j], open[i]
	}
	return string(bytes.TrimSpace(open))
}

// find reads a text with a mark and returns where it stands.
func find(path, text string, key bool) (typed, bool) {
	x := load.IndexOf(path, []byte(text))
	if x == nil {
		return typed{}, false
	}
	out := typed{key: key, index: x}
	return out, out.look(x.Root, nil)
}

func (t *typed) look(n *node.Node, path []string) bool {
	switch n.Kind {
	case node.Text:
		before, ok := strings.CutSuffix(n.Text, mark)
		if ok && !t.key {
			t.path, t.at, t.before = path, n.Span, before
			return true
		}
	case node.Map:
		for _, m := range n.Members {
			if m.Key == mark && t.key {
				t.path, t.at = path, m.KeySpan
				for _, other := range n.Members {
					if other.Key != mark {
						t.beside = append(t.beside, other.Key)
					}
				}
				return true
			}
			if t.look(m.Value, append(path[:len(path):len(path)], m.Key)) {
				return true
			}
		}
	case node.List:
		for i, item := range n.Items {
			if t.look(item, append(path[:len(path):len(path)], strconv.Itoa(i))) {
				return true
			}
		}
	}
	return false
}

// keyAt returns the key at p in a tree, with the path to it; nil where there is none.
func keyAt(n *node.Node, p span.Pos, path []string) []string {
	for _, m := range n.Members {
		at := append(path[:len(path):len(path)], m.Key)
		if holds(m.KeySpan, p) {
			return at
		}
		if found := keyAt(m.Value, p, at); found != nil {
			return found
		}
	}
	for i, item := range n.Items {
		if found := keyAt(item, p, append(path[:len(path):len(path)], strconv.Itoa(i))); found != nil {
			return found
		}
	}
	return nil
}
