package finding

import (
	"slices"
	"testing"
)

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		message, first string
		more           []string
	}{
		{"", "", nil},
		{"S: 9.95 %, limit 5 %", "S: 9.95 %, limit 5 %", nil},
		{`S: 3.35 %. That is 1.5 A. See x.yaml`, "S: 3.35 %", []string{"That is 1.5 A", "See x.yaml"}},
	} {
		if first, more := Sentences(c.message); first != c.first || !slices.Equal(more, c.more) {
			t.Errorf("%q: %q, %q", c.message, first, more)
		}
	}
}
