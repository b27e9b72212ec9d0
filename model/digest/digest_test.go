package digest

import (
	"math"
	"testing"
)

type inner struct {
	N int
	f float64
}

type outer struct {
	Name string
	in   inner
	At   *inner
	List []inner
	Map  map[string]int
	Any  any
	Two  [2]bool
	Z    complex128
	U    uint8
	Call func()
}

// Every change of any field, however deep, changes the digest, and nothing else does.
func TestOf(t *testing.T) {
	base := func() outer {
		return outer{Name: "a", in: inner{1, 2}, At: &inner{3, 4}, List: []inner{{5, 6}}, Map: map[string]int{"x": 1, "y": 2, "z": 3}, Any: 7, Z: 8 + 9i}
	}
	seen := map[string]string{}
	for _, c := range []struct {
		name   string
		change func(*outer)
	}{
		{"nothing", func(o *outer) {}},
		{"text", func(o *outer) { o.Name = "b" }},
		{"hidden number", func(o *outer) { o.in.f = math.Nextafter(2, 3) }},
		{"number of one field in another", func(o *outer) { o.in = inner{2, 1} }},
		{"minus nothing", func(o *outer) { o.in.f = math.Copysign(0, -1) }},
		{"nothing at all", func(o *outer) { o.in.f = 0 }},
		{"behind a pointer", func(o *outer) { o.At = &inner{3, 5} }},
		{"no pointer", func(o *outer) { o.At = nil }},
		{"in a list", func(o *outer) { o.List[0].N = 6 }},
		{"one more in a list", func(o *outer) { o.List = append(o.List, inner{}) }},
		{"no list", func(o *outer) { o.List = nil }},
		{"in a map", func(o *outer) { o.Map["x"] = 2 }},
		{"keys of a map", func(o *outer) { o.Map["x"], o.Map["y"] = 2, 1 }},
		{"another type", func(o *outer) { o.Any = int64(7) }},
		{"another kind", func(o *outer) { o.Any = "7" }},
		{"no value", func(o *outer) { o.Any = nil }},
		{"in an array", func(o *outer) { o.Two[1] = true }},
		{"a phase", func(o *outer) { o.Z = 9 + 8i }},
		{"a byte", func(o *outer) { o.U = 1 }},
	} {
		o := base()
		c.change(&o)
		d := Of(o)
		if was, twice := seen[d]; twice {
			t.Errorf("%s and %s have one digest", c.name, was)
		}
		seen[d] = c.name
		for range 5 { // the order of a map
			p := base()
			c.change(&p)
			if Of(p) != d {
				t.Errorf("%s: the same value has two digests", c.name)
			}
		}
	}
	if Of("a", "b") == Of("ab") || Of([]string{"a", ""}) == Of([]string{"a"}) || Of() == Of(nil) {
		t.Error("lists that only look alike have one digest")
	}
	if Of([]int(nil)) != Of([]int{}) {
		t.Error("an empty list is another than none")
	}
	defer func() {
		if recover() == nil {
			t.Error("a function has a digest")
		}
	}()
	Of(outer{Call: func() {}})
}
