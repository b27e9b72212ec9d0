package fem

import (
	"bytes"
	"testing"
)

// FuzzTable reads any bytes as answers that an earlier run kept: no panic, no more numbers than bytes, and what is
// written again says the same.
func FuzzTable(f *testing.F) {
	some := newTable()
	some.put("a", []float64{1, -2})
	some.put("", nil)
	body, _ := some.bytes()
	f.Add(body)
	f.Add(body[:len(body)-3])
	f.Add([]byte(tableMagic + "\x00\xff\xff\xff\xff\xff\xff\xff\xff\x7f"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 4000 {
			return
		}
		first := newTable()
		first.read(data)
		held := 0
		for q, a := range first.answers {
			held += len(q) + 8*len(a)
		}
		if held > len(data) {
			t.Fatalf("%d bytes of answers out of %d", held, len(data))
		}
		first.changed = true
		written, _ := first.bytes()
		second := newTable()
		second.read(written)
		second.changed = true
		if again, _ := second.bytes(); !bytes.Equal(again, written) {
			t.Fatalf("%q became %q", written, again)
		}
	})
}
