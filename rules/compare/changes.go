package compare

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"busgauss/model/layout"
)

// Change is one difference between two layouts.
type Change struct {
	Kind string // of object: "bar", "sensor", "duty", or a part of the layout such as "surroundings"
	Name string // of the object after the change, before it for one that is removed; may be empty
	What What
	// Part is what was changed, in words, such as "section width"; From and To
	// are its values. They are empty where a value is not given.
	Part, From, To string
}

// What says what happened to an object.
type What string

// The things that happen to objects.
const (
	Added   What = "added"
	Removed What = "removed"
	Renamed What = "renamed" // From and To are the names
	Moved   What = "moved"
	Changed What = "changed"
)

// longest is the most characters of a value that a sentence shows. Common practice.
const longest = 60

// String returns the change in words, with names as they are: bar "V" moved from [0, 0] to [3 mm, 0].
func (c Change) String() string {
	text := c.Kind
	if c.Name != "" {
		text += ` "` + c.Name + `"`
	}
	switch c.What {
	case Added, Removed:
		return text + " " + string(c.What)
	case Renamed:
		return fmt.Sprintf(`%s "%s" renamed to "%s"`, c.Kind, c.From, c.To)
	case Moved:
		return fmt.Sprintf("%s moved from %s to %s", text, c.From, c.To)
	}
	text += ": " + c.Part
	switch {
	case utf8.RuneCountInString(c.From) > longest || utf8.RuneCountInString(c.To) > longest:
		return text + " changed"
	case c.From == "":
		return text + " " + c.To + " added"
	case c.To == "":
		return text + " " + c.From + " removed"
	}
	return text + " from " + c.From + " to " + c.To
}

// kinds are the lists of a layout in the order in which they are compared: what
// others refer to comes first. A list that is not here comes after them.
var kinds = []struct{ field, kind string }{
	{"Materials", "material"}, {"Parts", "part"}, {"Bars", "bar"}, {"Circuits", "circuit"}, {"Shields", "shield"},
	{"Sensors", "sensor"}, {"Duties", "duty"},
	{"Needs", "need"}, {"Calibrations", "calibration"}, {"PhaseSums", "phase sum"}, {"Insulation", "insulation"}, {"Bonded", "bond"},
}

// own is what says that an object of another name is the same one; where a kind
// is not here, all of it must be equal.
var own = map[string][]string{
	"bar": {"section", placeOf}, "shield": {"form", placeOf}, "sensor": {"reads", placeOf},
}

// Changes returns the differences between two layouts, in the order of the
// objects, and the names of objects that were renamed.
func Changes(before, after *layout.Layout) ([]Change, names) {
	d := differ{renamed: names{}, after: flattener{l: after}}
	d.before = flattener{l: before, renamed: d.renamed}
	b, a := reflect.ValueOf(*before), reflect.ValueOf(*after)
	for _, k := range kinds {
		d.list(k.kind, b.FieldByName(k.field), a.FieldByName(k.field))
	}
	for i := range a.NumField() {
		f := a.Type().Field(i)
		switch {
		case slices.Contains([]string{"Path", "Title", "TitleSpan", "Span", "Assumed"}, f.Name):
		case slices.ContainsFunc(kinds, func(k struct{ field, kind string }) bool { return k.field == f.Name }):
		default:
			kind, _ := wordsOf(f.Name)
			d.values(kind, "", d.before.leaves(b.Field(i), "", f.Name), d.after.leaves(a.Field(i), "", f.Name))
		}
	}
	return d.out, d.renamed
}

type differ struct {
	before, after flattener
	renamed       names // before knows it too
	out           []Change
}

// thing is one object of a list.
type thing struct {
	name   string
	leaves []leaf
	paired bool
}

func things(f flattener, list reflect.Value) []thing {
	var out []thing
	for i := range list.Len() {
		if c, ok := list.Index(i).Interface().(layout.Circuit); ok && c.Kind == layout.Single {
			continue // its bar is compared
		}
		name := f.label(list.Index(i))
		if name == "" {
			name = fmt.Sprint(i + 1)
		}
		out = append(out, thing{name: name, leaves: f.leaves(list.Index(i), "", "")})
	}
	return out
}

func (d *differ) list(kind string, before, after reflect.Value) {
	b, a := things(d.before, before), things(d.after, after)
	pair := make([]int, len(a)) // index in b, -1 for none
	for k := range a {
		pair[k] = -1
		i := slices.IndexFunc(b, func(t thing) bool { return !t.paired && t.name == a[k].name })
		if i >= 0 {
			pair[k], b[i].paired = i, true
		}
	}
	d.rename(kind, b, a, pair)
	for k := range a {
		if pair[k] < 0 {
			d.out = append(d.out, Change{Kind: kind, Name: a[k].name, What: Added})
			continue
		}
		t := b[pair[k]]
		if t.name != a[k].name {
			d.out = append(d.out, Change{Kind: kind, Name: a[k].name, What: Renamed, From: t.name, To: a[k].name})
		}
		d.values(kind, a[k].name, t.leaves, a[k].leaves)
	}
	for _, t := range b {
		if !t.paired {
			d.out = append(d.out, Change{Kind: kind, Name: t.name, What: Removed})
		}
	}
}

// rename pairs what is left where one object on each side, and no other, has the
// same values of its own.
func (d *differ) rename(kind string, b, a []thing, pair []int) {
	before, after := map[string][]int{}, map[string][]int{}
	for i, t := range b {
		if s := signature(kind, t.leaves); !t.paired && s != "" {
			before[s] = append(before[s], i)
		}
	}
	for k, t := range a {
		if pair[k] < 0 {
			s := signature(kind, t.leaves)
			after[s] = append(after[s], k)
		}
	}
	for k, t := range a {
		s := signature(kind, t.leaves)
		if pair[k] >= 0 || len(before[s]) != 1 || len(after[s]) != 1 {
			continue
		}
		i := before[s][0]
		pair[k], b[i].paired = i, true
		if d.renamed[kind] == nil {
			d.renamed[kind] = map[string]string{}
		}
		d.renamed[kind][b[i].name] = t.name
	}
}

// values reports the leaves that differ.
func (d *differ) values(kind, name string, before, after []leaf) {
	was := map[string]string{}
	for _, l := range before {
		was[l.path] = l.text
	}
	now := map[string]bool{}
	for _, l := range after {
		now[l.path] = true
		if was[l.path] == l.text {
			continue
		}
		c := Change{Kind: kind, Name: name, What: Changed, Part: l.path, From: was[l.path], To: l.text}
		if l.path == placeOf && c.From != "" {
			c.What, c.Part = Moved, ""
		}
		d.out = append(d.out, c)
	}
	for _, l := range before {
		if !now[l.path] {
			d.out = append(d.out, Change{Kind: kind, Name: name, What: Changed, Part: l.path, From: l.text})
		}
	}
}

// signature is what an object must share with another to be taken for it.
func signature(kind string, leaves []leaf) string {
	var out strings.Builder
	heads := own[kind]
	for _, l := range leaves {
		if heads != nil && !slices.ContainsFunc(heads, func(h string) bool { return l.path == h || strings.HasPrefix(l.path, h+" ") }) {
			continue
		}
		fmt.Fprintf(&out, "%d:%s%d:%s", len(l.path), l.path, len(l.text), l.text)
	}
	return out.String()
}

// contents returns the objects of a layout with their names and values, and how
// often each stands there.
func contents(l *layout.Layout) map[string]int {
	out := map[string]int{}
	f := flattener{l: l}
	for _, k := range kinds[:7] {
		for _, t := range things(f, reflect.ValueOf(*l).FieldByName(k.field)) {
			out[k.kind+" "+t.name+" "+signature("", t.leaves)]++
		}
	}
	return out
}
