package report

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"unicode"
	"unicode/utf16"
)

// EncodeJSON writes v to w as indented JSON that is safe to show: text from a
// layout cannot move a terminal, reorder a line or be read by a build host as a
// command, and yet every string decodes to exactly what it was. It returns the
// first error of w and writes nothing when v cannot be encoded.
func EncodeJSON(w io.Writer, v any) error {
	var plain bytes.Buffer
	if err := encodeTo(&plain, v, ""); err != nil {
		return err
	}
	_, err := escapeUnseen(plain.Bytes()).WriteTo(w)
	return err
}

func encodeTo(out *bytes.Buffer, v any, prefix string) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent(prefix, "  ")
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("encode report: %w", err)
	}
	return nil
}

// JSONStream writes an object of values and lists as EncodeJSON would, piece by piece, so that a large one need not be in memory.
type JSONStream struct {
	w     *bufio.Writer
	piece bytes.Buffer
	any   bool // a member was written
	err   error
}

// NewJSONStream begins an object.
func NewJSONStream(w io.Writer) *JSONStream { return &JSONStream{w: bufio.NewWriterSize(w, 64<<10)} }

// Value writes a member with its value.
func (s *JSONStream) Value(name string, v any) {
	s.member(name)
	s.put(v, "  ")
}

// List writes a member with the list of what each adds.
func (s *JSONStream) List(name string, each func(add func(any))) {
	s.member(name)
	s.text("[")
	first := true
	each(func(v any) {
		if !first {
			s.text(",")
		}
		first = false
		s.text("\n    ")
		s.put(v, "    ")
	})
	if !first {
		s.text("\n  ")
	}
	s.text("]")
}

// End ends the object and returns the first error.
func (s *JSONStream) End() error {
	s.text("\n}\n")
	if s.err == nil {
		s.err = s.w.Flush()
	}
	return s.err
}

func (s *JSONStream) member(name string) {
	if s.any {
		s.text(",")
	} else {
		s.text("{")
	}
	s.any = true
	s.text("\n  \"" + name + "\": ")
}

func (s *JSONStream) put(v any, prefix string) {
	if s.err != nil {
		return
	}
	s.piece.Reset()
	if s.err = encodeTo(&s.piece, v, prefix); s.err == nil {
		encoded := bytes.TrimSuffix(s.piece.Bytes(), []byte("\n"))
		_, s.err = escapeUnseen(encoded).WriteTo(s.w)
	}
}

func (s *JSONStream) text(t string) {
	if s.err == nil {
		_, s.err = s.w.WriteString(t)
	}
}

// escapeUnseen replaces, in encoded JSON, what a reader cannot see by the \u form
// of the same character. The encoder itself does so below U+0020 and for U+2028
// and U+2029; here follow DEL, C1 and all format characters, bidirectional
// controls among them. The second of two number signs goes the same way: build
// hosts take "##[" and "##vso[" for commands wherever they stand in a line
// (github.com/actions/runner, ActionCommand.cs). All of these occur only inside
// strings, so the document keeps its meaning.
func escapeUnseen(encoded []byte) *bytes.Buffer {
	var out bytes.Buffer
	out.Grow(len(encoded))
	previous := rune(0)
	for _, c := range string(encoded) {
		switch {
		case c == '#' && previous == '#':
			fmt.Fprintf(&out, `\u%04x`, c)
		case c >= 0x7f && unicode.In(c, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp):
			for _, unit := range utf16.Encode([]rune{c}) {
				fmt.Fprintf(&out, `\u%04x`, unit)
			}
		default:
			out.WriteRune(c)
		}
		previous = c
	}
	return &out
}
