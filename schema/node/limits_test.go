package node

import (
	"fmt"
	"strings"
	"testing"
)

func TestLimits(t *testing.T) {
	// Ten levels of ten: 10^10 values out of 300 bytes.
	bomb := "a0: &a0 [x,x,x,x,x,x,x,x,x,x]\n"
	for i := range 9 {
		a := fmt.Sprintf("*a%d", i)
		bomb += fmt.Sprintf("a%d: &a%d [%s]\n", i+1, i+1, strings.TrimSuffix(strings.Repeat(a+",", 10), ","))
	}
	deep := func(n int) string { return strings.Repeat("[", n) + strings.Repeat("]", n) }
	chain := "a0: &a0 [1]\n"
	for i := range 12 {
		chain += fmt.Sprintf("a%d: &a%d [*a%d]\n", i+1, i+1, i)
	}
	for _, c := range []struct {
		name, text string
		limits     Limits
		want       []string
	}{
		{"bytes", "a: 12\n", Limits{Bytes: 6}, nil},
		{"one byte more", "a: 123\n", Limits{Bytes: 6}, []string{"1:1 file-limits|7 bytes, more than 6"}},
		{"default bytes", "a: " + strings.Repeat("x", 4<<20-3), Limits{}, nil},
		{"one byte more than default", "a: " + strings.Repeat("x", 4<<20-2), Limits{}, []string{"1:1 file-limits|4194305"}},
		{"nodes", "a: 1\nb: [2, 3]\n", Limits{Nodes: 7}, nil},
		{"one node more", "a: 1\nb: [2, 3]\n", Limits{Nodes: 6}, []string{"2:8 file-limits|more than 6 keys"}},
		{"alias counts in full", "a: &x [1, 2]\nb: *x\nc: 1\n", Limits{Nodes: 9}, []string{"3:1 file-limits|"}},
		{"alias counts in full, to the last", "a: &x [1, 2]\nb: *x\n", Limits{Nodes: 9}, nil},
		{"alias bomb", bomb, Limits{}, []string{"6:10 file-limits|200000"}},
		{"depth", deep(100), Limits{}, nil},
		{"one level more", deep(101), Limits{}, []string{"1:101 file-limits|100 levels"}},
		{"beyond the library's depth", strings.Repeat("[", 10001), Limits{}, []string{"1:10001 file-limits|nested too deeply"}},
		{"depth through aliases", chain, Limits{Depth: 10}, []string{"10:10 file-limits|through an alias"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, fs := Parse("f.yaml", []byte(c.text), c.limits)
			checkFindings(t, c.text, fs, c.want...)
			if (n == nil) != (len(c.want) > 0) {
				t.Errorf("root %v", n)
			}
		})
	}
}

func manyKeys(n int) []byte {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "key%d: %d\n", i, i)
	}
	return []byte(b.String())
}

func TestFiftyThousandKeys(t *testing.T) {
	n, fs := Parse("f.yaml", manyKeys(50000), Limits{})
	if len(fs) > 0 || len(n.Members) != 50000 {
		t.Fatalf("%d members, %v", len(n.Members), messages(fs))
	}
	for i := 0; i < 50000; i += 7 {
		m, ok := n.Member(fmt.Sprintf("key%d", i))
		if !ok || m.Value.Text != fmt.Sprint(i) || m.KeySpan.Start.Line != i+1 {
			t.Fatalf("key %d: %+v %v", i, m, ok)
		}
	}
}
