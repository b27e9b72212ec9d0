package policyfile

import (
	"strings"
	"testing"

	"busgauss/schema/node"
)

// Each case has the mark ★ in its value; the place of that character must be the
// place in the file, whatever the style of the value (YAML 1.2.2, chapters 7
// and 8).
func TestPlaces(t *testing.T) {
	for name, text := range map[string]string{
		"plain":              "k: a < ★ b\n",
		"plain, two lines":   "k: a <\n   b + ★\n",
		"plain, blank line":  "k: a <\n\n   b + ★\n",
		"single":             "k: 'a ★ b'\n",
		"single, quote":      "k: 'it''s ''a'' ★'\n",
		"single, two lines":  "k: 'a <\n    b ★'\n",
		"double":             "k: \"a ★ b\"\n",
		"double, escapes":    "k: \"\\\"x\\\" \\u00e9\\x41\\t ★\"\n",
		"double, two lines":  "k: \"a <\n    b \\\n    c ★\"\n",
		"literal":            "k: |\n  a <\n    b ★\n",
		"literal, indicator": "k: |2-\n    a <\n  b ★\n",
		"folded":             "k: >-\n  a <\n  b\n\n  c ★\n",
		"folded, comment":    "k: > # why\n  a < ★\n",
		"return and feed":    "k: |\r\n  a <\r\n  b ★\r\n",
		"mark at the start":  "\ufeffk: ★ < b\n",
		"flow":               "{k: 'x y', l: [ 'a ★' ]}\n",
		"wide letters":       "k: é\U0001F600 ★\n",
	} {
		root, problems := node.Parse("f", []byte(text), node.Limits{})
		if root == nil || len(problems) > 0 {
			t.Fatalf("%s: %v", name, problems)
		}
		n := root.Get("k")
		if l := root.Get("l"); l != nil {
			n = l.Items[0]
		}
		lines := splitLines([]byte(text))
		got := places(lines, n)
		i := strings.Count(string([]rune(n.Text)), "") // length + 1, never an index
		for k, r := range []rune(n.Text) {
			if r == '★' {
				i = k
			}
		}
		if i >= len(got) {
			t.Errorf("%s: no place (text %q)", name, n.Text)
			continue
		}
		if at := got[i]; lines[at.Line-1][at.Column-1] != '★' {
			t.Errorf("%s: %v is %q", name, at, lines[at.Line-1][at.Column-1])
		}
	}
}

func TestNoPlacesBelowAnAlias(t *testing.T) {
	text := "a: &x b c\nk: *x\n"
	root, _ := node.Parse("f", []byte(text), node.Limits{})
	if got := places(splitLines([]byte(text)), root.Get("k")); got != nil {
		t.Errorf("%v", got)
	}
}
