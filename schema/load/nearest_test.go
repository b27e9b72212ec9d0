package load

import "testing"

// The four kinds of slip of Damerau (1964), each counted once, and two counts
// done by hand.
func TestDistance(t *testing.T) {
	var m rows
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"width", "width", 0}, {"width", "wdith", 1}, {"width", "wdth", 1}, {"width", "widtth", 1}, {"width", "wadth", 1},
		{"", "abc", 3}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"ca", "abc", 3}, {"größe", "grösse", 2}, {"a", "abcdefghijklmnopqrstuvwxyzabcdefgh", 33},
	} {
		if got := m.distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestNearest(t *testing.T) {
	keys := []string{"at", "length", "metal", "run", "section", "temperature", "turn"}
	for word, want := range map[string]string{
		"metl": "metal", "sektion": "section", "Temperature": "temperature", "tmperatur": "temperature", "lenght": "length",
		"AT": "at", "colour": "", "x": "", "ta": "", "metal": "",
	} {
		if got, ok := nearest(word, keys); got != want || ok != (want != "") {
			t.Errorf("nearest(%q) = %q, %v, want %q", word, got, ok, want)
		}
	}
	if got, ok := nearest("U", []string{"V", "u"}); got != "u" || !ok {
		t.Errorf("nearest(U) = %q, %v", got, ok)
	}
}
