package load

import (
	"fmt"
	"strings"
	"testing"
)

// many returns a file of n bars and n sensors; with a format for the bar that
// sensor i reads.
func many(n int, reads string) []byte {
	var b strings.Builder
	b.WriteString("layout: 1\nbars:\n")
	for i := range n {
		fmt.Fprintf(&b, "  U%d: {section: {diameter: 8 mm}, at: [%d mm, 0 mm], metal: copper}\n", i, 10*i%10000)
	}
	b.WriteString("sensors:\n")
	for i := range n {
		fmt.Fprintf(&b, "  S%d: {reads: "+reads+", at: [0 mm, 6 mm], axis: 0 deg}\n", i, i)
	}
	return []byte(b.String())
}

// A file of 50,000 unknown keys is refused with a bounded list. The time is the
// benchmark's matter; quadratic work would show here as minutes.
func TestFiftyThousandKeys(t *testing.T) {
	l, problems := Load("big.yaml", unknownKeys(50000))
	if l != nil || len(problems) != mostListed+1 {
		t.Fatalf("layout %v, %d problems", l != nil, len(problems))
	}
	if got, want := problems[mostListed].Message, "49000 further problems from here on are not listed"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func unknownKeys(n int) []byte {
	var b strings.Builder
	b.WriteString(base)
	for i := range n {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	return []byte(b.String())
}

func TestManyObjects(t *testing.T) {
	const n = 5000
	l := mustLoad(t, "big.yaml", many(n, "U%d"))
	if len(l.Bars) != n || l.Sensors[n-1].Reads != n-1 {
		t.Errorf("%d bars, last sensor reads %d", len(l.Bars), l.Sensors[n-1].Reads)
	}
	l, problems := Load("big.yaml", many(n, "X%d"))
	if l != nil || len(problems) != mostListed+1 || problems[0].Rule != ruleUnknownID {
		t.Errorf("layout %v, %d problems, the first %v", l != nil, len(problems), problems[:1])
	}
	if len(problems[0].Message) > 500 {
		t.Errorf("message of %d bytes", len(problems[0].Message))
	}
}

func TestAliasBomb(t *testing.T) {
	var b strings.Builder
	b.WriteString("layout: 1\na: &a [x, x, x, x, x, x, x, x, x]\n")
	for c := 'b'; c <= 'i'; c++ {
		fmt.Fprintf(&b, "%c: &%c [*%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c]\n",
			c, c, c-1, c-1, c-1, c-1, c-1, c-1, c-1, c-1, c-1)
	}
	l, problems := Load("bomb.yaml", []byte(b.String()))
	if l != nil || len(problems) == 0 || problems[0].Rule != "file-limits" {
		t.Errorf("layout %v, %v", l != nil, lines(problems))
	}
}

// Text of the file reaches messages on one line, cut, and without control or
// direction characters.
func TestHostileText(t *testing.T) {
	evil := `"\n::error::x\e[31m\u202e` + strings.Repeat("ä", 200) + `"`
	for _, c := range []struct{ old, new string }{
		{"reads: U", "reads: " + evil},
		{"U: {section", evil + ": {section: {width: 0 mm, thickness: 3 mm}, x: 1, at: [0 mm, 0 mm], metal: copper}\n  U: {section"},
		{"axis: 0 deg", "axis: " + evil},
		{"kind: continuous", "kind: " + evil},
		{"return: far", "return: far, " + evil + ": 1"},
		{"{return: far}", "{return: far, wires: {" + evil + ": 5}}"},
		{"parts:", "needs: {" + evil + ": {accuracy: 7}}\nparts:"},
		{"layout: 1", "layout: " + evil},
	} {
		_, problems := Load("bad.yaml", []byte(strings.Replace(base, c.old, c.new, 1)))
		if len(problems) == 0 {
			t.Errorf("%.20s: no problem", c.new)
		}
		for _, p := range problems {
			for _, text := range []string{p.Message, p.Remedy} {
				if strings.ContainsAny(text, "\n\r\x1b\u202e\u2028") || len([]rune(text)) > 600 {
					t.Errorf("message %q", text)
				}
			}
		}
	}
}
