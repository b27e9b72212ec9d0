package server

import (
	"sort"
	"unicode/utf8"

	"busgauss/model/span"
)

// encoding is the unit in which the client counts the characters of a line.
type encoding string

// The encodings of LSP 3.17, PositionEncodingKind. Where nothing is agreed it is the second.
const (
	utf8Units  encoding = "utf-8"
	utf16Units encoding = "utf-16"
	utf32Units encoding = "utf-32"
)

// agreed returns the first of what a client offers that is known here.
func agreed(offered []string) encoding {
	for _, name := range offered {
		switch e := encoding(name); e {
		case utf8Units, utf16Units, utf32Units:
			return e
		}
	}
	return utf16Units
}

// width returns how many units r takes, of which the first byte stands at size bytes before the next rune.
func (e encoding) width(r rune, size int) int {
	switch {
	case e == utf8Units:
		return size
	case e == utf16Units && r >= 0x10000:
		return 2
	}
	return 1
}

// lines is a text with the places at which its lines begin. Lines end with LF, CR LF or CR, as in LSP and in YAML 1.2.
type lines struct {
	text  string
	start []int // byte offsets; the first is 0
}

func linesOf(text string) *lines {
	l := &lines{text: text, start: []int{0}}
	for i := 0; i < len(text); i++ {
		switch {
		case text[i] == '\n', text[i] == '\r' && (i+1 == len(text) || text[i+1] != '\n'):
			l.start = append(l.start, i+1)
		}
	}
	return l
}

// line returns where line n, from 0, begins and where its characters end.
func (l *lines) line(n int) (from, to int) {
	from, to = l.start[n], len(l.text)
	if n+1 < len(l.start) {
		to = l.start[n+1] - 1
		if to > from && l.text[to] == '\n' && l.text[to-1] == '\r' {
			to--
		}
	}
	return from, to
}

// offset returns the byte of p. What lies beyond a line or the text is its end, as LSP has it; a place inside
// a character is its beginning.
func (l *lines) offset(p position, e encoding) int {
	switch {
	case p.Line < 0 || p.Line == 0 && p.Character < 0:
		return 0
	case p.Line >= len(l.start):
		return len(l.text)
	}
	at, to := l.line(p.Line)
	for units := p.Character; at < to; {
		r, size := utf8.DecodeRuneInString(l.text[at:])
		if units -= e.width(r, size); units < 0 {
			break
		}
		at += size
	}
	return at
}

// place returns the position of byte at in units of e; it counts from 0.
func (l *lines) place(at int, e encoding) position {
	n := sort.SearchInts(l.start, at+1) - 1
	p := position{Line: n}
	for i := l.start[n]; i < at && i < len(l.text); {
		r, size := utf8.DecodeRuneInString(l.text[i:])
		p.Character += e.width(r, size)
		i += size
	}
	return p
}

// pos returns byte at as spans count it.
func (l *lines) pos(at int) span.Pos {
	p := l.place(at, utf32Units)
	return span.Pos{Line: p.Line + 1, Column: p.Character + 1}
}

// byteOf returns the byte of p, which counts as spans do.
func (l *lines) byteOf(p span.Pos) int {
	return l.offset(position{Line: p.Line - 1, Character: p.Column - 1}, utf32Units)
}

// stretch returns s in units of e.
func (l *lines) stretch(s span.Span, e encoding) stretch {
	if !s.Valid() {
		return stretch{}
	}
	return stretch{l.place(l.byteOf(s.Start), e), l.place(l.byteOf(s.End), e)}
}

// changed returns the text after changes, one after the other.
func (l *lines) changed(changes []contentChange, e encoding) *lines {
	for _, c := range changes {
		if c.Range == nil {
			l = linesOf(c.Text)
			continue
		}
		from, to := l.offset(c.Range.Start, e), l.offset(c.Range.End, e)
		if to < from {
			from, to = to, from
		}
		l = linesOf(l.text[:from] + c.Text + l.text[to:])
	}
	return l
}

// holds reports whether p lies in s or right behind it.
func holds(s span.Span, p span.Pos) bool {
	return s.Valid() && !p.Before(s.Start) && !s.End.Before(p)
}
