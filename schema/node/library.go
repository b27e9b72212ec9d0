package node

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"gopkg.in/yaml.v3"
)

// errLibrary marks a panic of the YAML library.
var errLibrary = errors.New("the YAML reader failed")

// documents is what the library made of a text: the first document (nil when
// there is none), the second one if there is one, and the first error.
type documents struct {
	first, second *yaml.Node
	err           error
}

// decode reads at most two documents. After an error first is set only when
// the error came behind it.
func decode(r io.Reader) (d documents) {
	defer func() {
		if v := recover(); v != nil {
			d.err = fmt.Errorf("%w: %v", errLibrary, v)
		}
	}()
	dec := yaml.NewDecoder(r)
	read := func() *yaml.Node {
		if d.err != nil {
			return nil
		}
		doc := new(yaml.Node)
		err := dec.Decode(doc)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			d.err = err
			return nil
		}
		return doc
	}
	if d.first = read(); d.first != nil {
		d.second = read()
	}
	return d
}

// parses reports whether text is one valid document or none.
func parses(text []byte) bool {
	d := decode(bytes.NewReader(text))
	return d.err == nil && d.second == nil
}

// lineReader hands out one line a call and so shows how far the library had
// to read before it gave up.
type lineReader struct {
	text []byte
	next int // offset in text
	line int // lines begun so far
}

func (l *lineReader) Read(p []byte) (int, error) {
	if l.next >= len(l.text) {
		return 0, io.EOF
	}
	end, limit := l.next, min(l.next+len(p), len(l.text))
	for end < limit && l.text[end] != '\n' && l.text[end] != '\r' {
		end++
	}
	if end < limit {
		end = afterBreak(l.text, end)
	}
	n := copy(p, l.text[l.next:end])
	if l.next == 0 || l.text[l.next-1] == '\n' || l.text[l.next-1] == '\r' {
		l.line++
	}
	l.next += n
	return n, nil
}

// byteReader hands out everything in front of slow and then one byte a call.
type byteReader struct {
	text       []byte
	slow, next int
}

func (r *byteReader) Read(p []byte) (int, error) {
	if r.next >= len(r.text) {
		return 0, io.EOF
	}
	n := min(len(p), 1)
	if r.next < r.slow {
		n = min(len(p), r.slow-r.next)
	}
	copy(p[:n], r.text[r.next:])
	r.next += n
	return n, nil
}
