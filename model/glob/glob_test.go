package glob

import (
	"errors"
	"path"
	"strings"
	"testing"
)

// What fits what, worked by hand from the words on Pattern.
func TestMatch(t *testing.T) {
	for _, c := range []struct {
		pattern, name string
		want          bool
	}{
		{"", "", true}, {"", "a", false}, {"a", "a", true}, {"a", "ab", false}, {"*", "", true}, {"*", ".hidden", true}, {"*", "a/b", false},
		{"*.yaml", "a.yaml", true}, {"*.yaml", "x/a.yaml", false}, {"?", "é", true}, {"?", "/", false}, {"??", "é", false},
		{"x/**", "x", true}, {"x/**", "x/y", true}, {"x/**", "x/y/z", true}, {"x/**", "xy", false}, {"**", "a/b", true}, {"**", "", true},
		{"**/a", "a", true}, {"**/a", "x/y/a", true}, {"**/a", "xa", false}, {"x/**/a", "x/a", true}, {"x/**/a", "x/y/z/a", true}, {"x/**/a", "xa", false},
		{"x**", "xyz", true}, {"x**", "x/y", false}, {"**x", "y/x", false}, {"a***", "abc", true}, {"*/**", "x/y/z", true}, {"?*/**", "c", true},
		{"[ab]", "b", true}, {"[ab]", "c", false}, {"[a-c]x", "bx", true}, {"[^a]", "b", true}, {"[!a]", "a", false}, {"[^a]", "/", false},
		{"[/]", "/", false}, {`[\]]`, "]", true}, {"[a-]", "-", true}, {`\*`, "*", true}, {"\x9c", "\x9c", true}, {"\x9c", "\xe3", false}, {"\uFFFD", "\x9c", false}, {"?", "\x9c", true}, {`\*`, "a", false}, {`\{a`, "{a", true},
		{"a,b", "a,b", true}, {"{a,b}", "b", true}, {"{a,b}", "{a,b}", false}, {"{a,b{c,d}}e", "bde", true}, {"{a,b{c,d}}e", "be", false}, {"{a,}b", "b", true},
		{"*.{yaml,json}", "a.json", true}, {"*.{yaml,json}", "a.yml", false}, {"{x,y}/*", "y/a", true}, {"{x,y/z}/*", "y/z/a", true},
		{"{x/**,y}/*.yaml", "x/a.yaml", true}, {"{x/**,y}/*.yaml", "x/1/2/a.yaml", true}, {"{x/**,y}/*.yaml", "y/1/a.yaml", false},
		{"{**,x}/*.yaml", "a.yaml", true}, {"{**,x}/*.yaml", "1/2/a.yaml", true}, {"{x/**,y}", "x", true}, {"{x/**,y}.yaml", "x/1/a.yaml", false},
		{"a/{**,b}c", "a/xc", true}, {"a/{**,b}c", "a/x/c", false},
	} {
		p, err := Compile(c.pattern)
		if err != nil {
			t.Errorf("%q: %v", c.pattern, err)
		} else if p.Match(c.name) != c.want {
			t.Errorf("%q and %q: %v", c.pattern, c.name, !c.want)
		}
	}
}

func TestForm(t *testing.T) {
	for _, text := range []string{"[", "[a", "[]", "[^]", "{", "{a", "}", "a}", `\`, `[\`, "{[}", "{a,{b}"} {
		if _, err := Compile(text); !errors.Is(err, ErrForm) {
			t.Errorf("%q: %v", text, err)
		}
	}
	for _, c := range []struct {
		text string
		ok   bool
	}{
		{strings.Repeat("{a,b}", MostBraces), true}, {strings.Repeat("{a,b}", MostBraces+1), false},
		{strings.Repeat("{", MostBraces) + strings.Repeat("}", MostBraces), true}, {strings.Repeat("{", MostBraces+1) + strings.Repeat("}", MostBraces+1), false},
		{strings.Repeat("a", MostBytes-1), true}, {strings.Repeat("a", MostBytes), true}, {strings.Repeat("a", MostBytes+1), false},
	} {
		if _, err := Compile(c.text); (err == nil) != c.ok {
			t.Errorf("%.20s, %d bytes: %v", c.text, len(c.text), err)
		}
	}
}

// Patterns that a matcher that goes back and tries again takes for ever with: here every character of a name looks at
// every step of the pattern at most once, so that this test comes to an end.
func TestHostilePatterns(t *testing.T) {
	name := strings.Repeat("a", 500) + "b"
	for _, text := range []string{
		strings.Repeat("{a,a}", MostBraces), strings.Repeat("{a,}", MostBraces), strings.Repeat("*a", 2000), strings.Repeat("**/", 1300) + "x",
		strings.Repeat("{*,**}", MostBraces) + "x", strings.Repeat("{a,", MostBraces) + strings.Repeat("}", MostBraces), strings.Repeat("?*", 2000),
	} {
		p, err := Compile(text)
		if err != nil {
			t.Fatalf("%.20s: %v", text, err)
		}
		if p.Match(name + "/" + name) {
			t.Errorf("%.20s fits", text)
		}
		if n := len(p.steps); n > 8*len(text)+1 {
			t.Errorf("%.20s: %d steps of %d bytes", text, n, len(text))
		}
	}
}

// Folders that cannot hold what fits are known before anybody looks into them.
func TestBelow(t *testing.T) {
	for _, c := range []struct {
		pattern, folder string
		want            bool
	}{
		{"*.yaml", "x", false}, {"x/*.yaml", "x", true}, {"x/*.yaml", "y", false}, {"x/*.yaml", "x/y", false}, {"**/*.yaml", "x/y", true},
		{"{x,y/**}/a", "y/z", true}, {"{x,y/**}/a", "x/z", false}, {"x/**", "x", true}, {"[xy]/?/a", "x/1", true}, {"[xy]/?/a", "x/11", false},
	} {
		p, err := Compile(c.pattern)
		if err != nil {
			t.Fatal(err)
		}
		if p.Below(c.folder) != c.want {
			t.Errorf("%q below %q: %v", c.pattern, c.folder, !c.want)
		}
	}
}

func TestSplit(t *testing.T) {
	for pattern, want := range map[string][2]string{
		"*.yaml": {".", "*.yaml"}, "x/y/*": {"x/y", "*"}, "/x/{a,b}/c": {"/x", "{a,b}/c"}, "/*": {"/", "*"}, `x/\*/y`: {"x", `\*/y`}, "a/b": {"a", "b"},
	} {
		if folder, rest := Split(pattern); folder != want[0] || rest != want[1] {
			t.Errorf("%q: %q and %q", pattern, folder, rest)
		}
	}
}

// FuzzMatch compares with path.Match of the Go library where there are neither braces nor classes nor "**", and looks
// for what fits below folders that were said to hold nothing.
func FuzzMatch(f *testing.F) {
	for _, seed := range [][2]string{{"a*", "ab"}, {"**/x", "y/x"}, {"[a-c]?", "bz"}, {"{a,b/**}/c", "b/x/c"}, {`\*[^a]`, "*b"}} {
		f.Add(seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, pattern, name string) {
		if len(pattern)+len(name) > 200 {
			return
		}
		p, err := Compile(pattern)
		if err != nil {
			return
		}
		for folder := path.Dir(name); p.Match(name) && folder != "." && folder != "/" && path.Clean(name) == name; folder = path.Dir(folder) {
			if !p.Below(folder) {
				t.Errorf("%q fits %q and is not looked for below %q", name, pattern, folder)
			}
		}
		if strings.ContainsAny(pattern, "{}[/") || strings.Contains(pattern, "**") {
			return
		}
		if want, err := path.Match(pattern, name); err == nil && want != p.Match(name) {
			t.Errorf("%q and %q: %v", pattern, name, !want)
		}
		if plain := strings.NewReplacer("*", "", "?", "").Replace(pattern); plain == pattern && !strings.Contains(pattern, `\`) {
			if (pattern == name) != p.Match(name) {
				t.Errorf("%q and %q", pattern, name)
			}
		}
	})
}
