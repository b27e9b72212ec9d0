package node

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"busgauss/model/span"
)

// maxEncoding is the number of encoding problems that are listed one by one.
const maxEncoding = 20

// flaw is an encoding problem at a byte offset of the mended text.
type flaw struct {
	off             int
	message, remedy string
}

// prescan looks for what the YAML library accepts silently or refuses without
// a line. It returns the text without a byte order mark at its start, with one
// harmless character in the place of each bad one so that columns stay. Text in
// UTF-16 or UTF-32 gives a finding and false: nothing of it can be read.
func prescan(name string, data []byte, ps *problems) (*source, bool) {
	if what := wideEncoding(data); what != "" {
		at := span.Span{File: name, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 1}}
		ps.add(fileEncoding, at, "save the file as UTF-8", "the file is %s text, not UTF-8", what)
		return nil, false
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if plain(data) {
		return newSource(name, data), true
	}
	text := make([]byte, 0, len(data)+64)
	var flaws []flaw // as many as are listed, and the first of the others
	count := 0
	for p := 0; p < len(data); {
		r, size := utf8.DecodeRune(data[p:])
		if unfit(r, size) {
			if count++; len(flaws) <= maxEncoding {
				f := judge(r, size, data[p])
				f.off = len(text)
				flaws = append(flaws, f)
			}
			text = utf8.AppendRune(text, utf8.RuneError)
		} else {
			text = append(text, data[p:p+size]...)
		}
		p += size
	}
	src := newSource(name, text)
	for i, f := range flaws {
		at := src.span(f.off, f.off+len("\ufffd"))
		if i == maxEncoding && count > len(flaws) {
			ps.add(fileEncoding, at, "save the file as plain UTF-8 text", "%d further characters from here on are not allowed in a file", count-i)
			break
		}
		ps.add(fileEncoding, at, f.remedy, "%s", f.message)
	}
	return src, true
}

// plain reports whether data is printable ASCII with tabs and line breaks.
func plain(data []byte) bool {
	for _, c := range data {
		if c >= 0x7f || c < 0x20 && c != '\n' && c != '\r' && c != '\t' {
			return false
		}
	}
	return true
}

// unfit reports whether a character must not stand in a file: what YAML 1.2.2,
// section 5.1, leaves out, and the Unicode line separators.
func unfit(r rune, size int) bool {
	switch {
	case r == utf8.RuneError:
		return size == 1
	case r == '\n', r == '\r', r == '\t':
		return false
	case r < 0x20, r >= 0x7f && r <= 0x9f:
		return true
	case r == 0x2028, r == 0x2029, r == 0xfeff, r == 0xfffe, r == 0xffff:
		return true
	}
	return false
}

// judge says what is wrong with an unfit character; first is its first byte.
func judge(r rune, size int, first byte) flaw {
	switch {
	case r == utf8.RuneError && size == 1:
		return flaw{message: fmt.Sprintf("byte 0x%02x is not valid UTF-8", first), remedy: "save the file as UTF-8"}
	case r == 0:
		return flaw{message: "NUL character in the file", remedy: "remove it; check that the file is text"}
	case r == 0x85:
		return flaw{message: "next-line character U+0085: some readers take it for a line break, others do not", remedy: "end lines with a line feed"}
	case r == 0x2028, r == 0x2029:
		return flaw{message: fmt.Sprintf("separator U+%04X: some readers take it for a line break, others do not", r),
			remedy: fmt.Sprintf(`end lines with a line feed; inside a text write "\u%04x" in double quotes`, r)}
	case r == 0xfeff:
		return flaw{message: "byte order mark U+FEFF inside the file", remedy: "remove it; it may stand only at the very start"}
	case r == 0xfffe, r == 0xffff:
		return flaw{message: fmt.Sprintf("U+%04X is not a character", r), remedy: "remove it"}
	}
	return flaw{message: fmt.Sprintf("control character U+%04X in the file", r),
		remedy: fmt.Sprintf(`remove it; inside a text write "\x%02x" in double quotes`, r)}
}

// wideEncoding names the encoding of text in UTF-16 or UTF-32, by its byte
// order mark or by the NUL bytes beside its first character, as YAML 1.2.2,
// section 5.2, deduces it. It returns nothing for other text.
func wideEncoding(data []byte) string {
	has := func(prefix ...byte) bool { return bytes.HasPrefix(data, prefix) }
	switch {
	case has(0xff, 0xfe, 0, 0), has(0, 0, 0xfe, 0xff):
		return "UTF-32"
	case has(0xff, 0xfe), has(0xfe, 0xff):
		return "UTF-16"
	case len(data) < 4:
		return ""
	case data[0] == 0 && data[1] == 0 && data[2] == 0 && data[3] != 0,
		data[0] != 0 && data[1] == 0 && data[2] == 0 && data[3] == 0:
		return "UTF-32"
	case data[0] == 0 && data[1] != 0 && data[2] == 0 && data[3] != 0,
		data[0] != 0 && data[1] == 0 && data[2] != 0 && data[3] == 0:
		return "UTF-16"
	}
	return ""
}
