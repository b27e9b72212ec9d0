package node

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/span"
)

func place(s span.Span) string {
	return fmt.Sprintf("%d:%d-%d:%d", s.Start.Line, s.Start.Column, s.End.Line, s.End.Column)
}

// The places were counted by hand in the text: lines and columns from 1,
// columns in code points, the end behind the last character.
func TestPositions(t *testing.T) {
	for _, c := range []struct{ name, text, path, key, value string }{
		{"plain", "a: 5 mm # c\n", "/a", "1:1-1:2", "1:4-1:8"},
		{"no line end", "a: 5", "/a", "1:1-1:2", "1:4-1:5"},
		{"single quotes", "a: 'it''s' # c\n", "/a", "1:1-1:2", "1:4-1:11"},
		{"double quotes", "a: \"q\\\"\\\\\" # c\n", "/a", "1:1-1:2", "1:4-1:11"},
		{"quoted key", "\"a b\" : 1\n", "/a b", "1:1-1:6", "1:9-1:10"},
		{"plain over lines", "a: one two\n  three # c\nb: 1\n", "/a", "1:1-1:2", "1:4-2:8"},
		{"quoted over lines", "a: \"one\n\n  two\"\nb: 1\n", "/a", "1:1-1:2", "1:4-3:7"},
		{"value on the next line", "a:\n  # c\n  b\n", "/a", "1:1-1:2", "3:3-3:4"},
		{"byte order mark", "\ufeffa: 1\nb: 2\n", "/a", "1:1-1:2", "1:4-1:5"},
		{"CRLF", "a: 1\r\nb: 2\r\n", "/b", "2:1-2:2", "2:4-2:5"},
		{"CR", "a: 1\rb: 2\r", "/b", "2:1-2:2", "2:4-2:5"},
		{"mixed breaks", "a: 1\r\n\nb: 2\r\rc: 3", "/c", "5:1-5:2", "5:4-5:5"},
		{"accents", "ä: é # ü\nb: 1\n", "/ä", "1:1-1:2", "1:4-1:5"},
		{"beyond the basic plane", "{a: 😀😀, b: 2}\n", "/b", "1:9-1:10", "1:12-1:13"},
		{"combining mark is a code point", "{a: e\u0301, b: 2}\n", "/b", "1:9-1:10", "1:12-1:13"},
		{"long line beyond ASCII", "{" + strings.Repeat("é: 1, ", 1) + "x: '" + strings.Repeat("é", 300) + "', b: 2}\n", "/b", "1:315-1:316", "1:318-1:319"},
		{"hidden escapes keep columns", `{"a": "\/\ud83d\ude00", "b": 2}`, "/b", "1:25-1:28", "1:30-1:31"},
		{"hidden escapes have ends", `{"a": "\/\ud83d\ude00", "b": 2}`, "/a", "1:2-1:5", "1:7-1:23"},
		{"anchor is left out", "a: &x 5 mm\n", "/a", "1:1-1:2", "1:7-1:11"},
		{"tag is left out", "a: !!str  5\n", "/a", "1:1-1:2", "1:11-1:12"},
		{"anchor and tag on another line", "a: &x !!map # c\n  b: 1\n", "/a", "1:1-1:2", "2:3-2:7"},
		{"anchor of a key", "&k a: 1\n", "/a", "1:4-1:5", "1:7-1:8"},
		{"alias", "a: &x {b: 1}\nc: *x # d\n", "/c", "2:1-2:2", "2:4-2:6"},
		{"below an alias", "a: &x {b: 1}\nc: *x\n", "/c/b", "1:8-1:9", "1:11-1:12"},
		{"literal", "a: |\n  x\n  y\n\n# c\nb: 1\n", "/a", "1:1-1:2", "1:4-3:4"},
		{"literal, kept lines", "a: |+ # c\n  x\n\n\nb: 1\n", "/a", "1:1-1:2", "1:4-2:4"},
		{"literal with deeper lines", "a: |\n  x\n    y\n  z\nb: 1\n", "/a", "1:1-1:2", "1:4-4:4"},
		{"folded", "a:\n  b: >-\n    x\n    yy\nc: 1\n", "/a/b", "2:3-2:4", "2:6-4:7"},
		{"block with indicator", "a:\n- |2\n   x\nb: 1\n", "/a/0", "0:0-0:0", "2:3-3:5"},
		{"block in a compact list", "- b: |\n   x\n  c: 1\n", "/0/b", "1:3-1:4", "1:6-2:5"},
		{"literal with a comment behind", "a: |\n    x\n  # c\nb: 1\n", "/a", "1:1-1:2", "1:4-2:6"},
		{"nested block with indicator", "a:\n  b: |1\n    x\n  c: 1\n", "/a/b", "2:3-2:4", "2:6-3:6"},
		{"empty block", "a: |\nb: 1\n", "/a", "1:1-1:2", "1:4-1:5"},
		{"empty block, header comment", "a: |- # c\nb: 1\n", "/a", "1:1-1:2", "1:4-1:6"},
		{"empty value", "a:\nb: 1\n", "/a", "1:1-1:2", "1:3-1:3"},
		{"empty value at the end", "a: 1\nb:", "/b", "2:1-2:2", "2:3-2:3"},
		{"empty value and comment", "a:   # c\nb: 1\n", "/a", "1:1-1:2", "1:3-1:3"},
		{"empty value, quoted key, colon apart", "{\"a\" :  }\n", "/a", "1:2-1:5", "1:7-1:7"},
		{"empty value without colon", "{a, b}\n", "/a", "1:2-1:3", "1:3-1:3"},
		{"empty value with anchor", "a: &x\nb: 1\n", "/a", "1:1-1:2", "1:6-1:6"},
		{"empty text", "a: ''\n", "/a", "1:1-1:2", "1:4-1:6"},
		{"empty item", "- 1\n-\n- 3\n", "/1", "0:0-0:0", "2:2-2:2"},
		{"block mapping", "a:\n  b: 1\n  c:\n    d: 22\n# e\n", "/a", "1:1-1:2", "2:3-4:10"},
		{"block list", "a:\n- b\n- c: 1\n", "/a", "1:1-1:2", "2:1-3:7"},
		{"flow mapping", "a: {b: 1, c: 2, } # d\n", "/a", "1:1-1:2", "1:4-1:18"},
		{"flow list over lines", "a: [1, # ]\n  2\n  ]\nb: 1\n", "/a", "1:1-1:2", "1:4-3:4"},
		{"empty collections", "a: { }\nb: []\n", "/b", "2:1-2:2", "2:4-2:6"},
		{"empty mapping", "a: { }\nb: []\n", "/a", "1:1-1:2", "1:4-1:7"},
		{"nested brackets", "a: [[1, 2], [3]]\n", "/a/0", "0:0-0:0", "1:5-1:11"},
		{"pair without braces", "a: [b: 1, c]\n", "/a/0", "0:0-0:0", "1:5-1:9"},
		{"explicit key", "? a\n: b\n", "/a", "1:3-1:4", "2:3-2:4"},
		{"hash inside a word", "a: b#c\n", "/a", "1:1-1:2", "1:4-1:7"},
		{"colon inside a word", "a: b:c\n", "/a", "1:1-1:2", "1:4-1:7"},
		{"root", "# c\na: 1\n", "", "0:0-0:0", "2:1-2:5"},
		{"marker line", "--- {a: 1}\n", "", "0:0-0:0", "1:5-1:11"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, key, ok := mustParse(t, c.text).At(c.path)
			if !ok {
				t.Fatalf("%q: no %s", c.text, c.path)
			}
			if place(key) != c.key || place(n.Span) != c.value {
				t.Errorf("%q: key %s value %s, want %s and %s", c.text, place(key), place(n.Span), c.key, c.value)
			}
			if n.Span.File != "f.yaml" {
				t.Errorf("file %q", n.Span.File)
			}
		})
	}
}

// A source gives back every offset of its characters, through columns counted
// the slow way.
func TestSourceRoundTrip(t *testing.T) {
	text := "a\r\n" + strings.Repeat("é😀x", 100) + "\rb\n\n" + strings.Repeat("y", 70) + "e\u0301"
	s := newSource("f", []byte(text))
	line, column := 1, 1
	for off, r := range text {
		if r == '\n' && text[max(0, off-1)] == '\r' {
			line, column = line+1, 1
			continue
		}
		if p := s.pos(off); p.Line != line || p.Column != column {
			t.Fatalf("offset %d: %v, want %d:%d", off, p, line, column)
		}
		if got := s.offset(line, column); got != off {
			t.Fatalf("%d:%d: offset %d, want %d", line, column, got, off)
		}
		switch {
		case r == '\r' && text[off+1] == '\n':
		case r == '\r' || r == '\n':
			line, column = line+1, 1
		default:
			column++
		}
	}
	if got := s.pos(len(text) + 5); got != (span.Pos{Line: line, Column: column}) {
		t.Errorf("behind the end: %v", got)
	}
	if got := s.offset(99, 99); got != len(text) {
		t.Errorf("behind the last line: %d", got)
	}
}
