package node

import "bytes"

// The YAML library tells where a value starts, not where it ends. The functions
// of this file find ends in the source. They trust the library that the text
// at the given offset is what it says; where the text disagrees they give back
// an offset that still lies in the file.

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

// skipSpace returns the offset of the next character from p that is no blank,
// no line break and not part of a comment.
func skipSpace(text []byte, p int) int {
	for p < len(text) {
		switch {
		case isSpace(text[p]):
			p++
		case text[p] == '#':
			for p < len(text) && text[p] != '\n' && text[p] != '\r' {
				p++
			}
		default:
			return p
		}
	}
	return p
}

// properties is what may stand in front of a value.
type properties struct {
	any     bool
	end     int  // offset behind the last anchor or tag
	content int  // offset of what follows, across lines and comments
	bang    bool // the tag is a lone "!": text whatever it looks like
}

// skipProperties walks over anchors and tags from p.
func skipProperties(text []byte, p int) properties {
	pr := properties{end: p, content: p}
	for p < len(text) && (text[p] == '&' || text[p] == '!') {
		start := p
		p = propertyEnd(text, p)
		pr.bang = pr.bang || p == start+1 && text[start] == '!'
		pr.any, pr.end = true, p
		p = skipSpace(text, p)
		pr.content = p
	}
	return pr
}

// propertyEnd returns the end of the anchor, alias or tag at p: a name of
// letters, digits, hyphens and underscores, or anything up to a blank.
func propertyEnd(text []byte, p int) int {
	tag := text[p] == '!'
	for p++; p < len(text); p++ {
		c := text[p]
		word := c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' || c == '-'
		if tag && isSpace(c) || !tag && !word {
			break
		}
	}
	return p
}

// plainEnd returns the end of the plain scalar that starts at p and has the
// given content. Lines are folded in the content, so blanks are skipped on both
// sides; everything else must agree.
func plainEnd(text []byte, p int, content string) int {
	end := p
	for i := 0; i < len(content); i++ {
		if isSpace(content[i]) {
			continue
		}
		for p < len(text) && isSpace(text[p]) {
			p++
		}
		if p >= len(text) || text[p] != content[i] {
			return end
		}
		p++
		end = p
	}
	return end
}

// quotedEnd returns the end of the quoted scalar that starts at p, and false
// with the end of the text when its quote is not closed.
func quotedEnd(text []byte, p int) (int, bool) {
	quote := text[p]
	for p++; p < len(text); p++ {
		switch {
		case text[p] == '\\' && quote == '"':
			p++
		case text[p] == quote && quote == '\'' && p+1 < len(text) && text[p+1] == quote:
			p++
		case text[p] == quote:
			return p + 1, true
		}
	}
	return len(text), false
}

// blockEnd returns the end of the block scalar whose | or > stands at p: behind
// the last line of its content, blank lines at its end not counted. indent is
// the indentation of the collection around it, -1 without one.
func blockEnd(text []byte, p, indent int) int {
	lineEnd := func(p int) int {
		for p < len(text) && text[p] != '\n' && text[p] != '\r' {
			p++
		}
		return p
	}
	header := lineEnd(p)
	end := len(bytes.TrimRight(text[:commentStart(text, p, header)], " \t"))
	need := -1 // indentation of the content once known
	for q := p + 1; q < header && q < p+3; q++ {
		if text[q] >= '1' && text[q] <= '9' {
			need = max(indent, 0) + int(text[q]-'0')
		}
	}
	for q := afterBreak(text, header); q < len(text); {
		e := lineEnd(q)
		first := q
		for first < e && text[first] == ' ' {
			first++
		}
		if len(bytes.Trim(text[first:e], " \t")) > 0 {
			if need < 0 {
				need = max(first-q, indent+1)
			}
			if first-q < need {
				return end
			}
			end = e
		}
		q = afterBreak(text, e)
	}
	return end
}

// commentStart returns the offset of a comment between p and end, end without one.
func commentStart(text []byte, p, end int) int {
	for ; p < end; p++ {
		if text[p] == '#' && p > 0 && isSpace(text[p-1]) {
			return p
		}
	}
	return end
}

// aliasEnd returns the end of the alias *name at p.
func aliasEnd(text []byte, p int, name string) int {
	if bytes.HasPrefix(text[p:], []byte("*"+name)) {
		return p + 1 + len(name)
	}
	return p
}

// closerEnd returns the offset behind the bracket that closes a flow collection
// whose last child ends at p, and false when something else follows.
func closerEnd(text []byte, p int, closer byte) (int, bool) {
	for {
		p = skipSpace(text, p)
		if p >= len(text) {
			return p, false
		}
		switch text[p] {
		case closer:
			return p + 1, true
		case ',':
			p++
		default:
			return p, false
		}
	}
}

// colonEnd returns the offset behind the colon of the key that ends at p, p
// itself when there is no colon, as in {a, b}.
func colonEnd(text []byte, p int) int {
	if q := skipSpace(text, p); q < len(text) && text[q] == ':' {
		return q + 1
	}
	return p
}
