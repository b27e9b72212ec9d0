package node

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/finding"
)

// brief writes a finding as "line:column rule".
func brief(f finding.Finding) string {
	return fmt.Sprintf("%d:%d %s", f.Span.Start.Line, f.Span.Start.Column, f.Rule)
}

// checkFindings compares places and rules exactly and looks for one word in
// message or remedy of each. want rows: "line:column rule|part of the text".
func checkFindings(t *testing.T, text string, fs []finding.Finding, want ...string) {
	t.Helper()
	if len(fs) != len(want) {
		t.Fatalf("%.80q: got %d findings, want %d:\n%v", text, len(fs), len(want), messages(fs))
	}
	for i, f := range fs {
		place, part, _ := strings.Cut(want[i], "|")
		if brief(f) != place || !strings.Contains(f.Message+" / "+f.Remedy, part) {
			t.Errorf("%.80q: finding %d is %s %s / %s, want %s", text, i, brief(f), f.Message, f.Remedy, want[i])
		}
		if f.Verdict != finding.Fail || f.Level != finding.Error {
			t.Errorf("%.80q: finding %d is %v, %v", text, i, f.Verdict, f.Level)
		}
		if f.Message != finding.Clean(f.Message) || f.Message == "" || strings.HasSuffix(f.Message, ".") {
			t.Errorf("%.80q: message %q", text, f.Message)
		}
		if f.Remedy != finding.Clean(f.Remedy) {
			t.Errorf("%.80q: remedy %q", text, f.Remedy)
		}
	}
}

func messages(fs []finding.Finding) string {
	var b strings.Builder
	for _, f := range fs {
		fmt.Fprintf(&b, "%s: %s / %s\n", brief(f), f.Message, f.Remedy)
	}
	return b.String()
}

func mustParse(t *testing.T, text string) *Node {
	t.Helper()
	n, fs := Parse("f.yaml", []byte(text), Limits{})
	if n == nil || len(fs) > 0 {
		t.Fatalf("%.80q: root %v, findings:\n%v", text, n, messages(fs))
	}
	return n
}

// One row for each behaviour of YAML readers that would hide a mistake. What
// YAML says is in YAML 1.2.2 (yaml.org/spec/1.2.2), sections as named; the rest
// is what the library in use was observed to do.
func TestRefused(t *testing.T) {
	long := strings.Repeat("k", 1100)
	for _, c := range []struct {
		name, text string
		root       bool // a tree is given all the same
		want       []string
	}{
		{"second document, 9.2", "a: 1\n---\nb: 2\n", true, []string{"2:1 file-documents|second document"}},
		{"second document broken", "a: 1\n---\nb: [\n", true, []string{"2:1 file-documents|second"}},
		{"second document empty", "a: 1\n---\n", true, []string{"2:1 file-documents|second"}},
		{"second document after an end mark", "a: 1\n...\n---\nb: 1\n", true, []string{"3:1 file-documents|second"}},
		{"text behind an end mark", "a: 1\n...\nb: 2\n", false, []string{"3:1 file-syntax|behind the end"}},
		{"duplicate key, 3.2.1.1", "a: 1\nb: 2\na: 3\n", true, []string{`3:1 key-duplicate|"a"`}},
		{"duplicate key by text", "x:\n  ok: 1\n  \"ok\": 2\n", true, []string{"3:3 key-duplicate|"}},
		{"number and text key", "1: a\n\"1\": b\n", true, []string{`1:1 key-form|write "1" in quotes`, "2:1 key-duplicate|"}},
		{"octal-looking", "a: 010\n", true, []string{`1:4 value-form|write 8, 10 or "010"`}},
		{"octal", "a: 0o10\n", true, []string{`1:4 value-form|write 8 or "0o10"`}},
		{"no octal after all", "a: 09\n", true, []string{`1:4 value-form|write 9 or "09"`}},
		{"binary", "a: -0b11\n", true, []string{`1:4 value-form|write -3 or "-0b11"`}},
		{"underscore", "a: 1_000\n", true, []string{`1:4 value-form|write 1000 or "1_000"`}},
		{"hexadecimal", "a: 0x1F\n", true, []string{`1:4 value-form|write 31 or "0x1F"`}},
		{"out of range", "a: 1e400\n", true, []string{"1:4 value-form|range"}},
		{"rounded to zero", "a: -1.5e-400\n", true, []string{"1:4 value-form|range"}},
		{"infinite", "a: [.inf, -.INF, .NaN, .NAN]\n", true, []string{"1:5 value-form|finite", "1:11 value-form|finite", "1:18 value-form|finite", "1:24 value-form|finite"}},
		{"merge key", "a: &x {b: 1}\nc:\n  <<: *x\n  d: 1\n", true, []string{"3:3 key-form|merge"}},
		{"custom tag", "a: !foo 1\n", true, []string{`1:4 value-form|"!foo"`}},
		{"foreign tag", "a: !!python/object:x.y 1\n", true, []string{"1:4 value-form|!!python/object:x.y"}},
		{"binary tag", "a: !!binary aGk=\n", true, []string{"1:4 value-form|!!binary"}},
		{"tag of a collection", "a: !!set {b}\nc: !!map [1]\n", true, []string{"1:4 value-form|!!set", "2:4 value-form|does not fit"}},
		{"tag that does not fit", "a: !!int x\nb: !!float 010\nc: !!bool yes\n", true,
			[]string{"1:4 value-form|!!int", "2:12 value-form|010", "3:4 value-form|!!bool"}},
		{"directive, 6.8.1", "%YAML 1.2\n---\na: 1\na: 2\n", true, []string{`1:1 file-syntax|directive "%YAML 1.2"`, "4:1 key-duplicate|"}},
		{"tab indentation, 6.1", "a:\n\tb: 1\n\tc: 2\n\td: 3\n", false, []string{"2:1 file-encoding|tab used for indentation, on 2 further lines too"}},
		{"tab in a list", "a:\n  - x\n\t- y\n", false, []string{"3:1 file-encoding|tab"}},
		{"tab behind a hyphen", "- \tx: 1\n  y: 2\n", false, []string{"1:3 file-encoding|tab"}},
		{"UTF-16, 5.2", "\xff\xfea\x00", false, []string{"1:1 file-encoding|UTF-16"}},
		{"UTF-16 without mark", "\x00a\x00:\x00 \x001", false, []string{"1:1 file-encoding|UTF-16"}},
		{"UTF-32", "\x00\x00\xfe\xff\x00\x00\x00a", false, []string{"1:1 file-encoding|UTF-32"}},
		{"next line", "a: 1\u0085b: 2\n", false, []string{"1:5 file-encoding|U+0085"}},
		{"separators, 5.4", "a: x\u2028y\nb: \u2029\n", true, []string{"1:5 file-encoding|U+2028", "2:4 file-encoding|U+2029"}},
		{"controls, 5.1", "a: é\x01\nb: \x7f\nc: \u009b\n", true, []string{"1:5 file-encoding|U+0001", "2:4 file-encoding|U+007F", "3:4 file-encoding|U+009B"}},
		{"NUL", "a: b\x00c\n", true, []string{"1:5 file-encoding|NUL"}},
		{"no character", "a: \uffff\n", true, []string{"1:4 file-encoding|U+FFFF"}},
		{"mark inside", "a: \ufeffb\n", true, []string{"1:4 file-encoding|byte order mark"}},
		{"invalid UTF-8", "a: 1\nb: é\xff\xc3(\n", true, []string{"2:5 file-encoding|0xff", "2:6 file-encoding|0xc3"}},
		{"encoding and more", "a: \x01\na: 010\n", true, []string{"1:4 file-encoding|", "2:1 key-duplicate|", "2:4 value-form|"}},
		{"unknown anchor, 7.1", "# *x\na: '*x'\nb: [1,\n  *x]\n", false, []string{`4:3 file-syntax|alias "*x" has no anchor`}},
		{"alias of itself", "a: &x [1, *x]\n", true, []string{"1:11 value-form|*x"}},
		{"key too long, 7.4.2", "a: 1\n" + long + ": 1\n", false, []string{"2:1 file-limits|1024"}},
		{"quoted key too long", "a: 1\n\"" + long + "\": 1\n", false, []string{"2:1 file-limits|1024"}},
		{"key too long in brackets", "{a: 1, \"" + long + "\": 1}\n", false, []string{"1:8 file-limits|1024"}},
		{"explicit key too long", "? " + long + "\n: 1\n", true, []string{"1:3 file-limits|1024"}},
		{"empty", "", false, []string{"1:1 file-documents|empty"}},
		{"blank", " \n\n", false, []string{"1:1 file-documents|empty"}},
		{"mark alone", "\ufeff", false, []string{"1:1 file-documents|empty"}},
		{"comments only", "# a\n# b\n", false, []string{"1:1 file-documents|comments"}},
		{"marker only", "---\n", false, []string{"1:1 file-documents|"}},
		{"no space behind the colon", "a:1\n", false, []string{`1:1 key-form|expected a mapping, found the text "a:1" / put a space behind the colon`}},
		{"no space, two lines", "a:1\nb:2\n", false, []string{"1:1 key-form|space"}},
		{"no space among others", "a: 1\nb:2\nc: 3\n", false, []string{"2:3 file-syntax|space behind the colon"}},
		{"no space in brackets", "{a: 1, b:2}\n", true, []string{`1:8 key-form|"b: 2"`}},
		{"a lone text", "hello\n", false, []string{`1:1 key-form|expected a mapping, found the text "hello" / write key: value`}},
		{"a lone null", "null\n", false, []string{"1:1 key-form|expected a mapping, found null"}},
		{"a lone number", "-5.0\n", false, []string{"1:1 key-form|expected a mapping, found the number -5.0"}},
		{"number key", "2.5: a\n", true, []string{"1:1 key-form|number"}},
		{"octal-looking key", "010: a\n", true, []string{"1:1 key-form|number"}},
		{"true and null as keys", "true: a\nnull: b\n", true, []string{"1:1 key-form|true or false", "2:1 key-form|null"}},
		{"no key", "a: 1\n? \n: 2\n", true, []string{"2:2 key-form|without a key"}},
		{"list and mapping as keys", "? [a]\n: 1\n? {b: 1}\n: 2\n", true, []string{"1:3 key-form|list", "3:3 key-form|mapping"}},
		{"alias as key", "a: &x b\n*x : 3\n", true, []string{"2:1 key-form|alias"}},
		{"custom tag of a key", "!foo a: 1\n", true, []string{"1:1 value-form|!foo"}},
		{"half a pair", `{"a": "x\ud83dy"}`, true, []string{`1:7 value-form|"\ud83d"`}},
	} {
		n, fs := Parse("f.yaml", []byte(c.text), Limits{})
		t.Run(c.name, func(t *testing.T) {
			checkFindings(t, c.text, fs, c.want...)
			if (n != nil) != c.root {
				t.Errorf("root is %v", n)
			}
		})
	}
}

// Forms that look suspicious and are fine.
func TestAccepted(t *testing.T) {
	for _, c := range []struct {
		name, text, path string
		kind             Kind
		want             any
	}{
		{"yes is text, 10.3", "a: yes\n", "/a", Text, "yes"},
		{"off is text", "a: off\n", "/a", Text, "off"},
		{"other capitals are text", "a: True\n", "/a", Text, "True"},
		{"true", "a: true\n", "/a", Bool, true},
		{"false", "a: false\n", "/a", Bool, false},
		{"quoted true", "a: 'true'\n", "/a", Text, "true"},
		{"null", "a: null\n", "/a", Null, nil},
		{"tilde", "a: ~\n", "/a", Null, nil},
		{"nothing", "a:\n", "/a", Null, nil},
		{"date", "a: 2024-01-02\n", "/a", Text, "2024-01-02"},
		{"time", "a: 2024-01-02T03:04:05Z\n", "/a", Text, "2024-01-02T03:04:05Z"},
		{"base 60", "a: 1:30\n", "/a", Text, "1:30"},
		{"length", "a: 3mm\n", "/a", Text, "3mm"},
		{"length with space", "a: 3 mm\n", "/a", Text, "3 mm"},
		{"signed quantity", "a: -1.6 kA\n", "/a", Text, "-1.6 kA"},
		{"quoted number", "a: \"010\"\n", "/a", Text, "010"},
		{"integer", "a: 5\n", "/a", Number, 5.0},
		{"negative zero", "a: -0\n", "/a", Number, 0.0},
		{"decimal", "a: -0.25\n", "/a", Number, -0.25},
		{"exponent", "a: 2.5E-3\n", "/a", Number, 0.0025},
		{"zero with a large exponent", "a: 0e999\n", "/a", Number, 0.0},
		{"largest double, IEEE 754", "a: 1.7976931348623157e308\n", "/a", Number, 1.7976931348623157e308},
		{"smallest double, IEEE 754", "a: 5e-324\n", "/a", Number, 5e-324},
		{"integer beyond 64 bits", "a: 100000000000000000000000\n", "/a", Number, 1e23},
		{"core tag", "a: !!str 5\n", "/a", Text, "5"},
		{"core tag in full", "a: !<tag:yaml.org,2002:float> 5\n", "/a", Number, 5.0},
		{"int tag on a quoted number", "a: !!int '5'\n", "/a", Number, 5.0},
		{"non-specific tag, 6.9.1", "a: ! 5\n", "/a", Text, "5"},
		{"yes as key", "yes: 1\n", "/yes", Number, 1.0},
		{"date as key", "2024-01-02: 1\n", "/2024-01-02", Number, 1.0},
		{"tagged number as key", "!!str 1: 2\n", "/1", Number, 2.0},
		{"quoted merge key", "'<<': 1\n", "/<<", Number, 1.0},
		{"empty quoted key", "'': 1\n", "/", Number, 1.0},
		{"merge sign as value", "a: <<\n", "/a", Text, "<<"},
		{"address", "a: http://x.y\n", "/a", Text, "http://x.y"},
		{"directive 1.1", "%YAML 1.1\n---\na: 1\n", "/a", Number, 1.0},
		{"tab behind a colon, 6.2", "a:\tb\n", "/a", Text, "b"},
		{"tab in a block scalar", "a: |\n  x\n  \ty\n", "/a", Text, "x\n\ty\n"},
		{"JSON with tabs, RFC 8259 section 2", "\t{\n\t\"a\":\t[\n\t\t1\n\t]\n}\n\t\n", "/a/0", Number, 1.0},
		{"JSON without spaces", `{"a":{"b":[1,"x",null,true]}}`, "/a/b/1", Text, "x"},
		{"JSON escapes, RFC 8259 section 7", `{"a": "\"\\\/\b\f\n\r\t\u00e9"}`, "/a", Text, "\"\\/\b\f\n\r\té"},
		{"surrogate pair, RFC 8259 section 7", `{"a": "\uD834\uDD1E \ud83d\ude00\ud83d\ude00"}`, "/a", Text, "\U0001D11E \U0001F600\U0001F600"},
		{"escaped backslash in front of a slash", `{"a": "\\/ \\ud83d"}`, "/a", Text, `\/ \ud83d`},
		{"no escapes in single quotes, 7.3.2", `{"a": "\/", "b": 'c\/d \ud83d'}`, "/b", Text, `c\/d \ud83d`},
		{"no escapes in plain text", "a: \"\\/\"\nb: c\\/d\n", "/b", Text, `c\/d`},
		{"escape in a key", `{"a\/b": 1}`, "/a~1b", Number, 1.0},
		{"private character beside hidden ones", "{\"a\": \"\\/\U000f0041\\U000F0042\"}", "/a", Text, "/\U000f0041\U000f0042"},
		{"escaped private character beside hidden ones", `{"a": "\/\U000F0042"}`, "/a", Text, "/\U000f0042"},
		{"document end", "a: 1\n...\n", "/a", Number, 1.0},
		{"marker and comment in front", "# c\n--- # d\na: 1\n", "/a", Number, 1.0},
		{"alias", "a: &x {b: 2}\nc: *x\n", "/c/b", Number, 2.0},
		{"alias of an anchored key", "&k a: 1\nb: *k\n", "/b", Text, "a"},
		{"anchor used twice, 7.1", "a: &x 1\nb: &x 2\nc: *x\n", "/c", Number, 2.0},
		{"folded lines, 7.3.3", "a: one\n  two\n\n  three\n", "/a", Text, "one two\nthree"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, _, ok := mustParse(t, c.text).At(c.path)
			if !ok || n.Kind != c.kind || n.Value() != c.want {
				t.Errorf("%q: At(%q) = %+v, value %#v, want %v %#v", c.text, c.path, n, n.Value(), c.kind, c.want)
			}
		})
	}
}

func TestDuplicateShowsBothPlaces(t *testing.T) {
	n, fs := Parse("f.yaml", []byte("a:\n  w: 1\n  \"w\": 2\n  w: 3\n"), Limits{})
	checkFindings(t, "", fs, "3:3 key-duplicate|", "4:3 key-duplicate|")
	for _, f := range fs {
		if len(f.Related) != 1 || f.Related[0].Span.String() != "f.yaml:2:3" {
			t.Errorf("related %v", f.Related)
		}
	}
	if a := n.Get("a"); len(a.Members) != 1 || a.Get("w").Text != "1" {
		t.Errorf("kept %+v", a.Members)
	}
}

func TestHostileTextIsNotRepeated(t *testing.T) {
	text := "\"a\\n::error::\\e[31m\\u202e\": 1\n\"a\\n::error::\\e[31m\\u202e\": 2\n"
	_, fs := Parse("f.yaml", []byte(text), Limits{})
	checkFindings(t, text, fs, `2:1 key-duplicate|a\n::error::\x1b[31m\u202e`)
	long := strings.Repeat("é", 500)
	_, fs = Parse("f.yaml", []byte("{"+long+": 1, "+long+": 2}"), Limits{})
	if len(fs) != 1 || len([]rune(fs[0].Message)) > 100 || !strings.Contains(fs[0].Message, "éé…") {
		t.Errorf("%v", messages(fs))
	}
}

func TestManyProblems(t *testing.T) {
	_, fs := Parse("f.yaml", []byte(strings.Repeat("a: 1\n", 3001)), Limits{})
	if len(fs) != maxListed+1 || fs[maxListed].Message != "2000 further problems from here on are not listed" || fs[maxListed].Rule != fileLimits {
		t.Errorf("%d findings, last %+v", len(fs), fs[len(fs)-1])
	}
	_, fs = Parse("f.yaml", []byte("a: "+strings.Repeat("\x01", 50)), Limits{})
	if len(fs) != maxEncoding+1 || !strings.Contains(fs[maxEncoding].Message, "30 further characters") || brief(fs[maxEncoding]) != "1:24 file-encoding" {
		t.Errorf("%v", messages(fs))
	}
}
