package node

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

// The YAML library refuses two escapes of JSON (RFC 8259, section 7) that occur
// in practice: \/ and characters written as a pair of surrogates. A mask hides
// them from it: each of their bytes becomes one character of a block of 128
// that the file does not use, so that lines and columns stay. The characters
// are taken back from every scalar afterwards: decoded in double quotes, as
// they were anywhere else, where a backslash has no meaning.
type mask struct {
	base rune // zero when nothing is hidden
}

// hide returns text with those escapes hidden; text itself when there are none.
func hide(text []byte) ([]byte, mask) {
	if !bytes.Contains(text, []byte(`\/`)) && !bytes.Contains(text, []byte(`\ud`)) && !bytes.Contains(text, []byte(`\uD`)) {
		return text, mask{}
	}
	m := mask{base: freeBlock(text)}
	if m.base == 0 {
		return text, m
	}
	out := make([]byte, 0, len(text)+len(text)/8)
	for p := 0; p < len(text); {
		if text[p] != '\\' || p+1 >= len(text) {
			out = append(out, text[p])
			p++
			continue
		}
		n := 2 // a backslash and what it escapes, so that \\/ is left alone
		switch {
		case text[p+1] == '/':
			out = m.append(out, text[p:p+2])
		case surrogateAt(text, p):
			n = 6
			out = m.append(out, text[p:p+6])
		case text[p+1] >= utf8.RuneSelf || text[p+1] == '\n' || text[p+1] == '\r':
			n = 1
			out = append(out, text[p])
		default:
			out = append(out, text[p:p+2]...)
		}
		p += n
	}
	return out, m
}

// freeBlock returns the first of 128 private-use code points (Unicode, plane
// 15) of which text uses none, zero if every block is in use.
func freeBlock(text []byte) rune {
	const first, last, size = 0xf0000, 0xffff0, 128
	used := map[rune]bool{}
	for p := 0; p < len(text); {
		if text[p] == '\\' && p+10 <= len(text) && text[p+1] == 'U' {
			// An escape can put such a character into a text as well.
			if v, err := strconv.ParseUint(string(text[p+2:p+10]), 16, 32); err == nil && v >= first && v <= last {
				used[rune(v-first)/size] = true
			}
		}
		if text[p] < 0xf3 { // the first byte of plane 15 in UTF-8
			p++
			continue
		}
		r, n := utf8.DecodeRune(text[p:])
		if r >= first {
			used[(r-first)/size] = true
		}
		p += n
	}
	for b := rune(0); first+(b+1)*size <= last; b++ {
		if !used[b] {
			return first + b*size
		}
	}
	return 0
}

func (m mask) append(out, ascii []byte) []byte {
	for _, c := range ascii {
		out = utf8.AppendRune(out, m.base+rune(c))
	}
	return out
}

// surrogateAt reports whether \uD800 to \uDFFF is written at text[p].
func surrogateAt(text []byte, p int) bool {
	if p+6 > len(text) || text[p] != '\\' || text[p+1] != 'u' {
		return false
	}
	v, err := strconv.ParseUint(string(text[p+2:p+6]), 16, 32)
	return err == nil && v >= 0xd800 && v <= 0xdfff
}

// reveal undoes hide in the content of a scalar. In double quotes the escapes
// are decoded; half is a surrogate without its partner as it was written, empty
// when there is none, and becomes U+FFFD.
func (m mask) reveal(text string, doubleQuoted bool) (out, half string) {
	if m.base == 0 {
		return text, ""
	}
	var b []byte
	var raw []byte // bytes of the hidden run at hand
	flush := func() {
		if !doubleQuoted {
			b, raw = append(b, raw...), raw[:0]
			return
		}
		for p := 0; p < len(raw); {
			if raw[p+1] == '/' {
				b = append(b, '/')
				p += 2
				continue
			}
			r := unit(raw[p:])
			if r < 0xdc00 && p+12 <= len(raw) && surrogateAt(raw, p+6) {
				if low := unit(raw[p+6:]); low >= 0xdc00 {
					b = utf8.AppendRune(b, 0x10000+(r-0xd800)<<10+(low-0xdc00))
					p += 12
					continue
				}
			}
			if half == "" {
				half = string(raw[p : p+6])
			}
			b = utf8.AppendRune(b, utf8.RuneError)
			p += 6
		}
		raw = raw[:0]
	}
	for _, r := range text {
		if r >= m.base && r < m.base+128 {
			raw = append(raw, byte(r-m.base))
			continue
		}
		flush()
		b = utf8.AppendRune(b, r)
	}
	flush()
	return string(b), half
}

// unit returns the value of the escape \uXXXX at the start of raw.
func unit(raw []byte) rune {
	v, err := strconv.ParseUint(string(raw[2:6]), 16, 32)
	if err != nil {
		panic("node: hidden escape is not hexadecimal")
	}
	return rune(v)
}
