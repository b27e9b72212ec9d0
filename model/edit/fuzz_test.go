package edit

import (
	"slices"
	"testing"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// placesOf returns the byte at which each place of a text stands, told by one walk over its characters.
func placesOf(source string) map[span.Pos]int {
	places := map[span.Pos]int{}
	p := span.Pos{Line: 1, Column: 1}
	for at := 0; at < len(source); {
		places[p] = at
		_, size := utf8.DecodeRuneInString(source[at:])
		switch {
		case source[at] == '\r' && at+1 < len(source) && source[at+1] == '\n':
			size = 2
			fallthrough
		case source[at] == '\r', source[at] == '\n':
			p = span.Pos{Line: p.Line + 1, Column: 1}
		default:
			p.Column++
		}
		at += size
	}
	places[p] = len(source)
	return places
}

// FuzzApply edits any text at two places: no panic, and either an error or a text in which every byte outside of
// the edits is kept, whatever their order.
func FuzzApply(f *testing.F) {
	f.Add("a: 5 mm # keep\r\nb: 6 mm\r", "7 mm", "8 mm", uint8(1), uint8(4), uint8(4), uint8(2), uint8(4), uint8(4))
	f.Add("µ: 😀5\n", "", "x", uint8(1), uint8(1), uint8(1), uint8(1), uint8(2), uint8(0))
	f.Add("a\xff\xfe\n\nb", "y", "y", uint8(2), uint8(1), uint8(0), uint8(3), uint8(1), uint8(1))
	f.Fuzz(func(t *testing.T, source, one, two string, line1, column1, long1, line2, column2, long2 uint8) {
		if len(source)+len(one)+len(two) > 2000 {
			return
		}
		edits := []finding.Edit{
			at(int(line1), int(column1), int(line1), int(column1)+int(long1), one),
			at(int(line2), int(column2), int(line2), int(column2)+int(long2), two),
		}
		got, err := Apply(source, edits)
		if again, err2 := Apply(source, []finding.Edit{edits[1], edits[0]}); again != got || (err == nil) != (err2 == nil) {
			t.Fatalf("in another order %q and %v, not %q and %v", again, err2, got, err)
		}
		places := placesOf(source)
		type stretch struct {
			from, to int
			text     string
		}
		var list []stretch
		good := true
		for _, e := range edits {
			from, ok := places[e.Span.Start]
			to, ok2 := places[e.Span.End]
			good = good && ok && ok2
			list = append(list, stretch{from, to, e.Text})
		}
		if good && list[0] == list[1] {
			list = list[:1]
		}
		slices.SortStableFunc(list, func(a, b stretch) int { return a.from - b.from })
		if len(list) == 2 && list[0].from == list[1].from {
			return // which of two that begin in one place comes first is a matter of taste
		}
		if len(list) == 2 && list[0].to > list[1].from {
			good = false
		}
		if (err == nil) != good {
			t.Fatalf("%q with %+v: error %v", source, edits, err)
		}
		if err != nil {
			return
		}
		want, done := "", 0
		for _, s := range list {
			want, done = want+source[done:s.from]+s.text, s.to
		}
		if want += source[done:]; got != want {
			t.Fatalf("%q with %+v is %q, want %q", source, edits, got, want)
		}
	})
}
