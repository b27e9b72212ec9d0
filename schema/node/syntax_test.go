package node

import (
	"fmt"
	"strings"
	"testing"
)

// Broken texts with the place where a person would mend them, found by hand.
func TestSyntaxErrorAtItsPlace(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"first line", "a: b: c\n", []string{"1:5 file-syntax|colon"}},
		{"missing colon", "a: 1\nb\nc: 2\n", []string{"2:1 file-syntax|without a colon"}},
		{"wrong indentation", "a:\n  b: 1\n c: 2\nd: 3\n", []string{"3:2 file-syntax|indentation"}},
		{"bracket of a list not closed", "a: [1, 2\nb: 3\nc: 4\n", []string{"1:4 file-syntax|bracket [ opened here"}},
		{"brace not closed", "a: 1\nb: {x: 1,\n  y: 2\nc: 3\n", []string{"2:4 file-syntax|bracket { opened here"}},
		{"brace not closed, deep", "a:\n  b: {x: 1,\n  c: 3\n  d:\n    e: 1\n", []string{"2:6 file-syntax|bracket { opened"}},
		{"bracket not closed at the end", "a: 1\nb: [1,\n  2\n", []string{"2:4 file-syntax|bracket [ opened"}},
		{"inner bracket not closed at the end", "{\"a\": [1,\n 2\n", []string{"1:7 file-syntax|bracket [ opened"}},
		{"wrong closing bracket", "a:\n  b: [1, 2}\nc: 1\n", []string{"2:11 file-syntax|found } where ] is expected"}},
		{"double quote not closed", "a: \"x\nb: 1\nc: 2\n", []string{"1:4 file-syntax|quote opened here"}},
		{"double quote not closed, another follows", "a: \"x\nb: \"y\"\nc: 1\n", []string{"1:4 file-syntax|quote opened here"}},
		{"single quote not closed", "a: 1\nb: 'it\nc: 2\n", []string{"2:4 file-syntax|quote opened here"}},
		{"fault in front of a quote that goes on", "a: b: \"x\n  y\"\nc: 1\n", []string{"1:5 file-syntax|colon"}},
		{"text behind a quote", "a: 1\nb: \"x\" y\nc: 2\n", []string{"2:8 file-syntax|"}},
		{"text behind the document", "{a: 1} }\n", []string{"1:8 file-syntax|behind the end"}},
		{"list in a line", "a: - b\n", []string{"1:4 file-syntax|list entry"}},
		{"key in a list", "a:\n  - b\n  c: 1\n", []string{"3:3 file-syntax|hyphen"}},
		{"two commas", "a: [1,,2]\n", []string{"1:7 file-syntax|missing between commas"}},
		{"JSON, comma missing", "{\n \"a\": 1,\n \"b\": \"x\"\n \"c\": 3,\n \"d\": 4\n}\n", []string{"4:2 file-syntax|comma"}},
		{"JSON in one line, comma missing", `{"a": 1, "b": "x" "c": 3, "d": 4}`, []string{"1:19 file-syntax|comma"}},
		{"JSON, nested", "{\"a\": {\n  \"b\": [1, 2],\n  \"c\": [\"x\" \"y\"],\n  \"d\": 1\n}}\n", []string{"3:13 file-syntax|comma"}},
		{"forbidden start", "a: 1\nb: @x\n", []string{`2:4 file-syntax|"@"`}},
		{"block sign in brackets", "a: {b: |}\n", []string{`1:8 file-syntax|"|"`}},
		{"unknown escape", "a: 1\nb: \"c\\q\"\n", []string{"2:4 file-syntax|escape"}},
		{"short escape", "a: \"\\u12\"\n", []string{"1:4 file-syntax|hexadecimal"}},
		{"unknown tag handle", "a: !x!y 1\n", []string{"1:4 file-syntax|tag"}},
		{"beyond ASCII in front", "ä: é\nö: ü: 1\n", []string{"2:5 file-syntax|"}},
		{"CRLF", "a: 1\r\nb: 2: 3\r\n", []string{"2:5 file-syntax|"}},
		{"what stands in front is checked too", "a: 010\na: 2\n!foo b: 1\nc: [\nd: 1\n",
			[]string{"1:4 value-form|", "2:1 key-duplicate|", "3:1 value-form|", "4:4 file-syntax|"}},
		{"comment with an apostrophe", "# it's\na: 1 # don't [\nb: 2: 3\n", []string{"3:5 file-syntax|"}},
		{"brackets in words and block scalars", "a: x [y\nb: |\n  [ { \"\nc: it's\nd: 2: 3\n", []string{"5:5 file-syntax|"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, fs := Parse("f.yaml", []byte(c.text), Limits{})
			checkFindings(t, c.text, fs, c.want...)
			if n != nil {
				t.Errorf("%q: a root is given", c.text)
			}
		})
	}
}

// A fault planted anywhere in a long file is found on its line.
func TestSyntaxErrorInALongFile(t *testing.T) {
	var lines []string
	for i := range 400 {
		lines = append(lines, fmt.Sprintf("  b%d: {section: {width: 20 mm, thickness: 3 mm}, at: [%d mm, 0 mm]}", i, i))
	}
	for at := 0; at < 400; at += 57 {
		broken := append([]string{"bars:"}, lines...)
		broken[at+1] = strings.Replace(broken[at+1], "3 mm}", "3 mm", 1)
		text := strings.Join(broken, "\n")
		_, fs := Parse("f.yaml", []byte(text), Limits{})
		if len(fs) != 1 || fs[0].Rule != fileSyntax || fs[0].Span.Start.Line != at+2 {
			t.Errorf("fault on line %d:\n%v", at+2, messages(fs))
		}
		json := "{\n\"a\": [1,\n2],\n" + strings.Repeat("\"k\": [{\"b\": 1},\n{\"c\": \"d\"}],\n", at) + "\"x\" [1],\n" + strings.Repeat("\"l\": 1,\n", 400) + "\"y\": 1}\n"
		_, fs = Parse("f.json", []byte(json), Limits{})
		last := fs[len(fs)-1]
		if last.Rule != fileSyntax || last.Span.Start.Line != 4+2*at {
			t.Errorf("JSON, fault on line %d: %v %s", 4+2*at, last.Span, last.Message)
		}
	}
}

func TestScanShape(t *testing.T) {
	for _, c := range []struct {
		text  string
		open  string
		quote int
	}{
		{"a: [1, {b: 2", "[{", -1},
		{"a: [1, {b: 2}]\n", "", -1},
		{"a: b[c {\n", "", -1},
		{"a: 'b [\n", "", 3},
		{"a: 'b''[' \n- [\"]\" # [\n", "[", -1},
		{"a: it's [\n", "", -1},
		{"{\"a\":\"[\"", "{", -1},
		{"a: |\n  [ '\nb: {", "{", -1},
		{"- b: |\n   [\n  c: [\n", "[", -1},
		{"- |\n  [\n- {\n", "{", -1},
		{"a: &x [*y, !z {", "[{", -1},
		{"- |\n- {\n", "{", -1},
		{"? [", "[", -1},
	} {
		s := scanShape([]byte(c.text))
		var open string
		for _, o := range s.open {
			open += string(o.c)
			if c.text[o.off] != o.c {
				t.Errorf("%q: bracket at %d", c.text, o.off)
			}
		}
		if open != c.open || s.quote != c.quote {
			t.Errorf("%q: open %q quote %d, want %q %d", c.text, open, s.quote, c.open, c.quote)
		}
	}
}

// In a long line the word at fault is found as well.
func TestSyntaxErrorInALongLine(t *testing.T) {
	front := `{"é": 0, ` + strings.Repeat(`"a": 1, `, 500)
	text := front + `"b" 2, ` + strings.Repeat(`"c": 3, `, 500) + `"d": 4}`
	_, fs := Parse("f.json", []byte(text), Limits{})
	column := len([]rune(front)) + len(`"b" `) + 1
	checkFindings(t, text, fs[len(fs)-1:], fmt.Sprintf("1:%d file-syntax|comma", column))
}
