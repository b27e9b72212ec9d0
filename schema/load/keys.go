package load

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/schema"
	"busgauss/schema/node"
)

// keys reports the unknown keys of the file and returns what else the schema
// has to say. An unknown key with a near relative that the file lacks is then
// taken for it, so that one slip neither hides what stands below the key nor
// makes the known key missing. The tree is renamed in place: it belongs to
// this call, and spans still point at what the file says.
func (r *reader) keys(root *node.Node) []schema.Leaf {
	for {
		leaves, err := schema.Validate(root.Value())
		if err != nil {
			// The file is data and its tree is plain, so this is a fault of
			// the program; the file must not pass for it.
			r.add(root.Span, ruleForm, "", "", fmt.Sprintf("the layout cannot be checked against its schema: %v", err))
			return nil
		}
		index := indexed{root: root}
		renamed := false
		rest := leaves[:0]
		object, holder, place, known := (*node.Node)(nil), "-", "", "" // of the last leaf: many share one
		for _, leaf := range leaves {
			if leaf.Keyword != "additionalProperties" || leaf.Allowed == nil {
				rest = append(rest, leaf)
				continue
			}
			pointer := leaf.Pointer + "/" + escape(leaf.Property)
			if r.places[pointer] {
				continue
			}
			r.places[pointer] = true
			if leaf.Pointer != holder {
				holder, object = leaf.Pointer, index.node(leaf.Pointer)
				place, known = placeWords(leaf.Pointer), "Known keys: "+strings.Join(leaf.Allowed, ", ")
			}
			i, ok := index.member(object, leaf.Property)
			if !ok {
				continue
			}
			member := &object.Members[i]
			near, found := word.Nearest(leaf.Property, leaf.Allowed)
			message := "unknown key " + quote(leaf.Property) + " in " + place
			if found {
				message += ". Did you mean " + quote(near) + "?"
			} else if holder := holderOf(leaf); holder != "" {
				message += fmt.Sprintf(". It stands in %s, as %s: {%s: ...}", quote(holder), holder, leaf.Property)
			}
			f := r.add(member.KeySpan, ruleUnknownKey, objectName(leaf.Pointer), pointer, word.Then(message, known))
			if found {
				f.Remedy = fmt.Sprintf("write %s", near)
				if _, taken := index.member(object, near); !taken {
					meant(f, member.KeySpan, near)
					member.Key = near
					index.forget(object)
					renamed = true
				}
			}
		}
		if !renamed {
			return rest
		}
	}
}

// holderOf returns the key of a bar or shield that an unknown key of it belongs in; empty when there is none.
func holderOf(leaf schema.Leaf) string {
	in, _, _ := strings.Cut(strings.TrimPrefix(leaf.Pointer, "/"), "/")
	switch key := leaf.Property; {
	case strings.Count(leaf.Pointer, "/") != 2:
	case in == "shields" && slices.Contains([]string{"channel", "plate", "ring", "outline"}, key):
		return "form"
	case in == "bars" && slices.Contains([]string{"width", "thickness", "diameter", "outline"}, key):
		return "section"
	}
	return ""
}

// leftOver reports what the schema refuses and the reader did not speak of.
func (r *reader) leftOver(root *node.Node, leaves []schema.Leaf) {
	index := indexed{root: root}
	for _, leaf := range leaves {
		place, rule := leaf.Pointer, ruleForm
		switch leaf.Keyword {
		case "required":
			place, rule = leaf.Pointer+"/"+escape(leaf.Property), ruleMissing
		case "propertyNames":
			place = leaf.Pointer + "/" + escape(leaf.Property)
		}
		if r.spoken(leaf.Pointer) || r.places[place] {
			continue
		}
		message := fmt.Sprintf("%s does not fit the format: %s", placeWords(leaf.Pointer), leaf.Message)
		if rule == ruleMissing {
			message = fmt.Sprintf("%s needs %q", placeWords(leaf.Pointer), leaf.Property)
		}
		at := index.value(leaf.Pointer)
		if rule == ruleMissing {
			at = index.key(leaf.Pointer)
		}
		if !r.judged[at.Start] {
			r.add(at, rule, objectName(leaf.Pointer), place, message)
		}
	}
}

// spoken reports whether the reader has a finding at the pointer or at a value
// that holds it: what the schema says of a part of a broken value is an echo.
func (r *reader) spoken(pointer string) bool {
	for {
		if r.places[pointer] {
			return true
		}
		cut := strings.LastIndexByte(pointer, '/')
		if cut < 0 {
			return false
		}
		pointer = pointer[:cut]
	}
}

// placeWords returns words for a JSON pointer: `sensors/S` for "/sensors/S".
func placeWords(pointer string) string {
	if pointer == "" {
		return "the layout"
	}
	tokens := strings.Split(pointer[1:], "/")
	for i, t := range tokens {
		tokens[i] = unescape(t)
	}
	words := quote(strings.Join(tokens, "/"))
	return words[1 : len(words)-1]
}

// objectName returns the name of the object that a pointer leads into, empty
// for what belongs to no named object.
func objectName(pointer string) string {
	tokens := strings.Split(pointer, "/")
	if len(tokens) < 3 {
		return ""
	}
	switch tokens[1] {
	case "insulation", "bonded", "phase-sums", "measurements":
		return ""
	case "readout":
		if len(tokens) < 4 || tokens[2] != "channels" {
			return ""
		}
		return unescape(tokens[3])
	case "surroundings":
		if len(tokens) < 4 || tokens[2] != "wires" && tokens[2] != "magnets" {
			return ""
		}
		return unescape(tokens[3])
	}
	return unescape(tokens[2])
}

func unescape(token string) string {
	return strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
}

// indexed finds nodes by pointer. Large mappings are indexed once, so that a
// file of many thousand wrong keys is still read in time.
type indexed struct {
	root *node.Node
	maps map[*node.Node]map[string]int
}

const worthAnIndex = 32

func (x *indexed) member(n *node.Node, key string) (int, bool) {
	if n == nil || n.Kind != node.Map {
		return 0, false
	}
	if len(n.Members) < worthAnIndex {
		i := slices.IndexFunc(n.Members, func(m node.Member) bool { return m.Key == key })
		return i, i >= 0
	}
	keys, ok := x.maps[n]
	if !ok {
		keys = make(map[string]int, len(n.Members))
		for i := len(n.Members) - 1; i >= 0; i-- {
			keys[n.Members[i].Key] = i
		}
		if x.maps == nil {
			x.maps = map[*node.Node]map[string]int{}
		}
		x.maps[n] = keys
	}
	i, ok := keys[key]
	return i, ok
}

// forget drops the index of n, whose keys have changed.
func (x *indexed) forget(n *node.Node) { delete(x.maps, n) }

// walk returns the node at pointer and the place to edit for a missing key.
func (x *indexed) walk(pointer string) (*node.Node, span.Span) {
	n := x.root
	edit := n.Span
	if len(n.Members) > 0 {
		edit = n.Members[0].KeySpan
	}
	if pointer == "" {
		return n, edit
	}
	for token := range strings.SplitSeq(pointer[1:], "/") {
		if n.Kind == node.List {
			i, err := strconv.Atoi(token)
			if err != nil || i < 0 || i >= len(n.Items) {
				return n, edit
			}
			n = n.Items[i]
			edit = n.Span
			continue
		}
		i, ok := x.member(n, unescape(token))
		if !ok {
			return n, edit
		}
		n, edit = n.Members[i].Value, n.Members[i].KeySpan
	}
	return n, edit
}

func (x *indexed) node(pointer string) *node.Node { n, _ := x.walk(pointer); return n }

func (x *indexed) value(pointer string) span.Span { n, _ := x.walk(pointer); return n.Span }

func (x *indexed) key(pointer string) span.Span { _, edit := x.walk(pointer); return edit }
