// Package store keeps results in a folder, each under a digest of all that it depends on.
//
// An entry is either whole and what was put there under its key, or it does not count: it is found damaged, cut short or of
// another format and computed again. Processes may share a folder. Nothing that goes wrong in a store is an error of
// the work: a result that cannot be kept is kept by nobody, and Err says why.
//
// A checksum tells damage, not forgery: whoever may write to the folder may say what a result is.
package store

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"busgauss/cmd/busgauss/internal/draft"
)

// magic is the first line of an entry. The second is the SHA-256 of the first, the key and all behind the second.
const magic = "busgauss result, format 1\n"

const (
	ending = ".result"
	// mostEntry is the largest entry that is kept or read, in bytes.
	mostEntry = 32 << 20
	// staleAfter is the age at which the temporary file of a process that came to its end is swept out.
	staleAfter = time.Hour
)

// Key names a result.
type Key [sha256.Size]byte

// KeyOf returns the key of texts. No two lists of texts read alike.
func KeyOf(texts ...string) Key {
	sum := sha256.New()
	for _, t := range texts {
		fmt.Fprintf(sum, "%d:%s", len(t), t)
	}
	return Key(sum.Sum(nil))
}

func (k Key) name() string { return hex.EncodeToString(k[:]) + ending }

// Store is a folder of results. It may be used from several goroutines; nil holds nothing and keeps nothing.
type Store struct {
	dir  string
	most int64 // bytes
	now  func() time.Time

	mu    sync.Mutex
	held  int64 // bytes, as far as this process knows; -1: not counted yet
	err   error // why nothing more is kept
	ended bool
}

// New returns the store in a folder, which is made with the first result, of at most so many bytes in all.
func New(dir string, most int64) *Store {
	return &Store{dir: dir, most: most, now: time.Now, held: -1}
}

// Get returns what is kept under a key; false where nothing is, or nothing that is whole.
func (s *Store) Get(key Key) ([]byte, bool) {
	if s == nil {
		return nil, false
	}
	path := filepath.Join(s.dir, key.name())
	info, err := os.Lstat(path)
	if err != nil || !info.Mode().IsRegular() || info.Size() > mostEntry {
		return nil, false
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, false
	}
	body, ok := opened(key, data)
	if ok {
		now := s.now()
		os.Chtimes(path, now, now) // what is used is not old; where that is refused it is swept out sooner
	}
	return body, ok
}

// Put keeps a result. After the first that cannot be kept no other is tried.
func (s *Store) Put(key Key, body []byte) {
	if s == nil {
		return
	}
	data := sealed(key, body)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil || s.ended || len(data) > mostEntry || int64(len(data)) > s.most {
		return
	}
	s.err = s.write(key, data)
}

// End keeps nothing from here on, so that what is still computed after an interrupt leaves no temporary file.
func (s *Store) End() {
	if s == nil {
		return
	}
	s.mu.Lock()
	s.ended = true
	s.mu.Unlock()
}

// Err says why results were not kept; nil where they were.
func (s *Store) Err() error {
	if s == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.err
}

// write writes an entry which gets its name once it is whole, so that no reader sees half of one.
func (s *Store) write(key Key, data []byte) error {
	if s.held < 0 {
		if err := os.MkdirAll(s.dir, 0o700); err != nil {
			return err
		}
		if err := s.sweep(s.most - int64(len(data))); err != nil {
			return err
		}
	}
	d, err := draft.Create(s.dir)
	if err != nil {
		return err
	}
	if n, err := d.Write(data); err != nil || n < len(data) {
		d.Drop()
		return cmp.Or(err, io.ErrShortWrite)
	}
	if err := d.Become(filepath.Join(s.dir, key.name())); err != nil {
		return err
	}
	if s.held += int64(len(data)); s.held > s.most {
		return s.sweep(s.most - s.most/8) // some room, so that not every entry wants a sweep
	}
	return nil
}

// sweep counts what is held, and where that is more than so many bytes takes out what was used longest ago. What
// is not of its making it leaves alone.
func (s *Store) sweep(most int64) error {
	list, err := os.ReadDir(s.dir)
	if err != nil {
		return err
	}
	type entry struct {
		name string
		size int64
		used time.Time
	}
	var entries []entry
	s.held = 0
	for _, e := range list {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() {
			continue // another process took it out
		}
		if ok, _ := filepath.Match(draft.Name, e.Name()); ok && s.now().Sub(info.ModTime()) > staleAfter {
			os.Remove(filepath.Join(s.dir, e.Name()))
			continue
		}
		if isEntry(e.Name()) {
			entries = append(entries, entry{e.Name(), info.Size(), info.ModTime()})
			s.held += info.Size()
		}
	}
	if s.held <= most {
		return nil
	}
	slices.SortFunc(entries, func(a, b entry) int {
		if c := a.used.Compare(b.used); c != 0 {
			return c
		}
		return strings.Compare(a.name, b.name)
	})
	for _, e := range entries {
		if s.held <= most {
			break
		}
		if err := os.Remove(filepath.Join(s.dir, e.name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		s.held -= e.size
	}
	return nil
}

func isEntry(name string) bool {
	digits, ok := strings.CutSuffix(name, ending)
	if !ok || len(digits) != 2*sha256.Size {
		return false
	}
	_, err := hex.DecodeString(digits)
	return err == nil
}

// sealed returns the bytes of an entry.
func sealed(key Key, body []byte) []byte {
	return slices.Concat([]byte(magic), []byte(sumOf(key, body)), []byte("\n"), body)
}

// opened returns what an entry holds; false where it is not whole or not of the key.
func opened(key Key, data []byte) ([]byte, bool) {
	rest, ok := bytes.CutPrefix(data, []byte(magic))
	if !ok {
		return nil, false
	}
	sum, body, ok := bytes.Cut(rest, []byte("\n"))
	if !ok || string(sum) != sumOf(key, body) {
		return nil, false
	}
	return body, true
}

func sumOf(key Key, body []byte) string {
	sum := sha256.New()
	io.WriteString(sum, magic) // a hash takes everything
	sum.Write(key[:])
	sum.Write(body)
	return hex.EncodeToString(sum.Sum(nil))
}
