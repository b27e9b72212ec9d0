package load

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"busgauss/schema"
	"busgauss/schema/node"
)

// every visits each value below n with a function that puts another in its place.
// Of a list whose items are no mappings the first stands for all.
func every(n *node.Node, path string, visit func(path string, put func(*node.Node) (undo func()))) {
	for i := range n.Members {
		m := &n.Members[i]
		p := path + "/" + m.Key
		visit(p, func(v *node.Node) func() {
			old := m.Value
			m.Value = v
			return func() { m.Value = old }
		})
		every(m.Value, p, visit)
	}
	for i := range n.Items {
		p := fmt.Sprintf("%s/%d", path, i)
		visit(p, func(v *node.Node) func() {
			old := n.Items[i]
			n.Items[i] = v
			return func() { n.Items[i] = old }
		})
		every(n.Items[i], p, visit)
		if n.Items[i].Kind != node.Map {
			break
		}
	}
}

// readTree loads a tree that was made, not parsed. It returns what the schema
// says beyond unknown keys, and all findings.
func readTree(root *node.Node) ([]schema.Leaf, []string) {
	r := newReader("tree.yaml", nil)
	leaves := r.keys(root)
	r.read(root)
	r.leftOver(root, leaves)
	return leaves, lines(r.findings)
}

// pieces are the sections that are changed together, and those that they refer to;
// the cost of a check goes with the size of the file.
var pieces = []struct{ changed, kept []string }{
	{[]string{"$schema", "layout", "title", "bars", "circuits", "shields", "materials", "sensors"}, []string{"parts"}},
	{[]string{"duties", "measurements"}, []string{"layout", "bars", "circuits", "materials", "sensors", "parts"}},
	{[]string{"surroundings", "insulation", "bonded"},
		[]string{"layout", "bars", "circuits", "shields", "materials", "sensors", "parts"}},
	{[]string{"parts", "readout", "needs", "phase-sums", "calibration"},
		[]string{"layout", "bars", "circuits", "materials", "sensors"}},
}

// piece returns the members of root under the names given.
func piece(root *node.Node, names ...string) *node.Node {
	out := &node.Node{Kind: node.Map, Span: root.Span}
	for _, m := range root.Members {
		if slices.Contains(names, m.Key) {
			out.Members = append(out.Members, m)
		}
	}
	return out
}

var long = flag.Bool("long", false, "run cases of minutes too")

// The schema and the reader agree: each value of the full file is replaced by
// two or three of seven kinds, with -long by one of every kind, and each key is taken out. Whenever the schema objects the
// reader has something to say too, in its own words, so that a text of the
// validator never reaches a person.
func TestSchemaAndReaderAgree(t *testing.T) {
	root, problems := node.Parse("full.yaml", full(t), node.Limits{})
	if len(problems) > 0 {
		t.Fatal(lines(problems))
	}
	count, sections := 0, 0
	for _, p := range pieces {
		sections += len(p.changed)
		file := piece(root, append(slices.Clip(p.kept), p.changed...)...)
		if _, found := readTree(file); len(found) > 0 {
			t.Errorf("%s: not sound to begin with: %s", p.changed, found)
		}
		check := func(what string) {
			if slices.Contains(p.kept, strings.Split(what, "/")[1]) || strings.Count(what, "/") > 5 && strings.HasPrefix(what, "/readout/channels/") {
				return // changed elsewhere, or of a stage that stands above with the same schema
			}
			count++
			leaves, found := readTree(file)
			if len(leaves) > 0 && len(found) == 0 {
				t.Errorf("%s: the schema objects and the reader does not: %+v", what, leaves)
			}
			for _, f := range found {
				if strings.Contains(f, "does not fit the format") || strings.Contains(f, "cannot be checked") {
					t.Errorf("%s: %s", what, f)
				}
			}
		}
		without(file, "", func(path string) { check(path + "/ left out") })
		at := 0
		every(file, "", func(path string, put func(*node.Node) func()) {
			for _, v := range []*node.Node{
				{Kind: node.Null}, {Kind: node.Bool, Text: "true"}, {Kind: node.Number, Text: "5"},
				{Kind: node.Text, Text: ""}, {Kind: node.Text, Text: "1 mm"}, {Kind: node.Map},
				{Kind: node.List, Items: []*node.Node{{Kind: node.Text, Text: "1 mm"}}},
			} {
				if at++; at%8 != 0 && !*long {
					continue // 8 and 7 have no divisor in common, so that each value has its turn
				}
				undo := put(v)
				check(fmt.Sprintf("%s/ = %s %q", path, v.Kind, v.Text))
				undo()
			}
		})
	}
	if sections != len(root.Members) {
		t.Errorf("%d sections changed of %d", sections, len(root.Members))
	}
	if count < 500 || *long && count < 2000 {
		t.Errorf("only %d changes tried", count)
	}
}

// without takes out each key below n in turn.
func without(n *node.Node, path string, check func(string)) {
	all := n.Members
	for i, m := range all {
		n.Members = append(append([]node.Member(nil), all[:i]...), all[i+1:]...)
		check(path + "/" + m.Key)
		n.Members = all
		without(m.Value, path+"/"+m.Key, check)
	}
	for i, item := range n.Items {
		without(item, fmt.Sprintf("%s/%d", path, i), check)
	}
}

// What the schema allows for each quantity covers what the unit reader takes.
func TestSchemaTakesWhatUnitsTake(t *testing.T) {
	for _, text := range []string{"180 deg", "180°", "180 °", "-0.5 rad", "1e-3 rad", "90\u00a0deg"} {
		l := mustLoad(t, "angle.yaml", []byte(strings.Replace(base, "axis: 0 deg", "axis: "+text, 1)))
		if !l.Sensors[0].Axis.AngleRad.Set {
			t.Errorf("%s is not read", text)
		}
	}
}

// lastLine counts lines as the reader of text does, one more at the end.
func lastLine(data []byte) int {
	text := strings.ReplaceAll(string(data), "\r\n", "\n")
	return strings.Count(text, "\n") + strings.Count(text, "\r") + 1
}

func BenchmarkLoad(b *testing.B) {
	three := fixture(b, "examples/three-bars.yaml")
	for _, c := range []struct {
		name string
		data []byte
		good bool
	}{
		{"three-bars", three, true},
		{"full", full(b), true},
		{"5000-bars-and-sensors", many(5000, "U%d"), true},
		{"50000-unknown-keys", unknownKeys(50000), false},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(c.data)))
			b.ReportAllocs()
			for b.Loop() {
				if l, _ := Load("bench.yaml", c.data); (l != nil) != c.good {
					b.Fatal("unexpected outcome")
				}
			}
		})
	}
}
