package load

import (
	"slices"

	"busgauss/model/material"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// Index says which names a layout file gives, and what may stand where. It is made of files
// that are broken too, as far as they have a tree.
type Index struct {
	Root  *node.Node
	Names []Name // in file order, section by section
	Slots []Slot // in the order in which the reader comes to them
}

// Name is the name of an object: Kind is "bar", "circuit", "shield", "material", "sensor",
// "part", "duty", "wire" or "magnet", At its key.
type Name struct {
	Kind, ID string
	At       span.Span
}

// Slot is a value of the file, or a key that holds a name, with what the reader takes there.
type Slot struct {
	At     span.Span
	Text   string       // what stands there
	Object string       // the named object that it belongs to; may be empty
	Kinds  []string     // of the objects that may be named
	Words  []string     // that would do as well
	Unit   si.Dimension // of a quantity; 0: none may stand here
}

// IndexOf reads the layout file called path from data; nil where it has no tree.
func IndexOf(path string, data []byte) *Index {
	root, problems := node.Parse(path, data, node.Limits{})
	if root == nil || root.Kind != node.Map {
		return nil
	}
	out := &Index{Root: root}
	r := newReader(root.Span.File, problems)
	r.index = out
	r.read(root)
	return out
}

// Named returns the name that stands at the key at.
func (x *Index) Named(at span.Span) (Name, bool) {
	for _, n := range x.Names {
		if n.At == at {
			return n, true
		}
	}
	return Name{}, false
}

// Of returns what a slot refers to.
func (x *Index) Of(s *Slot) (Name, bool) {
	for _, n := range x.Names {
		if n.ID == s.Text && slices.Contains(s.Kinds, n.Kind) {
			return n, true
		}
	}
	return Name{}, false
}

// takes notes what may stand at s.
func (s *spot) takes(slot Slot) {
	if s.r.index == nil || s.n == nil {
		return
	}
	slot.At, slot.Text, slot.Object = s.n.Span, s.n.Text, s.id
	s.r.index.Slots = append(s.r.index.Slots, slot)
}

// takesNames notes that s may name an object of one of kinds.
func (s *spot) takesNames(kinds ...namedKind) {
	if s.r.index != nil {
		s.takes(Slot{Kinds: kindWords(kinds)})
	}
}

// takesMetal notes that s may name a built-in conductor or a material.
func (s *spot) takesMetal() {
	if s.r.index == nil {
		return
	}
	slot := Slot{Kinds: kindWords([]namedKind{aMaterial})}
	for _, c := range material.Conductors() {
		slot.Words = append(slot.Words, c.Name)
	}
	s.takes(slot)
}

// takesIron notes that s may name a built-in class of iron or a material.
func (s *spot) takesIron() {
	if s.r.index == nil {
		return
	}
	slot := Slot{Kinds: kindWords([]namedKind{aMaterial})}
	for _, iron := range material.Irons() {
		slot.Words = append(slot.Words, iron.Name)
	}
	s.takes(slot)
}
