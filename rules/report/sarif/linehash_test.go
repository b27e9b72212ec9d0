package sarif

import (
	"slices"
	"strings"
	"testing"
)

// The values are those of the code host's own test,
// github.com/github/codeql-action, src/fingerprints.test.ts.
func TestLineHashesPublishedValues(t *testing.T) {
	greetings := []string{
		"e9496ae3ebfced30:1", "fb7c023a8b9ccb3f:1", "ce8ba1a563dcdaca:1", "e20e36e16fcb0cc8:1",
		"b3edc88f2938467e:1", "c8e28b0b4002a3a0:1", "c129715d7a2bc9a3:1",
	}
	for _, tc := range []struct {
		name, text string
		want       []string
	}{
		{"empty", "", []string{"c129715d7a2bc9a3:1"}},
		{"short", " a\nb\n  \t\tc\n d", []string{"271789c17abda88f:1", "54703d4cd895b18:1", "180aee12dab6264:1", "a23a3dc5e078b07b:1"}},
		{"no line end at the end", " hello; \t\nworld!!!\n\n\n  \t\tGreetings\n End", []string{
			"8b7cf3e952e7aeb2:1", "b1ae1287ec4718d9:1", "bff680108adb0fcc:1",
			"c6805c5e1288b612:1", "b86d3392aea1be30:1", "e6ceba753e1a442:1",
		}},
		{"LF", " hello; \t\nworld!!!\n\n\n  \t\tGreetings\n End\n", greetings},
		{"CR", " hello; \t\nworld!!!\r\r\r  \t\tGreetings\r End\r", greetings},
		{"CR LF", " hello; \t\r\nworld!!!\r\n\r\n\r\n  \t\tGreetings\r\n End\r\n", greetings},
		{"mixed", " hello; \t\nworld!!!\r\n\n\r  \t\tGreetings\r End\r\n", greetings},
		{"repeats", strings.Repeat("Lorem ipsum dolor sit amet.\n", 10), []string{
			"a7f2ff13bc495cf2:1", "a7f2ff13bc495cf2:2", "a7f2ff13bc495cf2:3", "a7f2ff13bc495cf2:4", "a7f2ff13bc495cf2:5",
			"a7f2ff13bc495cf2:6", "a7f2ff1481e87703:1", "a9cf91f7bbf1862b:1", "55ec222b86bcae53:1", "cc97dc7b1d7d8f7b:1",
			"c129715d7a2bc9a3:1",
		}},
	} {
		if got := lineHashes([]byte(tc.text)); !slices.Equal(got, tc.want) {
			t.Errorf("%s: got %q, want %q", tc.name, got, tc.want)
		}
	}
}

// A character outside the basic plane counts as two units. The expected value
// is the formula written out: the first unit of U+1F527 weighs 37^99, the
// second 37^98, the end of the file 37^97.
func TestLineHashesCountUTF16Units(t *testing.T) {
	power := func(n int) uint64 {
		p := uint64(1)
		for range n {
			p *= 37
		}
		return p
	}
	want := 0xD83D*power(99) + 0xDD27*power(98) + 0xFFFF*power(97)
	got := lineHashes([]byte("\U0001F527"))
	if len(got) != 1 || got[0] != hexOf(want)+":1" {
		t.Errorf("got %q, want %s:1", got, hexOf(want))
	}
}

func hexOf(v uint64) string {
	const digits = "0123456789abcdef"
	out := ""
	for ; v > 0; v >>= 4 {
		out = digits[v&15:v&15+1] + out
	}
	return out
}
