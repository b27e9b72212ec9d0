package node

import (
	"bytes"

	"gopkg.in/yaml.v3"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// MostBytes is the length up to which a file is read where nothing else is said.
const MostBytes = 4 << 20

// Limits are the sizes up to which a file is read. Zero means the default.
type Limits struct {
	Bytes int // length of the file in bytes; default MostBytes
	Nodes int // keys and values, aliases counted as often as they are used; default 200000
	Depth int // levels of mappings and lists; default 100
}

func (l Limits) filled() Limits {
	if l.Bytes <= 0 {
		l.Bytes = MostBytes
	}
	if l.Nodes <= 0 {
		l.Nodes = 200000
	}
	if l.Depth <= 0 {
		l.Depth = 100
	}
	return l
}

// Parse reads one YAML or JSON document. name is the path for the spans. The
// root is a Map or a List; it is nil when the text has no usable document: bad
// syntax, a limit passed, nothing in it, or a lone scalar. Otherwise the tree
// is complete even if there are findings: a value that was objected to is text,
// and of equal keys the first is kept. Findings are sorted by position; all are
// failures of level error.
func Parse(name string, data []byte, lim Limits) (*Node, []finding.Finding) {
	lim = lim.filled()
	ps := &problems{}
	if len(data) > lim.Bytes {
		at := span.Pos{Line: 1, Column: 1}
		ps.add(fileLimits, span.Span{File: name, Start: at, End: at}, "split the file",
			"the file has %d bytes, more than %d", len(data), lim.Bytes)
		return nil, ps.list
	}
	src, ok := prescan(name, data, ps)
	if !ok {
		return nil, ps.list
	}
	damaged := len(ps.list) > 0
	text, m := hide(directives(src, blanked(src.text), ps))
	b := newBuilder(src, m, lim, ps)
	root := b.document(text, damaged)
	return root, ps.sorted()
}

// blanked returns text with tabs outside a JSON document turned into spaces:
// JSON lets them stand in front of and behind it, YAML does not. Inside, YAML
// takes them as JSON does.
func blanked(text []byte) []byte {
	body := bytes.Trim(text, " \t\r\n")
	if len(body) == 0 || body[0] != '{' && body[0] != '[' || !bytes.Contains(text, []byte{'\t'}) {
		return text
	}
	start := bytes.IndexByte(text, body[0])
	out := bytes.Clone(text)
	for i, c := range out {
		if c == '\t' && (i < start || i >= start+len(body)) {
			out[i] = ' '
		}
	}
	return out
}

// directives reports a %YAML line of another version than 1.1, the only one
// that the library takes, and returns text with that line made a comment.
func directives(src *source, text []byte, ps *problems) []byte {
	for line := 1; line <= len(src.starts); line++ {
		t := src.lineText(line)
		if len(bytes.TrimSpace(t)) == 0 || t[0] == '#' {
			continue
		}
		if t[0] != '%' {
			break
		}
		f := bytes.Fields(t)
		if string(f[0]) == "%YAML" && (len(f) < 2 || string(f[1]) != "1.1") {
			ps.add(fileSyntax, src.lineSpan(line), "remove the line", "the directive %s is not supported", quote(string(bytes.TrimSpace(t))))
			text = bytes.Clone(text)
			text[src.starts[line-1]] = '#'
		}
	}
	return text
}

// document reads text, which has the lines and columns of the source, and
// builds its first document. damaged says that characters were replaced, so
// that an error may be a mere consequence.
func (b *builder) document(text []byte, damaged bool) *Node {
	d := decode(bytes.NewReader(text))
	if d.err != nil {
		if d.first == nil || !b.furtherDocument(d.first) {
			if !damaged {
				b.syntax(text, d.err)
			}
			return nil
		}
	} else if d.second != nil {
		start := b.src.offset(d.second.Line, d.second.Column)
		b.ps.add(fileDocuments, b.src.span(start, start+b.markerLength(start)), "split the file or remove the further documents", "a second document begins here")
	}
	top := topNode(d.first)
	if top == nil || empty(top) {
		start := b.src.span(0, 0)
		if len(bytes.TrimSpace(b.src.text)) == 0 {
			b.ps.add(fileDocuments, start, "", "the file is empty")
		} else {
			b.ps.add(fileDocuments, start, "", "the file holds no document, only comments or markers")
		}
		return nil
	}
	root := b.value(top, nesting{indent: -1, colon: -1}).node
	if b.stopped {
		return nil
	}
	if root.Kind != Map && root.Kind != List {
		remedy := "write key: value lines"
		if glued.MatchString(root.Text) && !root.Quoted {
			remedy = "put a space behind the colon"
		}
		b.ps.add(keyForm, root.Span, remedy, "expected a mapping, found %s", named(root))
		return nil
	}
	return root
}

// named is a scalar as a message calls it.
func named(n *Node) string {
	switch n.Kind {
	case Null:
		return "null"
	case Bool:
		return n.Text
	case Number:
		return "the number " + shorten(n.Text)
	}
	return "the text " + quote(n.Text)
}

func topNode(doc *yaml.Node) *yaml.Node {
	if doc == nil || len(doc.Content) == 0 {
		return nil
	}
	return doc.Content[0]
}

// empty reports whether y is a value of which nothing is written.
func empty(y *yaml.Node) bool {
	return y.Kind == yaml.ScalarNode && y.Style&quotes == 0 && y.Value == ""
}

// markerLength is the length of the document marker at start, zero when the
// document begins without one.
func (b *builder) markerLength(start int) int {
	if bytes.HasPrefix(b.src.text[start:], []byte("---")) {
		return 3
	}
	return 0
}

// furtherDocument reports a second document that cannot be read, and false if
// there is no marker of one behind the first.
func (b *builder) furtherDocument(first *yaml.Node) bool {
	from := first.Line + 1
	if top := topNode(first); top != nil {
		from = max(from, lastLine(top)+1)
	}
	for line := from; line <= len(b.src.starts); line++ {
		t := b.src.lineText(line)
		if bytes.HasPrefix(t, []byte("---")) && (len(t) == 3 || isSpace(t[3])) {
			start := b.src.starts[line-1]
			b.ps.add(fileDocuments, b.src.span(start, start+3), "split the file or remove the further documents", "a second document begins here")
			return true
		}
	}
	return false
}

// lastLine returns the last line on which a node below y begins.
func lastLine(y *yaml.Node) int {
	last := y.Line
	for len(y.Content) > 0 {
		y = y.Content[len(y.Content)-1]
		last = max(last, y.Line)
	}
	return last
}
