package load

import (
	"testing"

	"busgauss/fixtures"
	"busgauss/schema"
	"busgauss/schema/node"
)

// Whatever the short way takes, the schema takes too; it is taken for every
// layout of the fixtures, and never for one with a key too many.
func TestReadAllAgreesWithSchema(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil || len(names) == 0 {
		t.Fatalf("%d layouts, %v", len(names), err)
	}
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		root, problems := node.Parse(name, data, node.Limits{})
		if root == nil || len(problems) > 0 {
			t.Fatalf("%s: %v", name, problems)
		}
		if readAll(root) == nil {
			t.Errorf("%s goes the long way", name)
		}
		if leaves, err := schema.Validate(root.Value()); err != nil || len(leaves) > 0 {
			t.Errorf("%s: %v %v", name, leaves, err)
		}
		everyMapping(root, func(m *node.Node) {
			held := m.Members
			m.Members = append(held[:len(held):len(held)], node.Member{Key: "surplus", Value: &node.Node{Kind: node.Text, Text: "x"}})
			taken := readAll(root) != nil
			leaves, err := schema.Validate(root.Value())
			if err != nil {
				t.Fatal(err)
			}
			if taken && len(leaves) > 0 {
				t.Errorf("%s: a surplus key at %v is taken, the schema says %v", name, m.Span.Start, leaves[0].Message)
			}
			m.Members = held
		})
	}
}

func everyMapping(n *node.Node, do func(*node.Node)) {
	if n.Kind == node.Map {
		do(n)
	}
	for _, m := range n.Members {
		everyMapping(m.Value, do)
	}
	for _, item := range n.Items {
		everyMapping(item, do)
	}
}
