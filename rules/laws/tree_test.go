package laws

import "slices"

// node is one value of a layout: a mapping, a list, a quantity with its dimension, a word,
// the name of an object, or a plain number. Laws change trees of nodes, never text.
type node struct {
	kind    nodeKind
	members []member
	items   []*node
	value   float64 // of a quantity in SI units, of a number as it stands
	dim     dimension
	text    string // of a word or a name
}

type member struct {
	key   string
	value *node
}

type nodeKind uint8

const (
	mapping nodeKind = iota + 1
	list
	quantity
	number
	word
	name // refers to an object of the layout
)

// Short constructors keep the generator readable. pairs are key, value, key, value.
func obj(pairs ...any) *node {
	n := &node{kind: mapping}
	for i := 0; i < len(pairs); i += 2 {
		n.set(pairs[i].(string), pairs[i+1].(*node))
	}
	return n
}

func seq(items ...*node) *node { return &node{kind: list, items: items} }

func q(value float64, dim dimension) *node { return &node{kind: quantity, value: value, dim: dim} }

func num(value float64) *node { return &node{kind: number, value: value} }

func say(text string) *node { return &node{kind: word, text: text} }

func ref(id string) *node { return &node{kind: name, text: id} }

func names(ids ...string) *node {
	n := seq()
	for _, id := range ids {
		n.items = append(n.items, ref(id))
	}
	return n
}

func metres(v float64) *node { return q(v, length) }

func place(x, y float64) *node { return seq(metres(x), metres(y)) }

// get returns the value of a key, or of a path of keys; nil when it is not there.
func (n *node) get(path ...string) *node {
	for _, key := range path {
		if n == nil || n.kind != mapping {
			return nil
		}
		i := slices.IndexFunc(n.members, func(m member) bool { return m.key == key })
		if i < 0 {
			return nil
		}
		n = n.members[i].value
	}
	return n
}

// num returns the number at a path, or otherwise when it is not there.
func (n *node) num(otherwise float64, path ...string) float64 {
	if v := n.get(path...); v != nil && (v.kind == quantity || v.kind == number) {
		return v.value
	}
	return otherwise
}

// str returns the word or name at a path, empty when it is not there.
func (n *node) str(path ...string) string {
	if v := n.get(path...); v != nil {
		return v.text
	}
	return ""
}

// set puts a value under a key, in place of the one that stands there.
func (n *node) set(key string, value *node) {
	for i := range n.members {
		if n.members[i].key == key {
			n.members[i].value = value
			return
		}
	}
	n.members = append(n.members, member{key, value})
}

// drop takes a key away and says whether it was there.
func (n *node) drop(key string) bool {
	if n == nil {
		return false
	}
	before := len(n.members)
	n.members = slices.DeleteFunc(n.members, func(m member) bool { return m.key == key })
	return len(n.members) < before
}

// section returns the members of a section of the layout; none when it is not there.
func (n *node) section(path ...string) []member {
	if s := n.get(path...); s != nil {
		return s.members
	}
	return nil
}

// under returns the section at a key, and makes it when it is not there.
func (n *node) under(key string) *node {
	if s := n.get(key); s != nil {
		return s
	}
	s := obj()
	n.set(key, s)
	return s
}

func (n *node) clone() *node {
	if n == nil {
		return nil
	}
	c := *n
	c.members = slices.Clone(n.members)
	for i := range c.members {
		c.members[i].value = n.members[i].value.clone()
	}
	c.items = slices.Clone(n.items)
	for i := range c.items {
		c.items[i] = n.items[i].clone()
	}
	return &c
}

// each calls f for n and all below it, a mapping before its members.
func (n *node) each(f func(*node)) {
	if n == nil {
		return
	}
	f(n)
	for i := range n.members {
		n.members[i].value.each(f)
	}
	for i := range n.items {
		n.items[i].each(f)
	}
}

// point returns the first two coordinates of a place.
func (n *node) point() vec { return vec{n.items[0].value, n.items[1].value} }

// vec is a point or a direction in the plane.
type vec struct{ x, y float64 }

func (a vec) plus(b vec) vec             { return vec{a.x + b.x, a.y + b.y} }
func (a vec) minus(b vec) vec            { return vec{a.x - b.x, a.y - b.y} }
func (a vec) times(k float64) vec        { return vec{a.x * k, a.y * k} }
func (a vec) dot(b vec) float64          { return a.x*b.x + a.y*b.y }
func (a vec) turned(rad float64) vec     { s, c := sincos(rad); return vec{c*a.x - s*a.y, s*a.x + c*a.y} }
func direction(rad float64) vec          { s, c := sincos(rad); return vec{c, s} }
func (n *node) setPoint(p vec)           { n.items[0].value, n.items[1].value = p.x, p.y }
func (n *node) turn() float64            { return n.num(0, "turn") }
func (n *node) hasSection(k string) bool { return len(n.section(k)) > 0 }
