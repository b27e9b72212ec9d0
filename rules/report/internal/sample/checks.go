package sample

import (
	"bytes"
	"errors"
	"io"
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

var errFull = errors.New("no space left")

// breaking fails once limit bytes have been taken, as a full disk does.
type breaking struct {
	limit, taken int
	failed       bool
	after        int // calls after the failure
}

func (b *breaking) Write(p []byte) (int, error) {
	if b.failed {
		b.after++
		return 0, errFull
	}
	if n := b.limit - b.taken; len(p) > n {
		b.taken, b.failed = b.limit, true
		return n, errFull
	}
	b.taken += len(p)
	return len(p), nil
}

// short takes less than it was given and says nothing.
type short struct{}

func (short) Write(p []byte) (int, error) { return len(p) / 2, nil }

// Fails runs a writer into a full disk at every byte, and into a file that takes
// half: always an error, and not a byte after it.
func Fails(t *testing.T, write func(io.Writer) error) {
	t.Helper()
	var all bytes.Buffer
	if err := write(&all); err != nil {
		t.Fatal(err)
	}
	whole := all.Len()
	for k := range whole {
		w := &breaking{limit: k}
		if err := write(w); !errors.Is(err, errFull) || w.after != 0 {
			t.Fatalf("writer failing at byte %d of %d: error %v, %d calls afterwards", k, whole, err, w.after)
		}
	}
	if err := write(&breaking{limit: whole}); err != nil {
		t.Fatalf("a writer with room for all of it: %v", err)
	}
	if err := write(short{}); !errors.Is(err, io.ErrShortWrite) {
		t.Fatalf("a writer that takes half: got %v, want %v", err, io.ErrShortWrite)
	}
}
