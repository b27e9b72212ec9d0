package load

import (
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/si"
)

// What the reader takes at each place of a file is what the index says: names with their
// kinds, words, dimensions, of a file that is broken elsewhere too.
func TestIndex(t *testing.T) {
	const text = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: coper}
circuits:
  C: {series: {U: 1, V: -1}}
shields:
  K: {form: {plate: {width: 1 mm}}, at: [0 mm, 9 mm], material: mu, depth: lo}
sensors:
  S: {reads: C, at: [0 mm, 5 mm], axis: 0 deg, part: P}
parts:
  P: {}
duties:
  run: {kind: cont, currents: {C: {dc: 3 A}}}
needs:
  S: {accuracy: 1 %}
`
	x := IndexOf("a.yaml", []byte(text))
	if x == nil {
		t.Fatal("no index")
	}
	find := func(text string) Slot {
		for _, s := range x.Slots {
			if s.Text == text && (text != "S" || len(s.Kinds) > 0) {
				return s
			}
		}
		t.Fatalf("nothing is taken at %q", text)
		return Slot{}
	}
	for _, c := range []struct {
		text, kinds, words string
		unit               si.Dimension
	}{
		{"coper", "material", "copper aluminium brass", 0},
		{"V", "bar", "", 0},
		{"C", "bar circuit", "", 0},
		{"P", "part", "", 0},
		{"cont", "", "continuous peak fault", 0},
		{"3 A", "", "", si.Current},
		{"1 %", "", "", si.Ratio},
		{"0 deg", "", "", si.Angle},
		{"lo", "", "long", si.Length},
		{"S", "sensor", "", 0},
	} {
		s := find(c.text)
		if strings.Join(s.Kinds, " ") != c.kinds || strings.Join(s.Words, " ") != c.words || s.Unit != c.unit {
			t.Errorf("%q takes %v, %v and %v; want %q, %q and %v", c.text, s.Kinds, s.Words, s.Unit, c.kinds, c.words, c.unit)
		}
	}
	if s := find("mu"); !slices.Contains(s.Kinds, "material") || len(s.Words) == 0 {
		t.Errorf("the material of a shield takes %v and %v", s.Kinds, s.Words)
	}
	s := find("C")
	n, ok := x.Of(&s)
	if !ok || n.Kind != "circuit" || n.At.Start.Line != 5 {
		t.Errorf("C refers to %v, %v", n, ok)
	}
	if got, ok := x.Named(n.At); !ok || got != n {
		t.Errorf("at its key stands %v, %v", got, ok)
	}
	v := find("V")
	if n, ok := x.Of(&v); ok {
		t.Errorf("V refers to %v", n)
	}
}

// Every name that a whole layout refers to is known, and nothing is noted where nobody asks.
func TestIndexOfFixtures(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		x := IndexOf(name, data)
		if x == nil || len(x.Names) == 0 || len(x.Slots) == 0 {
			t.Errorf("%s: no index", name)
			continue
		}
		for i := range x.Slots {
			s := &x.Slots[i]
			if _, ok := x.Of(s); !ok && len(s.Kinds) > 0 && !slices.Contains(s.Words, s.Text) {
				t.Errorf("%s: %q at %s refers to nothing", name, s.Text, s.At)
			}
		}
	}
}
