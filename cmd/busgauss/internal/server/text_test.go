package server

import (
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"busgauss/model/span"
)

// The places of a text in each encoding, counted by hand: 😀 is four bytes, two units of UTF-16 and one character,
// é two bytes and one unit.
func TestPlaces(t *testing.T) {
	l := linesOf("a😀b\r\né😀\rz\n")
	for _, c := range []struct {
		at   int
		want map[encoding]position
	}{
		{1, map[encoding]position{utf8Units: {0, 1}, utf16Units: {0, 1}, utf32Units: {0, 1}}},
		{5, map[encoding]position{utf8Units: {0, 5}, utf16Units: {0, 3}, utf32Units: {0, 2}}},
		{8, map[encoding]position{utf8Units: {1, 0}, utf16Units: {1, 0}, utf32Units: {1, 0}}},
		{14, map[encoding]position{utf8Units: {1, 6}, utf16Units: {1, 3}, utf32Units: {1, 2}}},
		{15, map[encoding]position{utf8Units: {2, 0}, utf16Units: {2, 0}, utf32Units: {2, 0}}},
		{17, map[encoding]position{utf8Units: {3, 0}, utf16Units: {3, 0}, utf32Units: {3, 0}}},
	} {
		for e, p := range c.want {
			if got := l.place(c.at, e); got != p {
				t.Errorf("byte %d in %s: %v, want %v", c.at, e, got, p)
			}
			if got := l.offset(p, e); got != c.at {
				t.Errorf("%v in %s: byte %d, want %d", p, e, got, c.at)
			}
		}
	}
	for _, c := range []struct {
		p    position
		e    encoding
		want int
	}{
		{position{0, 2}, utf16Units, 1},  // within 😀: its beginning
		{position{0, 99}, utf16Units, 6}, // beyond the line: its end, before CR LF
		{position{99, 0}, utf16Units, 17},
		{position{-1, 5}, utf16Units, 0},
		{position{1, -5}, utf16Units, 8},
	} {
		if got := l.offset(c.p, c.e); got != c.want {
			t.Errorf("%v: byte %d, want %d", c.p, got, c.want)
		}
	}
}

func TestChanges(t *testing.T) {
	l := linesOf("x: 😀y\nz: 1\n")
	l = l.changed([]contentChange{
		{Range: &stretch{position{0, 5}, position{0, 6}}, Text: "é"},
		{Range: &stretch{position{1, 0}, position{2, 0}}},
		{Range: &stretch{position{0, 0}, position{0, 0}}, Text: "# 1\n"},
	}, utf16Units)
	if want := "# 1\nx: 😀é\n"; l.text != want {
		t.Errorf("%q, want %q", l.text, want)
	}
	if l = l.changed([]contentChange{{Text: "all"}}, utf16Units); l.text != "all" || len(l.start) != 1 {
		t.Errorf("%q", l.text)
	}
}

// FuzzPlaces holds every character of a text to its place in each encoding, against the standard library's.
func FuzzPlaces(f *testing.F) {
	for _, s := range []string{"", "a\nb", "\r\n\r", "😀é\n\U0010ffff", "a\xffb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 300 {
			return // every place is counted from the beginning of its line, seven times
		}
		l := linesOf(text)
		for at := range text {
			if n := l.pos(at).Line - 1; true {
				if from, to := l.line(n); at > to {
					continue // within the end of a line
				} else if before := text[from:at]; utf8.ValidString(before) {
					if got := l.place(at, utf16Units).Character; got != len(utf16.Encode([]rune(before))) {
						t.Fatalf("byte %d of %q is unit %d", at, text, got)
					}
				}
			}
			for _, e := range []encoding{utf8Units, utf16Units, utf32Units} {
				if got := l.offset(l.place(at, e), e); got != at {
					t.Fatalf("byte %d of %q comes back in %s as %d", at, text, e, got)
				}
			}
			if p := l.pos(at); l.byteOf(p) != at {
				t.Fatalf("byte %d of %q comes back from %v as %d", at, text, p, l.byteOf(p))
			}
		}
	})
}

func TestHolds(t *testing.T) {
	s := span.Span{Start: span.Pos{Line: 2, Column: 3}, End: span.Pos{Line: 2, Column: 5}}
	for column, want := range map[int]bool{2: false, 3: true, 4: true, 5: true, 6: false} {
		if holds(s, span.Pos{Line: 2, Column: column}) != want {
			t.Errorf("column %d: %v", column, !want)
		}
	}
}
