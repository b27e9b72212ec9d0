package enforce

import "testing"

func TestBeginsWith(t *testing.T) {
	for _, c := range []struct {
		text, name string
		want       bool
	}{
		{"SU at 4 mm", "SU", true}, {"SU: 4 mm", "SU", true}, {"SU", "SU", true},
		{"SUM of all", "SU", false}, {"Some do", "S", false}, {"S1 is off", "S", false}, {"at SU", "SU", false},
	} {
		if got := beginsWith(c.text, c.name); got != c.want {
			t.Errorf("%q, %q: %v", c.text, c.name, got)
		}
	}
}
