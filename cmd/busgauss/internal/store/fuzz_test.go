package store

import (
	"bytes"
	"testing"
)

// FuzzOpened takes any bytes for an entry: what is opened was sealed under this key, byte for byte, and what was sealed
// is opened again, under no other key and with no byte changed.
func FuzzOpened(f *testing.F) {
	whole := sealed(KeyOf("a"), []byte("a result"))
	f.Add("a", whole, uint16(0))
	f.Add("a", whole[:len(whole)-1], uint16(30))
	f.Add("b", []byte(magic+"\n"), uint16(3))
	f.Fuzz(func(t *testing.T, name string, data []byte, at uint16) {
		if len(data) > 4000 {
			return
		}
		key := KeyOf(name)
		if body, ok := opened(key, data); ok && !bytes.Equal(sealed(key, body), data) {
			t.Fatalf("%q is opened and was never sealed", data)
		}
		entry := sealed(key, data)
		if body, ok := opened(key, entry); !ok || !bytes.Equal(body, data) {
			t.Fatalf("%q comes back as %q, %v", data, body, ok)
		}
		if _, ok := opened(KeyOf(name, ""), entry); ok {
			t.Fatal("opened under another key")
		}
		entry[int(at)%len(entry)] ^= 1
		if _, ok := opened(key, entry); ok {
			t.Fatalf("opened with byte %d changed", int(at)%len(entry))
		}
	})
}
