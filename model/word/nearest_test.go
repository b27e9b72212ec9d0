package word

import (
	"strings"
	"testing"
)

// Distances counted by hand: letters changed, put in, left out or swapped.
func TestNearest(t *testing.T) {
	words := []string{"stray-ratio", "placement", "metering", "drive"}
	for _, c := range []struct {
		word, want string
	}{
		{"stray-ratoi", "stray-ratio"},
		{"stray-raio", "stray-ratio"},
		{"Placement", "placement"},
		{"meeterimg", "metering"},
		{"drves", ""}, // a letter out and one in: two, and a third of five is one
		{"geometry", ""},
		{"", ""},
		{strings.Repeat("x", 100), ""},
	} {
		got, ok := Nearest(c.word, words)
		if got != c.want || ok != (c.want != "") {
			t.Errorf("%q: %q, want %q", c.word, got, c.want)
		}
	}
	if got := DidYouMean("metring", words); got != `. Did you mean "metering"?` {
		t.Error(got)
	}
	if got := DidYouMean("x", words); got != "" {
		t.Error(got)
	}
}

// The four kinds of slip of Damerau (1964), each counted once, and two counts
// done by hand.
func TestDistance(t *testing.T) {
	var m rows
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"width", "width", 0}, {"width", "wdith", 1}, {"width", "wdth", 1}, {"width", "widtth", 1},
		{"width", "wadth", 1},
		{"", "abc", 3}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"ca", "abc", 3}, {"größe", "grösse", 2},
		{"a", "abcdefghijklmnopqrstuvwxyzabcdefgh", 33},
	} {
		if got := m.distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// Keys of the layout format, and a case of letters.
func TestNearestKey(t *testing.T) {
	keys := []string{"at", "length", "metal", "run", "section", "temperature", "turn"}
	for word, want := range map[string]string{
		"metl": "metal", "sektion": "section", "Temperature": "temperature", "tmperatur": "temperature",
		"lenght": "length",
		"AT":     "at", "colour": "", "x": "", "ta": "", "metal": "",
	} {
		if got, ok := Nearest(word, keys); got != want || ok != (want != "") {
			t.Errorf("nearest(%q) = %q, %v, want %q", word, got, ok, want)
		}
	}
	if got, ok := Nearest("U", []string{"V", "u"}); got != "u" || !ok {
		t.Errorf("nearest(U) = %q, %v", got, ok)
	}
}

func TestLists(t *testing.T) {
	for _, c := range []struct {
		words   []string
		or, and string
	}{
		{nil, "", ""}, {[]string{"a"}, "a", "a"}, {[]string{"a", "b"}, "a or b", "a and b"},
		{[]string{"a", "b", "c"}, "a, b or c", "a, b and c"},
	} {
		if or, and := Or(c.words), And(c.words); or != c.or || and != c.and {
			t.Errorf("%q: %q, %q", c.words, or, and)
		}
	}
}
