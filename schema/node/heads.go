package node

import (
	"bytes"
	"encoding/binary"
	"io"
	"unicode/utf16"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// Head is a mapping at the top of a document, or one in a list there.
type Head struct {
	Keys   []string // in file order, what << brings in among them
	InList bool
}

// mostHeads is the number of documents and of mappings in a list of which the heads are read.
const mostHeads = 1000

// Heads returns what stands at the top of every document of a text, seen as Parse sees it, and the text itself in UTF-8.
// What Parse objects to is no matter: a text in UTF-16 or UTF-32 is decoded, an anchor or a tag in front of a key is passed
// over. whole is false where the text cannot be read to its end, or has more heads than are read; heads are then those in front
// of that place.
func Heads(data []byte) (heads []Head, text []byte, whole bool) {
	if what := wideEncoding(data); what != "" {
		data = narrow(data, what)
	}
	src, ok := prescan("", data, &problems{})
	if !ok {
		return nil, data, false
	}
	body, _ := hide(directives(src, blanked(src.text), &problems{}))
	heads, whole = readHeads(body)
	return heads, src.text, whole
}

// readHeads reads the heads of documents until one cannot be read.
func readHeads(text []byte) (heads []Head, whole bool) {
	defer func() {
		if v := recover(); v != nil {
			whole = false // the library gave up, as decode has it
		}
	}()
	more := false // than is read
	dec := yaml.NewDecoder(bytes.NewReader(text))
	for range mostHeads {
		doc := new(yaml.Node)
		if err := dec.Decode(doc); err != nil {
			return heads, err == io.EOF && !more
		}
		top := target(topNode(doc))
		switch {
		case top == nil:
		case top.Kind == yaml.MappingNode:
			keys, all := keysOf(top, 0)
			heads, more = append(heads, Head{Keys: keys}), more || !all
		case top.Kind == yaml.SequenceNode:
			more = more || len(top.Content) > mostHeads
			for _, item := range top.Content[:min(len(top.Content), mostHeads)] {
				if item = target(item); item != nil && item.Kind == yaml.MappingNode {
					keys, all := keysOf(item, 0)
					heads, more = append(heads, Head{Keys: keys, InList: true}), more || !all
				}
			}
		}
	}
	return heads, false
}

// target follows an alias.
func target(y *yaml.Node) *yaml.Node {
	if y != nil && y.Kind == yaml.AliasNode {
		return y.Alias
	}
	return y
}

// mostMerges is the number of levels over which << is followed.
const mostMerges = 4

// keysOf returns the keys of a mapping and of what << brings in; all is false where there are more.
func keysOf(m *yaml.Node, level int) (out []string, all bool) {
	all = true
	for i := 0; i+1 < len(m.Content); i += 2 {
		key, value := target(m.Content[i]), target(m.Content[i+1])
		if key == nil || key.Kind != yaml.ScalarNode {
			continue
		}
		out = append(out, key.Value)
		if key.Value != "<<" || value == nil {
			continue
		}
		if level == mostMerges {
			all = false
			continue
		}
		from := []*yaml.Node{value}
		if value.Kind == yaml.SequenceNode {
			from = value.Content
		}
		all = all && len(from) <= mostHeads
		for _, y := range from[:min(len(from), mostHeads)] {
			if y = target(y); y != nil && y.Kind == yaml.MappingNode {
				keys, each := keysOf(y, level+1)
				out, all = append(out, keys...), all && each
			}
		}
	}
	return out, all
}

// narrow returns text in an encoding that wideEncoding names as UTF-8. Its byte order is that of the mark, or that in
// which its first character is below U+0100.
func narrow(data []byte, what string) []byte {
	size := 2
	if what == "UTF-32" {
		size = 4
	}
	var order binary.ByteOrder = binary.LittleEndian
	if data[0] == 0 || data[0] == 0xfe {
		order = binary.BigEndian
	}
	var out []byte
	var units []uint16
	for ; len(data) >= size; data = data[size:] {
		if size == 4 {
			r := order.Uint32(data)
			if r > utf8.MaxRune {
				r = utf8.RuneError
			}
			out = utf8.AppendRune(out, rune(r))
			continue
		}
		units = append(units, order.Uint16(data))
	}
	for _, r := range utf16.Decode(units) {
		out = utf8.AppendRune(out, r)
	}
	return bytes.TrimPrefix(out, []byte("\ufeff"))
}
