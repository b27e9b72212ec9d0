package sample

import (
	"bytes"
	"strings"
	"testing"
	"unicode"
)

// Seen fails where a report that was made of the text s holds a character that
// nobody sees, or what a build host reads as a command. A line that command
// accepts is the writer's own.
func Seen(t *testing.T, s string, got []byte, command func(line string) bool) {
	t.Helper()
	for _, c := range string(got) {
		if c != '\n' && unicode.In(c, unicode.Cc, unicode.Bidi_Control, unicode.Zl, unicode.Zp) {
			t.Errorf("%q: output holds %q:\n%q", s, c, got)
			break
		}
	}
	if bytes.Contains(got, []byte("##[")) || bytes.Contains(got, []byte("##vso[")) {
		t.Errorf("%q: output holds a command:\n%q", s, got)
	}
	for line := range strings.SplitSeq(string(got), "\n") {
		if strings.HasPrefix(strings.TrimLeftFunc(line, unicode.IsSpace), "::") && (command == nil || !command(line)) {
			t.Errorf("%q: line reads as a command: %q", s, line)
		}
	}
}
