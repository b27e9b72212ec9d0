package node

import (
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/span"
)

const layoutText = `# A winch drive.
layout: 1
title: "Cable-car winch \u00e9"
bars:
  U: &bar {section: {width: 20 mm, thickness: 3 mm}, at: [-40 mm, 0 mm], metal: copper, temperature: 90 °C}
  V:
    section: {width: 2 cm, thickness: 3000 um}
    at:
      - 0 mm
      - 0 mm
sensors:
  SU: {reads: U, at: [-40 mm, 5.5 mm], axis: 180 deg}
  SV: {reads: V, at: [0 mm, 5.5 mm], axis: [1, 0, 0]}
duties:
  climb: {kind: peak, frequency: 25 Hz, three-phase: {bars: [U, V, U], peak: 700 A}}
notes: |
  text
  😀 more
copy: *bar
`

// textLines splits text as editors do, apart from the rules of this package.
func textLines(text string) []string {
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	return strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n")
}

// cut returns what a span covers when it lies on one line.
func cut(lines []string, s span.Span) (string, bool) {
	if s.Start.Line != s.End.Line {
		return "", false
	}
	return string([]rune(lines[s.Start.Line-1])[s.Start.Column-1 : s.End.Column-1]), true
}

func inside(lines []string, s span.Span) bool {
	for _, p := range []span.Pos{s.Start, s.End} {
		if p.Line < 1 || p.Line > len(lines) || p.Column < 1 || p.Column > utf8.RuneCountInString(lines[p.Line-1])+1 {
			return false
		}
	}
	return s.Valid()
}

// checkTree walks n and its spans, and compares plain scalars with the source.
func checkTree(t *testing.T, lines []string, n *Node) {
	if !inside(lines, n.Span) {
		t.Fatalf("span %v of %v %q", place(n.Span), n.Kind, n.Text)
	}
	if text, ok := cut(lines, n.Span); ok && !n.Quoted && n.Kind < Map && utf8.ValidString(text) && !strings.HasPrefix(text, "*") &&
		!strings.Contains(n.Text, "\ufffd") && text != n.Text {
		t.Fatalf("at %v stands %q, not %q", place(n.Span), text, n.Text)
	}
	if n.Kind == Number {
		if _, ok := n.Value().(float64); !ok {
			t.Fatalf("number %q", n.Text)
		}
	}
	seen := map[string]bool{}
	for _, m := range n.Members {
		if seen[m.Key] {
			t.Fatalf("key %q twice", m.Key)
		}
		seen[m.Key] = true
		if !inside(lines, m.KeySpan) {
			t.Fatalf("span %v of key %q", place(m.KeySpan), m.Key)
		}
		checkTree(t, lines, m.Value)
	}
	for _, i := range n.Items {
		checkTree(t, lines, i)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		layoutText, "a: 1\n---\nb: [\n", "%YAML 1.2\n---\na: 1\n", "a:\n\tb: 1\n", "a: &x [*x]\n", "a: *y\n", "? [a]\n: 1\n", "- - |2\n   x\n-\n",
		"\ufeffa: é😀e\u0301\r\nb: 2\rc:", "{\"a\": \"\\/\\ud83d\\ude00\\ud800\", 'b': 'c\\/'}", "a: \x01\xff\u2028\n", "a: [010, 1e400, .inf, 0x1F]\n",
		"a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n", "!!map {<<: &k !t v, ? : }\n", "a: \"x\nb: 'y\n", "{a:1,\n b: [}", "a: >-\n\n  x\n # c\n y", "- ? - a\n  : - b\n",
		"\"a\\\n  b\": 'c\n\n  d'\n", "a: b c\n  d # e\n", "[a, [b], {c: d}: e, f: g]", "--- !!str\n...\n", "\xff\xfea\x00", "",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		limits := Limits{Bytes: 1 << 16, Nodes: 20000}
		begin := time.Now()
		n, fs := Parse("f", data, limits)
		// Far above what any input takes: it catches what never ends.
		if d := time.Since(begin); d > 10*time.Second {
			t.Fatalf("took %v", d)
		}
		lines := textLines(string(data))
		if n != nil {
			if n.Kind != Map && n.Kind != List {
				t.Fatalf("root is %v", n.Kind)
			}
			checkTree(t, lines, n)
		} else if len(fs) == 0 {
			t.Fatal("neither a tree nor a finding")
		}
		for i, x := range fs {
			if !inside(lines, x.Span) {
				t.Fatalf("span %v of %s: %s", place(x.Span), x.Rule, x.Message)
			}
			for _, r := range x.Related {
				if !inside(lines, r.Span) {
					t.Fatalf("related span %v of %s", place(r.Span), x.Rule)
				}
			}
			if x.Message == "" || x.Message != finding.Clean(x.Message) || x.Remedy != finding.Clean(x.Remedy) {
				t.Fatalf("message %q, remedy %q", x.Message, x.Remedy)
			}
			if i > 0 && x.Span.Start.Before(fs[i-1].Span.Start) {
				t.Fatalf("%v behind %v", x.Span, fs[i-1].Span)
			}
		}
		m, again := Parse("f", data, limits)
		if !reflect.DeepEqual(fs, again) || !reflect.DeepEqual(m, n) {
			t.Fatal("two runs differ")
		}
	})
}
