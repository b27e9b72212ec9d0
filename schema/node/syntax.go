package node

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"unicode/utf8"

	"busgauss/model/finding"
)

// maxRetry is the number of bytes that the search for a syntax error may parse
// again, so that a long broken file is answered in about a second.
const maxRetry = 16 << 20

// The library names the line of the construct in which it failed, often one
// before the fault, and none at all for the first line. The fault is found by
// parsing again: it is on the first line behind the longest beginning of the
// file that parses, once the brackets that are open there are closed.
type fault struct {
	good  int    // number of lines of that beginning
	line  int    // line of the fault, from 1
	start int    // offset of the word at fault in that line
	read  int    // number of lines the library read before it gave up
	near  shape  // what is open behind the good lines
	at    shape  // what is open behind the line of the fault
	text  []byte // the good lines, brackets closed; nil when none parse
}

// locate searches for the fault in text, which has the lines of b.src.
func (b *builder) locate(text []byte) fault {
	lines := newSource("", text)
	r := &lineReader{text: text}
	decode(r)
	f := fault{read: max(1, min(r.line, len(lines.starts)))}
	budget := maxRetry
	for f.good = f.read; f.good > 0; f.good-- {
		f.text = text[:lines.through(f.good)]
		f.near = scanShape(f.text)
		if closed, ok := f.near.close(f.text); ok {
			f.text = closed
			break
		}
		if budget -= 2 * len(f.text); budget < 0 {
			// Too long to be searched: stay where the library gave up.
			f.good, f.text = f.read-1, nil
			f.near = scanShape(text[:lines.through(f.good)])
			break
		}
	}
	if f.good == 0 {
		f.text, f.near = nil, scanShape(nil)
	}
	f.line = min(f.good+1, len(lines.starts))
	f.at = scanShape(text[:lines.through(f.line)])
	f.start = b.moved(lines, f.column(lines, budget))
	if q := f.at.quote; q >= 0 {
		// A quote that opens behind the fault is not to blame.
		_, ok := scanShape(text[:q]).close(text[:q])
		if !ok {
			f.at.quote = -1
		}
	}
	// Offsets are wanted in the source, whose bytes may differ from the text's.
	for _, s := range []*shape{&f.near, &f.at} {
		for i := range s.open {
			s.open[i].off = b.moved(lines, s.open[i].off)
		}
		if s.quote >= 0 {
			s.quote = b.moved(lines, s.quote)
		}
		if s.mismatch >= 0 {
			s.mismatch, s.against.off = b.moved(lines, s.mismatch), b.moved(lines, s.against.off)
		}
	}
	return f
}

// maxWords is the number of words of a line that are tried as the one at fault.
const maxWords = 40

// column returns the offset of the word at fault in its line: the first behind
// the longest part of the line that parses.
func (f fault) column(lines *source, budget int) int {
	text, begin := lines.text, lines.starts[f.line-1]
	end := lines.ends[f.line-1]
	word := func(p int) int {
		for p < end && isSpace(text[p]) {
			p++
		}
		return p
	}
	if f.read == f.line {
		// Feed the line byte by byte to see where the library gave up.
		r := &byteReader{text: text, slow: begin}
		decode(r)
		end = min(end, r.next)
	}
	tries, last := 0, begin
	for p := end - 1; p > begin && tries < maxWords && budget >= 0; p-- {
		if !isEdge(text[p]) && !isEdge(text[p-1]) {
			continue
		}
		if tries++; tries == 1 {
			last = p
		}
		budget -= 2 * p
		if _, ok := scanShape(text[:p]).close(text[:p]); ok {
			return word(p)
		}
	}
	if budget < 0 {
		// Too long to be searched: stay where the library gave up.
		return word(last)
	}
	return word(begin)
}

// isEdge reports whether a word may end at c.
func isEdge(c byte) bool {
	return isSpace(c) || isFlowMark(c) || c == '"' || c == '\'' || c == ':'
}

// close returns text with its open brackets closed, and whether it parses so.
func (s shape) close(text []byte) ([]byte, bool) {
	if parses(text) {
		return text, true
	}
	if len(s.open) == 0 || s.quote >= 0 || s.mismatch >= 0 {
		return text, false
	}
	closed := append(bytes.Clone(text), s.closers()...)
	return closed, parses(closed)
}

// moved turns an offset in a text of equal lines and columns into one of the source.
func (b *builder) moved(from *source, off int) int {
	p := from.pos(off)
	return b.src.offset(p.Line, p.Column)
}

var (
	unknownAnchor = regexp.MustCompile(`unknown anchor '(.*)' referenced`)
	libraryLine   = regexp.MustCompile(`^yaml: (line [0-9]+: )?`)
	colonGlued    = regexp.MustCompile(`^\s*(- +)*[^\s:#"'{\[]+:[^\s:/]`)
)

// syntax reports a text that the library refuses, at its true place, and
// whatever else is wrong in front of it.
func (b *builder) syntax(text []byte, err error) {
	f := b.locate(text)
	defer b.beginning(f)
	span := b.src.lineSpan(f.line)
	if f.start < b.src.ends[f.line-1] {
		span.Start = b.src.pos(f.start)
	}
	line := b.src.lineText(f.line)
	say := func(start, end int, remedy, format string, args ...any) *finding.Finding {
		return b.ps.add(fileSyntax, b.src.span(start, end), remedy, format, args...)
	}
	why := libraryLine.ReplaceAllString(err.Error(), "")
	if m := unknownAnchor.FindStringSubmatch(why); m != nil {
		start := b.findAlias(m[1], f)
		say(start, start+1+len(m[1]), "define it further up as &"+shorten(m[1]), "alias %s has no anchor in front of it", quote("*"+m[1]))
		return
	}
	switch {
	case errors.Is(err, errLibrary):
		b.ps.add(fileSyntax, span, "simplify the text here", "the YAML reader failed: %s", shorten(why))
	case strings.Contains(why, "exceeded max depth"):
		b.ps.add(fileLimits, span, "split the file", "nested too deeply")
	case f.at.mismatch >= 0:
		x := say(f.at.mismatch, f.at.mismatch+1, "close the brackets in reverse order",
			"found %c where %c is expected", b.src.text[f.at.mismatch], closerOf(f.at.against.c))
		x.Related = b.opened(f.at.against)
	case f.at.quote >= 0:
		say(f.at.quote, f.at.quote+1, "add the closing quote", "the quote opened here is not closed properly")
	case b.tabs(f):
	case b.longKey(f):
	case len(f.near.open) > 0 && b.unclosed(f):
		o := f.near.open[len(f.near.open)-1]
		say(o.off, o.off+1, "add the closing bracket", "the bracket %c opened here is not closed", o.c)
	default:
		message, remedy := explain(why, line, b.src.text[f.start:])
		x := b.ps.add(fileSyntax, span, remedy, "%s", message)
		if len(f.near.open) > 0 {
			x.Related = b.opened(f.near.open[len(f.near.open)-1])
		}
	}
}

func (b *builder) opened(o opener) []finding.Related {
	return []finding.Related{{Span: b.src.span(o.off, o.off+1), Message: "the bracket was opened here"}}
}

// unclosed tells a bracket that somebody forgot to close from a fault inside a
// collection in brackets: the text ends, or goes on as a block outside would,
// not further to the right than the line of the bracket.
func (b *builder) unclosed(f fault) bool {
	if f.good >= f.read && f.good >= len(b.src.starts) {
		return true
	}
	outer := f.near.open[0]
	if skipSpace(b.src.text, 0) == outer.off {
		return false // the whole document is in brackets
	}
	indent := func(line int) int {
		t := b.src.lineText(line)
		return len(t) - len(bytes.TrimLeft(t, " "))
	}
	t := bytes.TrimSpace(b.src.lineText(f.line))
	return len(t) > 0 && t[0] != ']' && t[0] != '}' && indent(f.line) <= indent(b.src.line(outer.off)+1)
}

// tabs reports indentation by tabs where the library failed because of it.
func (b *builder) tabs(f fault) bool {
	indented := func(line int) (int, bool) {
		t := b.src.lineText(line)
		for i, c := range t {
			if c == '\t' {
				return i, len(bytes.TrimSpace(t)) > 0
			}
			if c != ' ' && !((c == '-' || c == '?') && i+1 < len(t) && (t[i+1] == ' ' || t[i+1] == '\t')) {
				break
			}
		}
		return 0, false
	}
	for line := f.line; line <= f.read; line++ {
		i, ok := indented(line)
		if !ok {
			continue
		}
		more := 0
		for l := line + 1; l <= len(b.src.starts); l++ {
			if _, ok := indented(l); ok {
				more++
			}
		}
		start := b.src.starts[line-1] + i
		x := b.ps.add(fileEncoding, b.src.span(start, start+1), "indent with spaces", "tab used for indentation")
		switch {
		case more == 1:
			x.Message += ", on 1 further line too"
		case more > 1:
			x.Message += ", on " + itoa(more) + " further lines too"
		}
		return true
	}
	return false
}

// longKey reports a key that is too long for the library, which calls that a
// missing colon.
func (b *builder) longKey(f fault) bool {
	for line := f.line; line <= f.read; line++ {
		t := b.src.lineText(line)
		if utf8.RuneCount(t) <= maxKey {
			continue
		}
		base := b.src.starts[line-1]
		begin := len(t) - len(bytes.TrimLeft(t, " -"))
		if begin < len(t) && t[begin] != '"' && t[begin] != '\'' && t[begin] != '{' && t[begin] != '[' {
			if i := bytes.Index(t[begin:], []byte(":")); i >= 0 && utf8.RuneCount(t[begin:begin+i]) > maxKey {
				b.reportLongKey(base+begin, base+begin+i)
				return true
			}
		}
		for p := 0; p < len(t); p++ {
			if t[p] != '"' {
				continue
			}
			e, _ := quotedEnd(t, p)
			if q := skipSpace(t, e); q < len(t) && t[q] == ':' && utf8.RuneCount(t[p:e]) > maxKey {
				b.reportLongKey(base+p, base+e)
				return true
			}
			p = e
		}
	}
	return false
}

func (b *builder) reportLongKey(start, end int) {
	b.ps.add(fileLimits, b.src.span(start, end), "use a shorter key", "key %s has more than %d characters",
		quote(strings.Trim(string(b.src.text[start:end]), "\"'")), maxKey)
}

// findAlias returns the offset of *name at or behind the line of the fault.
func (b *builder) findAlias(name string, f fault) int {
	from, to := b.src.through(f.line-1), b.src.through(f.read)
	word := []byte("*" + name)
	for p := from; p < to; {
		i := bytes.Index(b.src.text[p:to], word)
		if i < 0 {
			break
		}
		start, end := p+i, p+i+len(word)
		if (start == 0 || isSpace(b.src.text[start-1]) || isFlowMark(b.src.text[start-1])) &&
			(end >= len(b.src.text) || isSpace(b.src.text[end]) || isFlowMark(b.src.text[end])) {
			return start
		}
		p = end
	}
	return from
}

// beginning reports what else is wrong in the lines that parse. The last line
// is left out, since the text may go on behind it.
func (b *builder) beginning(f fault) {
	if f.text == nil {
		return
	}
	top := topNode(decode(bytes.NewReader(f.text)).first)
	if top == nil {
		return
	}
	inner := newBuilder(b.src, b.mask, b.limits, &problems{})
	inner.value(top, nesting{indent: -1, colon: -1})
	last := f.good
	for last > 1 && len(bytes.TrimSpace(b.src.lineText(last))) == 0 {
		last--
	}
	for _, x := range inner.ps.list {
		if x.Span.End.Line < last {
			b.ps.list = append(b.ps.list, x)
		}
	}
}
