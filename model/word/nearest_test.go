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
	if got := DidYouMean("metring", words); got != `; did you mean "metering"?` {
		t.Error(got)
	}
	if got := DidYouMean("x", words); got != "" {
		t.Error(got)
	}
}
