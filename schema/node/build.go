package node

import (
	"regexp"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// maxKey is the greatest length of a key in code points. YAML 1.2.2, section
// 7.4.2, sets it for keys without a question mark; here it holds for all.
const maxKey = 1024

const quotes = yaml.SingleQuotedStyle | yaml.DoubleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle

// builder turns the library's nodes into ours. It counts what it visits, each
// alias as often as it is used, and stops at the limits.
type builder struct {
	src     *source
	mask    mask
	limits  Limits
	ps      *problems
	count   int
	stopped bool
	active  map[*yaml.Node]bool  // anchored collections that are being built
	built   map[*yaml.Node]built // finished nodes that have an anchor
}

// built is a finished node, the offset behind it, how many nodes it counts for
// and how many levels of collections it holds.
type built struct {
	node         *Node
	end          int
	size, levels int
}

func newBuilder(src *source, m mask, limits Limits, ps *problems) *builder {
	return &builder{src: src, mask: m, limits: limits, ps: ps,
		active: map[*yaml.Node]bool{}, built: map[*yaml.Node]built{}}
}

// nesting says where a value stands: its depth, the indentation of the block
// collection around it and the offset behind its key's colon, -1 without one.
type nesting struct{ depth, indent, colon int }

// value builds one value. After a limit was passed it gives empty nodes.
func (b *builder) value(y *yaml.Node, at nesting) built {
	before := b.count
	start := b.src.offset(y.Line, y.Column)
	if !b.visit(start, 1) {
		return built{node: &Node{Span: b.src.span(start, start)}, end: start}
	}
	var out built
	switch y.Kind {
	case yaml.AliasNode:
		return b.alias(y, start, at)
	case yaml.MappingNode, yaml.SequenceNode:
		if at.depth >= b.limits.Depth {
			b.stop(start, "nested more than %d levels deep", b.limits.Depth)
			return built{node: &Node{Span: b.src.span(start, start)}, end: start}
		}
		if y.Anchor != "" {
			b.active[y] = true
		}
		if y.Kind == yaml.MappingNode {
			out = b.mapping(y, start, at)
		} else {
			out = b.sequence(y, start, at)
		}
		delete(b.active, y)
	default:
		s := b.scalar(y, start, at)
		if s.problem != nil {
			b.object(valueForm, s)
		}
		out = s.built
	}
	out.size = b.count - before
	if y.Anchor != "" {
		b.built[y] = out
	}
	return out
}

// visit counts n nodes and reports whether the walk may go on.
func (b *builder) visit(start, n int) bool {
	if b.stopped {
		return false
	}
	if b.count += n; b.count > b.limits.Nodes {
		b.stop(start, "more than %d keys and values, aliases counted as often as they are used", b.limits.Nodes)
		return false
	}
	return true
}

func (b *builder) stop(start int, format string, args ...any) {
	if !b.stopped {
		b.stopped = true
		b.ps.add(fileLimits, b.src.span(start, start+1), "split the file or use fewer aliases", format, args...)
	}
}

func (b *builder) alias(y *yaml.Node, start int, at nesting) built {
	end := aliasEnd(b.src.text, start, y.Value)
	sp := b.src.span(start, end)
	target, ok := b.built[y.Alias]
	switch {
	case b.active[y.Alias]:
		b.ps.add(valueForm, sp, "write the value out", "alias %s stands inside the value it repeats", quote("*"+y.Value))
		fallthrough
	case !ok:
		return built{node: &Node{Span: sp}, end: end, size: 1}
	case at.depth+target.levels > b.limits.Depth:
		b.stop(start, "nested more than %d levels deep through an alias", b.limits.Depth)
	}
	b.visit(start, target.size-1)
	n := *target.node
	n.Span = sp
	return built{node: &n, end: end, size: target.size, levels: target.levels}
}

// scalar is a finished scalar with what its kind or tag gives to object to.
type scalar struct {
	built
	kind    Kind      // by its look, also when problem is set
	tag     span.Span // of anchor and tag
	problem *objection
}

// object reports the problem of a scalar, at its tag when that is foreign.
func (b *builder) object(rule string, s scalar) {
	at := s.node.Span
	if s.problem.atTag {
		at = s.tag
	}
	b.ps.add(rule, at, s.problem.remedy, "%s", s.problem.message)
}

func (b *builder) scalar(y *yaml.Node, start int, at nesting) scalar {
	pr := skipProperties(b.src.text, start)
	style := y.Style & quotes
	text, half := b.mask.reveal(y.Value, style == yaml.DoubleQuotedStyle)
	n := &Node{Text: text, Quoted: style != 0}
	s := scalar{built: built{node: n}}
	begin := pr.content
	switch {
	case style == 0 && text == "":
		begin = start
		if pr.any {
			begin = pr.end
		} else if at.colon >= 0 {
			begin = at.colon
		}
		s.end = begin
	case begin >= len(b.src.text):
		s.end = begin
	case style == 0:
		s.end = plainEnd(b.src.text, begin, text)
	case style == yaml.LiteralStyle || style == yaml.FoldedStyle:
		s.end = blockEnd(b.src.text, begin, at.indent)
	default:
		s.end, _ = quotedEnd(b.src.text, begin)
	}
	n.Span = b.src.span(begin, s.end)
	s.tag = b.src.span(start, pr.end)

	s.kind = Text
	if style == 0 && !pr.bang {
		s.kind, s.problem = classify(text)
	}
	if y.Style&yaml.TaggedStyle != 0 {
		s.kind, s.problem = tagged(y.Tag, text)
	}
	if half != "" {
		s.problem = &objection{message: "escape " + quote(half) + " is half of a pair of surrogates", remedy: "write both halves, or the character itself"}
	}
	n.Kind = s.kind
	return s
}

// tagged returns the kind that a tag gives a scalar.
func tagged(tag, text string) (Kind, *objection) {
	kind, problem := classify(text)
	fits := false
	switch tag {
	case "!!str":
		return Text, nil
	case "!!int":
		fits = kind == Number && !strings.ContainsAny(text, ".eE")
	case "!!float":
		fits = kind == Number
	case "!!bool":
		fits = kind == Bool
	case "!!null":
		fits = kind == Null
	case "!!map", "!!seq":
	default:
		return Text, foreignTag(tag)
	}
	if fits {
		return kind, nil
	}
	if problem == nil {
		problem = &objection{message: "value " + quote(text) + " does not fit its tag " + quote(tag), remedy: "remove the tag", atTag: true}
	}
	return Text, problem
}

func foreignTag(tag string) *objection {
	return &objection{message: "tag " + quote(tag) + " is not supported", remedy: "remove the tag", atTag: true}
}

// collectionTag reports a tag that does not belong to a collection.
func (b *builder) collectionTag(y *yaml.Node, start int, want string) {
	if y.Style&yaml.TaggedStyle == 0 || y.Tag == want {
		return
	}
	o := foreignTag(y.Tag)
	switch y.Tag {
	case "!!str", "!!int", "!!float", "!!bool", "!!null", "!!map", "!!seq":
		o.message = "tag " + quote(y.Tag) + " does not fit a collection of this kind"
	}
	b.ps.add(valueForm, b.src.span(start, skipProperties(b.src.text, start).end), o.remedy, "%s", o.message)
}

// outline finds where a collection starts and, by its bracket, how it closes.
func (b *builder) outline(start int, flow bool) (begin int, closer byte) {
	begin = skipProperties(b.src.text, start).content
	if flow && begin < len(b.src.text) {
		switch b.src.text[begin] {
		case '{':
			closer = '}'
		case '[':
			closer = ']'
		}
	}
	return begin, closer
}

// finish gives a collection its span once the end of its last child is known.
func (b *builder) finish(n *Node, begin, end int, closer byte) int {
	if end < begin {
		end = begin
	}
	if closer != 0 {
		if end == begin {
			end++
		}
		if e, ok := closerEnd(b.src.text, end, closer); ok {
			end = e
		}
	}
	n.Span = b.src.span(begin, end)
	return end
}

func (b *builder) sequence(y *yaml.Node, start int, at nesting) built {
	b.collectionTag(y, start, "!!seq")
	begin, closer := b.outline(start, y.Style&yaml.FlowStyle != 0)
	in := nesting{depth: at.depth + 1, indent: at.indent, colon: -1}
	if closer == 0 {
		in.indent = b.src.pos(begin).Column - 1
	}
	n := &Node{Kind: List, Items: make([]*Node, 0, len(y.Content))}
	out := built{node: n, end: begin, levels: 1}
	for _, c := range y.Content {
		item := b.value(c, in)
		if b.stopped {
			break
		}
		n.Items = append(n.Items, item.node)
		out.end = max(out.end, item.end)
		out.levels = max(out.levels, item.levels+1)
	}
	out.end = b.finish(n, begin, out.end, closer)
	return out
}

// glued is a key and its value that a missing space made one text.
var glued = regexp.MustCompile(`^[^\s:]+:[^\s/]`)

func (b *builder) mapping(y *yaml.Node, start int, at nesting) built {
	b.collectionTag(y, start, "!!map")
	flow := y.Style&yaml.FlowStyle != 0
	begin, closer := b.outline(start, flow)
	in := nesting{depth: at.depth + 1, indent: at.indent}
	if !flow && len(y.Content) > 0 {
		in.indent = y.Content[0].Column - 1
	}
	n := &Node{Kind: Map, Members: make([]Member, 0, len(y.Content)/2)}
	out := built{node: n, end: begin, levels: 1}
	first := make(map[string]int, len(y.Content)/2)
	for i := 0; i+1 < len(y.Content); i += 2 {
		k, v := y.Content[i], y.Content[i+1]
		key, ok := b.key(k, in)
		in.colon = colonEnd(b.src.text, key.end)
		val := b.value(v, in)
		if b.stopped {
			break
		}
		out.end = max(out.end, key.end, val.end)
		out.levels = max(out.levels, key.levels+1, val.levels+1)
		if !ok {
			continue
		}
		name, sp := key.node.Text, key.node.Span
		if flow && !key.node.Quoted && in.colon == key.end && val.node.Kind == Null && glued.MatchString(name) {
			before, after, _ := strings.Cut(name, ":")
			b.ps.add(keyForm, sp, "write "+quote(before+": "+after), "no space behind the colon in %s", quote(name))
			continue
		}
		if j, twice := first[name]; twice {
			f := b.ps.add(keyDuplicate, sp, "rename or remove one of the two", "key %s is repeated", quote(name))
			f.Related = []finding.Related{{Span: n.Members[j].KeySpan, Message: "first use of the key"}}
			continue
		}
		first[name] = len(n.Members)
		n.Members = append(n.Members, Member{Key: name, KeySpan: sp, Value: val.node})
	}
	if len(first) >= indexFrom {
		n.places = first
	}
	out.end = b.finish(n, begin, out.end, closer)
	return out
}

// key builds a key. The result is false when the entry has no usable key.
func (b *builder) key(y *yaml.Node, at nesting) (built, bool) {
	start := b.src.offset(y.Line, y.Column)
	at.colon = start
	switch y.Kind {
	case yaml.AliasNode:
		out := b.value(y, at)
		b.ps.add(keyForm, out.node.Span, "write the key out", "an alias cannot be a key")
		return out, false
	case yaml.MappingNode, yaml.SequenceNode:
		out := b.value(y, at)
		b.ps.add(keyForm, out.node.Span, "write the key as text", "a %s cannot be a key", out.node.Kind)
		return out, false
	}
	if !b.visit(start, 1) {
		return built{node: &Node{}, end: start}, false
	}
	s := b.scalar(y, start, at)
	s.size = 1
	if y.Anchor != "" {
		b.built[y] = s.built
	}
	sp, text := s.node.Span, s.node.Text
	foreign := y.Style&yaml.TaggedStyle != 0 && s.problem != nil
	switch {
	case y.Style&(quotes|yaml.TaggedStyle) == 0 && text == "<<":
		b.ps.add(keyForm, sp, "write the entries out, or let an alias stand for a whole value", "merge keys (<<) are not supported")
		return s.built, false
	case utf8.RuneCountInString(text) > maxKey:
		b.ps.add(fileLimits, sp, "use a shorter key", "key %s has more than %d characters", quote(text), maxKey)
	case foreign || s.kind == Text && s.problem != nil && s.node.Quoted:
		b.object(valueForm, s)
	case !s.node.Quoted && text == "":
		b.ps.add(keyForm, sp, "write a key in front of the colon", "a value without a key")
		return s.built, false
	case s.kind == Number || s.problem != nil:
		b.ps.add(keyForm, sp, "write "+quote(text)+" in quotes", "key %s is read as a number, not as text", quote(text))
	case s.kind != Text:
		b.ps.add(keyForm, sp, "write "+quote(text)+" in quotes", "key %s is read as %s, not as text", quote(text), s.kind)
	}
	return s.built, true
}
