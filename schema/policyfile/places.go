package policyfile

import (
	"bytes"
	"strconv"
	"strings"

	"busgauss/model/span"
	"busgauss/schema/node"
)

// splitLines returns the lines of a file in code points, without their breaks:
// LF, CR or CRLF, as the parser counts them.
func splitLines(data []byte) [][]rune {
	text := string(bytes.TrimPrefix(data, []byte("\ufeff")))
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	var out [][]rune
	for line := range strings.SplitSeq(text, "\n") {
		out = append(out, []rune(line))
	}
	return out
}

// letter is one character of a scalar as it is written, with its place; that of
// an escape is its backslash.
type letter struct {
	r  rune
	at span.Pos
}

// places returns the place of each character of a scalar's content, nil where
// content and file do not run side by side, as below an alias. Blanks and line
// breaks are folded in many ways by YAML and are matched run by run.
func places(lines [][]rune, n *node.Node) []span.Pos {
	raw := unquoted(written(lines, n.Span))
	content := []rune(n.Text)
	out := make([]span.Pos, len(content))
	j := 0
	for i := 0; i < len(content); {
		if !blank(content[i]) {
			for j < len(raw) && blank(raw[j].r) {
				j++
			}
			if j >= len(raw) || raw[j].r != content[i] {
				return nil
			}
			out[i] = raw[j].at
			i, j = i+1, j+1
			continue
		}
		from := j
		for j < len(raw) && blank(raw[j].r) {
			j++
		}
		for start := i; i < len(content) && blank(content[i]); i++ {
			k := min(from+i-start, j-1, len(raw)-1)
			if k < 0 {
				return nil
			}
			out[i] = raw[k].at
		}
	}
	return out
}

func blank(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }

// written returns the characters of a stretch of the file.
func written(lines [][]rune, s span.Span) []letter {
	var out []letter
	for line := s.Start.Line; line <= s.End.Line && line <= len(lines); line++ {
		text := lines[line-1]
		from, to := 0, len(text)
		if line == s.Start.Line {
			from = min(s.Start.Column-1, len(text))
		}
		if line == s.End.Line {
			to = min(s.End.Column-1, len(text))
		}
		for c := from; c < to; c++ {
			out = append(out, letter{text[c], span.Pos{Line: line, Column: c + 1}})
		}
		if line < s.End.Line {
			out = append(out, letter{'\n', span.Pos{Line: line, Column: len(text) + 1}})
		}
	}
	return out
}

// unquoted takes the marks of its style from a scalar: quotes, escapes, the
// header of a block.
func unquoted(raw []letter) []letter {
	if len(raw) < 2 {
		return raw
	}
	switch raw[0].r {
	case '\'':
		return singleQuoted(raw[1 : len(raw)-1])
	case '"':
		return doubleQuoted(raw[1 : len(raw)-1])
	case '|', '>':
		for i := range raw {
			if raw[i].r == '\n' {
				return raw[i:]
			}
		}
	}
	return raw
}

func singleQuoted(raw []letter) []letter {
	out := make([]letter, 0, len(raw))
	for i := 0; i < len(raw); i++ {
		out = append(out, raw[i])
		if raw[i].r == '\'' {
			i++ // the second of two quotes
		}
	}
	return out
}

// escapes are those of one letter (YAML 1.2.2, section 5.7).
var escapes = map[rune]rune{
	'0': 0, 'a': '\a', 'b': '\b', 't': '\t', '\t': '\t', 'n': '\n', 'v': '\v', 'f': '\f', 'r': '\r', 'e': 0x1b,
	' ': ' ', '"': '"', '/': '/', '\\': '\\', 'N': 0x85, '_': 0xa0, 'L': 0x2028, 'P': 0x2029, '\n': '\n',
}

func doubleQuoted(raw []letter) []letter {
	out := make([]letter, 0, len(raw))
	for i := 0; i < len(raw); i++ {
		if raw[i].r != '\\' || i+1 >= len(raw) {
			out = append(out, raw[i])
			continue
		}
		at := raw[i].at
		i++
		digits := map[rune]int{'x': 2, 'u': 4, 'U': 8}[raw[i].r]
		if digits == 0 {
			out = append(out, letter{escapes[raw[i].r], at})
			continue
		}
		var hex strings.Builder
		for k := i + 1; k <= i+digits && k < len(raw); k++ {
			hex.WriteRune(raw[k].r)
		}
		v, err := strconv.ParseUint(hex.String(), 16, 32)
		if err != nil {
			v = 0xfffd
		}
		out = append(out, letter{rune(v), at})
		i += digits
	}
	return out
}
