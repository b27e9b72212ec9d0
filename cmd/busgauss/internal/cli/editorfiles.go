package cli

import (
	"bytes"
	"io/fs"
	"path/filepath"
	"sync"
	"time"
)

// unsavedFS is a folder in which texts that are open in an editor stand in the place of files.
type unsavedFS struct {
	fs.FS
	root string
	j    *editorJudge // whose lock is held
}

func (u *unsavedFS) unsaved(name string) ([]byte, bool) {
	text, ok := u.j.unsent[filepath.Clean(filepath.Join(u.root, filepath.FromSlash(name)))]
	return text, ok
}

// Open implements fs.FS.
func (u *unsavedFS) Open(name string) (fs.File, error) {
	if text, ok := u.unsaved(name); ok {
		return &unsavedFile{*bytes.NewReader(text), filepath.Base(name)}, nil
	}
	return u.FS.Open(name)
}

// Stat implements fs.StatFS.
func (u *unsavedFS) Stat(name string) (fs.FileInfo, error) {
	if text, ok := u.unsaved(name); ok {
		return &unsavedFile{*bytes.NewReader(text), filepath.Base(name)}, nil
	}
	return fs.Stat(u.FS, name)
}

// Lstat implements fs.ReadLinkFS, with ReadLink.
func (u *unsavedFS) Lstat(name string) (fs.FileInfo, error) {
	if _, ok := u.unsaved(name); ok {
		return u.Stat(name)
	}
	return fs.Lstat(u.FS, name)
}

// ReadLink implements fs.ReadLinkFS.
func (u *unsavedFS) ReadLink(name string) (string, error) {
	return fs.ReadLink(u.FS, name)
}

// unsavedFile is a text as a file, and what there is to know of it.
type unsavedFile struct {
	bytes.Reader
	name string
}

func (f *unsavedFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *unsavedFile) Close() error               { return nil }
func (f *unsavedFile) Name() string               { return f.name }
func (f *unsavedFile) Mode() fs.FileMode          { return 0o444 }
func (f *unsavedFile) ModTime() time.Time         { return time.Time{} }
func (f *unsavedFile) IsDir() bool                { return false }
func (f *unsavedFile) Sys() any                   { return nil }

// mostRecent is the most bytes of answers that are kept in memory.
const mostRecent = 64 << 20

// recentAnswers keep what plane sections answered, so that a text that changes nothing in them is not solved again.
// What came first goes first.
type recentAnswers struct {
	mu    sync.Mutex
	of    map[string][]byte
	order []string
	bytes int
}

func (r *recentAnswers) get(key string) ([]byte, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	body, ok := r.of[key]
	return body, ok
}

func (r *recentAnswers) put(key string, body []byte) {
	if len(body) > mostAnswers {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.of == nil {
		r.of = map[string][]byte{}
	}
	if _, again := r.of[key]; !again {
		r.order = append(r.order, key)
	}
	r.bytes += len(body) - len(r.of[key])
	r.of[key] = body
	for r.bytes > mostRecent {
		r.bytes -= len(r.of[r.order[0]])
		delete(r.of, r.order[0])
		r.order = r.order[1:]
	}
}
