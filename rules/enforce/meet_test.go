package enforce

import (
	"strings"
	"testing"
	"unicode/utf8"

	"busgauss/model/glob"
)

func meets(a, b string) bool {
	for _, x := range globs([]string{a}) {
		for _, y := range globs([]string{b}) {
			if meet(x, y) {
				return true
			}
		}
	}
	return false
}

// Two globs meet where one name fits both; worked by hand.
func TestMeet(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"S", "S", true}, {"S", "T", false}, {"S", "*", true}, {"SU", "S", false}, {"PACK*", "SB*", false}, {"PACK*", "P*", true},
		{"*_dc", "S*", true}, {"*_dc", "*_ac", false}, {"a*b*c", "a*d*c", true}, {"?", "??", false}, {"S?", "*U", true},
		{"S[UV]", "S[WX]", false}, {"S[UV]", "S[VW]", true}, {"S[a-f]", "S[c-d]", true}, {"S[a-c]", "S[d-f]", false},
		{"S[^U]", "SU", false}, {"S[!U]", "SV", true}, {"S[^U]", "S[UV]", true}, {"[ab]", "?", true},
		{"{SU,SV}", "S[W]", false}, {"{SU,SV}*", "SVX", true}, {"{a,b{c,d}}e", "bde", true}, {"{a,b{c,d}}e", "be", false}, {"{a,}b", "b", true},
		{`S\*`, "SU", false}, {`S\*`, "S[*]", true}, {`\{a`, "{a,b}", false},
		{"x/*.yaml", "x/y/*.yaml", false}, {"x/**", "x/y/*.yaml", true}, {"x/**", "x", true}, {"x/**", "y/**", false}, {"**/a.yaml", "a.yaml", true},
		{"x/**/a.yaml", "x/a.yaml", true}, {"?", "/", false}, {"é*", "?x", true}, {"", "*", true}, {"", "?", false},
	} {
		if meets(c.a, c.b) != c.want || meets(c.b, c.a) != c.want {
			t.Errorf("%q and %q: %v", c.a, c.b, !c.want)
		}
	}
	many := strings.Repeat("{a,b}", 12)
	for _, text := range []string{many, strings.Repeat("a", maxGlob+1), "{[a,b]}"} {
		if !meets(text, "zzz") {
			t.Errorf("%.20s: what is not looked into must be taken to meet", text)
		}
	}
}

func complete(pattern string) bool {
	_, err := glob.Compile(pattern)
	return err == nil
}

// No two globs that one name fits are said not to meet. What fits is asked of the
// package that matches channels.
func FuzzMeet(f *testing.F) {
	f.Add("a*", "[ab]?", "ab")
	f.Add("{a,b}/**", "a/*", "a/b")
	f.Add("**/[^b]", "?", "a")
	f.Fuzz(func(t *testing.T, a, b, name string) {
		if len(a)+len(b)+len(name) > 60 || !utf8.ValidString(a+b+name) || !complete(a) || !complete(b) {
			return
		}
		if compiled([]string{a}).match(name) && compiled([]string{b}).match(name) && !meets(a, b) {
			t.Errorf("%q fits %q and %q", name, a, b)
		}
	})
}
