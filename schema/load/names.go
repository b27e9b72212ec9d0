package load

import (
	"fmt"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/schema/node"
)

// kind of a named object.
type namedKind uint8

const (
	aBar namedKind = iota
	aCircuit
	aShield
	aMaterial
	aSensor
	aPart
	aDuty
	aWire
	aMagnet
	numKinds
)

func (k namedKind) String() string {
	return [...]string{"bar", "circuit", "shield", "material", "sensor", "part", "duty", "wire", "magnet"}[k]
}

// names holds the names of the file. A name is known as soon as its key
// stands in the file, however broken what it names is.
type names struct {
	index [numKinds]map[string]int // position among the objects of its kind
	list  [numKinds][]string       // in file order
	open  [numKinds]bool           // the section is missing or broken, and that is reported
	first map[string]holder
}

type holder struct {
	kind namedKind
	at   span.Span
}

// collectNames reads the names of all sections before anything refers to them.
func (r *reader) collectNames(top *spot) {
	r.names.first = map[string]holder{}
	around := top.at("surroundings")
	for kind, section := range []*spot{
		top.at("bars"), top.at("circuits"), top.at("shields"), top.at("materials"), top.at("sensors"),
		top.at("parts"), top.at("duties"), around.at("wires"), around.at("magnets"),
	} {
		r.collect(namedKind(kind), section)
	}
}

func (r *reader) collect(kind namedKind, section *spot) {
	r.names.index[kind] = map[string]int{}
	if section.n == nil || section.n.Kind != node.Map {
		r.names.open[kind] = section.n != nil || kind == aBar
		return
	}
	// A layout without bars is reported as such, not once for every reference.
	r.names.open[kind] = kind == aBar && len(section.n.Members) == 0
	for i, m := range section.n.Members {
		if _, twice := r.names.index[kind][m.Key]; twice {
			continue // a duplicate key, reported where the tree was made
		}
		r.names.index[kind][m.Key] = i
		r.names.list[kind] = append(r.names.list[kind], m.Key)
		s := &spot{r: r, up: section, key: m.Key, n: m.Value, edit: m.KeySpan, id: m.Key}
		r.takeName(kind, s)
	}
}

// takeName holds a name to the rules for names.
func (r *reader) takeName(kind namedKind, s *spot) {
	switch {
	case strings.TrimSpace(s.key) == "":
		s.problemAt(s.edit, ruleForm, "the name of a %s must not be empty", kind)
		return
	case kind == aSensor && s.key == "all":
		s.problemAt(s.edit, ruleTaken, `a sensor cannot be called "all": needs use that word for every channel`)
		return
	case kind == aMaterial:
		_, metal := material.ConductorByName(s.key)
		_, iron := material.IronByName(s.key)
		if metal || iron {
			s.problemAt(s.edit, ruleTaken, "material %s is built in. Choose another name for this one", quote(s.key))
			return
		}
	}
	if held, taken := r.names.first[s.key]; taken {
		f := s.problemAt(s.edit, ruleTaken, "the name %s of a %s is taken by a %s on line %d. Names are unique in a file",
			quote(s.key), kind, held.kind, held.at.Start.Line)
		f.Related = []finding.Related{{Span: held.at, Message: "first " + quote(s.key)}}
		return
	}
	r.names.first[s.key] = holder{kind: kind, at: s.edit}
}

// reference reads the name of an object of one of the kinds and returns its
// kind and index. ok is false when s is missing or not a known name.
func (s *spot) reference(kinds ...namedKind) (kind namedKind, index int, ok bool) {
	if s.n == nil {
		return 0, layout.None, false
	}
	if s.n.Kind != node.Text {
		s.wrongKind("the name of a " + word.Or(kindWords(kinds)))
		return 0, layout.None, false
	}
	open := false
	for _, k := range kinds {
		if i, known := s.r.names.index[k][s.n.Text]; known {
			return k, i, true
		}
		open = open || s.r.names.open[k]
	}
	if open {
		return 0, layout.None, false // the section itself is reported
	}
	known := s.r.names.list[kinds[0]]
	for _, k := range kinds[1:] {
		known = append(slices.Clip(known), s.r.names.list[k]...)
	}
	s.unknown(kinds, known)
	return 0, layout.None, false
}

// unknown reports a name that nothing has.
func (s *spot) unknown(kinds []namedKind, known []string) {
	if len(known) <= word.Many {
		known = word.Distinct(known)
	}
	words := word.Or(kindWords(kinds))
	message := fmt.Sprintf("%s names no %s: %s", s.label(), words, s.quoted())
	near, found := word.Nearest(s.n.Text, known)
	switch {
	case len(known) == 0:
		message = word.Then(message, fmt.Sprintf("The layout has no %s", words))
	default:
		message = word.Then(message+word.DidYouMean(s.n.Text, known), "There are "+someOf(known))
	}
	if held, ok := s.r.names.first[s.n.Text]; ok {
		message = word.Then(message, fmt.Sprintf("%s is a %s", s.quoted(), held.kind))
	}
	f := s.problem(ruleUnknownID, "%s", message)
	if found {
		f.Remedy = "write " + finding.Clean(clip(near))
		meant(f, s.n.Span, asWord(near))
	}
}

func kindWords(kinds []namedKind) []string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = k.String()
	}
	return out
}

// someOf lists names for a message, the first few of many.
func someOf(names []string) string {
	const most = 8
	shown := names[:min(most, len(names))]
	quoted := make([]string, len(shown))
	for i, n := range shown {
		quoted[i] = quote(n)
	}
	text := strings.Join(quoted, ", ")
	if more := len(names) - len(shown); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// bar reads the name of a bar; None when it is missing or unknown.
func (s *spot) bar() layout.BarIndex {
	_, i, ok := s.reference(aBar)
	if !ok {
		return layout.None
	}
	return layout.BarIndex(i)
}
