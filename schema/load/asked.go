package load

import (
	"busgauss/model/layout"
	"busgauss/schema/node"
)

// readAll reads a file in which there is nothing to object to; nil for any
// other, which then goes the long way. The reader itself objects to all that the
// schema does but unknown keys, and those are the members of mappings that it
// never looked at. Most files are of this kind, and compiling the schema takes
// longer than all the rest.
func readAll(root *node.Node) *layout.Layout {
	r := newReader(root.Span.File, nil)
	r.asked = map[*node.Node]bool{}
	r.read(root)
	if len(r.findings) > 0 || !r.askedAll(root, map[*node.Node]bool{}) {
		return nil
	}
	return r.out
}

// ask notes that the reader looked at a member of a mapping.
func (r *reader) ask(n *node.Node) {
	if r.asked != nil {
		r.asked[n] = true
	}
}

// askedAll reports whether every member below n was looked at. A node that is
// met twice, through an alias, may have been looked at in one place only, and
// counts as unread.
func (r *reader) askedAll(n *node.Node, met map[*node.Node]bool) bool {
	if met[n] {
		return false
	}
	met[n] = true
	for _, m := range n.Members {
		if !r.asked[m.Value] || !r.askedAll(m.Value, met) {
			return false
		}
	}
	for _, item := range n.Items {
		if !r.askedAll(item, met) {
			return false
		}
	}
	return true
}
