package report

import (
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
	enc := json.NewEncoder(&plain)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("encode report: %w", err)
	}
	_, err := escapeUnseen(plain.Bytes()).WriteTo(w)
	return err
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
