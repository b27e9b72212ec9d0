package store

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

func path(s *Store, k Key) string { return filepath.Join(s.dir, k.name()) }

// What was put comes back; what has any bit changed, is cut short, stands under another name or is of another format does not.
func TestWholeOrNothing(t *testing.T) {
	s := New(filepath.Join(t.TempDir(), "made", "late"), 1<<20)
	key, other := KeyOf("a"), KeyOf("b")
	body := []byte("what was found\n")
	if _, ok := s.Get(key); ok {
		t.Error("an empty store holds something")
	}
	s.Put(key, body)
	if got, ok := s.Get(key); !ok || !bytes.Equal(got, body) || s.Err() != nil {
		t.Fatalf("got %q, %v, %v", got, ok, s.Err())
	}
	whole, err := os.ReadFile(path(s, key))
	if err != nil {
		t.Fatal(err)
	}
	refused := func(what string, k Key, data []byte) {
		t.Helper()
		if err := os.WriteFile(path(s, k), data, 0o600); err != nil {
			t.Fatal(err)
		}
		if got, ok := s.Get(k); ok {
			t.Fatalf("%s: got %q", what, got)
		}
	}
	for i := range whole {
		for bit := range 8 {
			bad := bytes.Clone(whole)
			bad[i] ^= 1 << bit
			refused(fmt.Sprintf("byte %d, bit %d", i, bit), key, bad)
		}
		refused(fmt.Sprintf("cut to %d bytes", i), key, whole[:i])
	}
	refused("a byte more", key, append(bytes.Clone(whole), 0))
	refused("under another name", other, whole)
	refused("another format", key, bytes.Replace(whole, []byte("format 1"), []byte("format 2"), 1))
	s.Put(key, body)
	if _, ok := s.Get(key); !ok {
		t.Error("a damaged entry is not replaced")
	}
}

// Lists of texts that only look alike have different keys.
func TestKeys(t *testing.T) {
	seen := map[Key][]string{}
	for _, texts := range [][]string{{}, {""}, {"", ""}, {"a"}, {"a", ""}, {"ab"}, {"a", "b"}, {"1:a"}, {"a1:b"}} {
		k := KeyOf(texts...)
		if was, twice := seen[k]; twice {
			t.Errorf("%q and %q have one key", was, texts)
		}
		seen[k] = texts
	}
}

// The bytes in the folder stay under the most, and what was used longest ago goes first; what others left there stays.
func TestOldestOut(t *testing.T) {
	dir := t.TempDir()
	body := bytes.Repeat([]byte("x"), 1000)
	entry := int64(len(sealed(Key{}, body)))
	s := New(dir, 8*entry)
	keys := make([]Key, 12)
	old := time.Now().Add(-48 * time.Hour)
	stale, fresh := filepath.Join(dir, ".busgauss-1"), filepath.Join(dir, ".busgauss-2")
	for _, name := range []string{filepath.Join(dir, "notes.txt"), stale, fresh} {
		if err := os.WriteFile(name, make([]byte, 100_000), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chtimes(stale, old, old); err != nil {
		t.Fatal(err)
	}
	for i := range keys {
		keys[i] = KeyOf(fmt.Sprint(i))
		s.Put(keys[i], body)
		// Each a minute after the one before it; the first is asked for again each time.
		at := old.Add(time.Duration(i) * time.Minute)
		if err := os.Chtimes(path(s, keys[i]), at, at); err != nil {
			t.Fatal(err)
		}
		if _, ok := s.Get(keys[0]); !ok {
			t.Fatalf("the one that is asked for is gone after %d", i)
		}
		if n := size(t, dir); n > 8*entry {
			t.Fatalf("%d bytes after %d entries, %d are the most", n, i+1, 8*entry)
		}
	}
	for i, k := range keys {
		_, held := s.Get(k)
		if want := i == 0 || i >= 5; held != want {
			t.Errorf("entry %d: held %v, want %v", i, held, want)
		}
	}
	// Another process, of a smaller limit.
	small := New(dir, 2*entry)
	small.Put(KeyOf("small"), body)
	if n := size(t, dir); n > 2*entry {
		t.Errorf("%d bytes, %d are the most", n, 2*entry)
	}
	small.Put(KeyOf("large"), bytes.Repeat(body, 3))
	if _, ok := small.Get(KeyOf("large")); ok || small.Err() != nil {
		t.Errorf("one that is larger than the store is kept, %v", small.Err())
	}
	for name, want := range map[string]bool{filepath.Join(dir, "notes.txt"): true, fresh: true, stale: false} {
		if _, err := os.Stat(name); (err == nil) != want {
			t.Errorf("%s: there %v, want %v", name, err == nil, want)
		}
	}
}

// size returns the bytes of the entries in a folder.
func size(t *testing.T, dir string) int64 {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var n int64
	for _, e := range list {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		if isEntry(e.Name()) {
			n += info.Size()
		}
	}
	return n
}

// A folder that takes nothing holds nothing, and says why once.
func TestRefused(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{file, filepath.Join(file, "below")} {
		s := New(dir, 1<<20)
		s.Put(KeyOf("a"), []byte("a"))
		err := s.Err()
		s.Put(KeyOf("b"), []byte("b"))
		if _, ok := s.Get(KeyOf("a")); ok || err == nil || s.Err() != err {
			t.Errorf("%s: held %v, %v, then %v", dir, ok, err, s.Err())
		}
	}
	var none *Store
	none.Put(Key{}, nil)
	none.End()
	if _, ok := none.Get(Key{}); ok || none.Err() != nil {
		t.Error("no store holds something")
	}
	// A name that is not a file holds nothing and is not waited for.
	s := New(t.TempDir(), 1<<20)
	if err := os.Mkdir(path(s, Key{}), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, ok := s.Get(Key{}); ok {
		t.Error("a folder is an entry")
	}
	// After its end it keeps nothing, and that is no failure.
	s = New(t.TempDir(), 1<<20)
	s.End()
	s.Put(KeyOf("a"), []byte("a"))
	if _, ok := s.Get(KeyOf("a")); ok || s.Err() != nil {
		t.Errorf("kept after the end: %v, %v", ok, s.Err())
	}
}

// Many stores of one folder at once never see half of an entry.
func TestTogether(t *testing.T) {
	dir := t.TempDir()
	var group sync.WaitGroup
	for n := range 8 {
		group.Go(func() {
			s := New(dir, 40_000) // so that some are swept out all the time
			for i := range 100 {
				k := KeyOf(fmt.Sprint(i % 10))
				want := bytes.Repeat([]byte(fmt.Sprint(i%10)), 5000)
				if got, ok := s.Get(k); ok && !bytes.Equal(got, want) {
					t.Errorf("process %d: entry %d is another", n, i%10)
				}
				s.Put(k, want)
			}
			if s.Err() != nil {
				t.Errorf("process %d: %v", n, s.Err())
			}
		})
	}
	group.Wait()
	left, err := filepath.Glob(filepath.Join(dir, ".busgauss-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// The build ID is what the go command says it is; a file without one, or with a word in its place, is hashed.
func TestProgram(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	name, err := Program()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Program(); again != name || err != nil {
		t.Errorf("%q and then %q, %v", name, again, err)
	}
	printed, err := exec.Command("go", "tool", "buildid", self).Output()
	if err != nil {
		t.Fatal(err)
	}
	if id := strings.TrimSpace(string(printed)); !strings.HasPrefix(name, id+" ") {
		t.Errorf("%q, and the go command says %q", name, id)
	}
	of := func(text string) string {
		id, err := buildOf(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	const id = "abcdefghij0123456789/abcdefghij01234567_9/abcdefghij01234567-9/abcdefghij0123456780"
	if got := of("MZ\xff Go build ID: \"" + id + "\"\n \xff"); got != id {
		t.Errorf("in front of the instructions: %q", got)
	}
	for _, text := range []string{"", "MZ\xff Go build ID: \"redacted\"\n \xff", strings.Repeat("x", 100_000)} {
		if got, want := of(text), fmt.Sprintf("sha256 %x", sha256.Sum256([]byte(text))); got != want {
			t.Errorf("of %d bytes: %q, want %q", len(text), got, want)
		}
	}
}
