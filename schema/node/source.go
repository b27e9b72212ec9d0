package node

import (
	"bytes"
	"sort"
	"unicode/utf8"

	"busgauss/model/span"
)

// markEvery is the distance in code points between two marks of a line.
const markEvery = 64

// source is the text of a file, valid UTF-8 without a byte order mark, with
// what is needed to turn byte offsets into lines and columns and back. Lines
// end at LF, CR or CRLF. A line break at the very end opens no further line.
type source struct {
	name   string
	text   []byte
	starts []int         // byte offset of each line's first character
	ends   []int         // byte offset behind each line's last character, before its break
	marks  map[int][]int // for lines beyond ASCII: offset of every markEvery-th code point
}

func newSource(name string, text []byte) *source {
	s := &source{name: name, text: text, marks: map[int][]int{}}
	for p := 0; ; {
		e := p
		ascii := true
		for e < len(text) && text[e] != '\n' && text[e] != '\r' {
			ascii = ascii && text[e] < utf8.RuneSelf
			e++
		}
		if !ascii {
			s.marks[len(s.starts)] = lineMarks(text, p, e)
		}
		s.starts, s.ends = append(s.starts, p), append(s.ends, e)
		p = afterBreak(text, e)
		if p >= len(text) {
			return s
		}
	}
}

// lineMarks returns the offsets of every markEvery-th code point from p to e.
func lineMarks(text []byte, p, e int) []int {
	var marks []int
	for n := 0; p < e; n++ {
		if n%markEvery == 0 {
			marks = append(marks, p)
		}
		_, size := utf8.DecodeRune(text[p:e])
		p += size
	}
	return marks
}

// afterBreak returns the offset behind the line break at p, p if there is none.
func afterBreak(text []byte, p int) int {
	switch {
	case p >= len(text):
		return p
	case text[p] == '\n':
		return p + 1
	case text[p] == '\r' && p+1 < len(text) && text[p+1] == '\n':
		return p + 2
	case text[p] == '\r':
		return p + 1
	}
	return p
}

// line returns the index, from zero, of the line that holds offset off.
func (s *source) line(off int) int {
	return max(0, sort.SearchInts(s.starts, off+1)-1)
}

// pos returns the place of a byte offset. An offset inside a line break or
// behind the last line is taken back to the end of its line.
func (s *source) pos(off int) span.Pos {
	i := s.line(max(0, off))
	start := s.starts[i]
	off = min(max(off, start), s.ends[i])
	column := off - start
	if marks := s.marks[i]; marks != nil {
		m := max(0, sort.SearchInts(marks, off+1)-1)
		column = m*markEvery + utf8.RuneCount(s.text[marks[m]:off])
	}
	return span.Pos{Line: i + 1, Column: column + 1}
}

// offset returns the byte offset of a line and a column counted from 1, taken
// back into the file when they lie outside.
func (s *source) offset(line, column int) int {
	if line < 1 {
		return 0
	}
	if line > len(s.starts) {
		return s.ends[len(s.ends)-1]
	}
	i, n := line-1, max(0, column-1)
	p, end := s.starts[i], s.ends[i]
	marks := s.marks[i]
	if marks == nil {
		return min(p+n, end)
	}
	m := min(n/markEvery, len(marks)-1)
	p, n = marks[m], n-m*markEvery
	for ; n > 0 && p < end; n-- {
		_, size := utf8.DecodeRune(s.text[p:end])
		p += size
	}
	return p
}

// span returns the stretch between two byte offsets.
func (s *source) span(start, end int) span.Span {
	sp := span.Span{File: s.name, Start: s.pos(start), End: s.pos(end)}
	if sp.End.Before(sp.Start) {
		sp.End = sp.Start
	}
	return sp
}

// lineSpan returns the stretch of a line, counted from 1, without the blanks
// around its text.
func (s *source) lineSpan(line int) span.Span {
	i := min(max(line, 1), len(s.starts)) - 1
	text := s.text[s.starts[i]:s.ends[i]]
	left := len(text) - len(bytes.TrimLeft(text, " \t"))
	right := len(bytes.TrimRight(text, " \t"))
	return s.span(s.starts[i]+left, s.starts[i]+max(left, right))
}

// lineText returns the text of a line counted from 1 without its break.
func (s *source) lineText(line int) []byte {
	if line < 1 || line > len(s.starts) {
		return nil
	}
	return s.text[s.starts[line-1]:s.ends[line-1]]
}

// through returns the offset behind the break of a line counted from 1; zero
// for line 0, the length of the text for the last line and beyond.
func (s *source) through(line int) int {
	switch {
	case line <= 0:
		return 0
	case line >= len(s.starts):
		return len(s.text)
	}
	return s.starts[line]
}
