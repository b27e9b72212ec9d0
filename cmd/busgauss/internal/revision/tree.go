package revision

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// The reasons for which an entry of a revision is not read.
var (
	ErrLink   = errors.New("it is a symbolic link, which is not followed")
	ErrModule = errors.New("it is another repository, which is not entered")
)

// Tree is one revision as a file system: fs.FS with folders, plain files, links
// that are not followed and modules that are not entered. Nothing of it is on the
// disk, so no name can lead out of it. A Tree may be used by many goroutines.
type Tree struct {
	repository *Repository
	ctx        context.Context // Open has no other way to be stopped
	Commit     Commit
	entries    map[string]*entry
}

var (
	_ fs.ReadDirFS  = (*Tree)(nil)
	_ fs.ReadFileFS = (*Tree)(nil)
	_ fs.ReadLinkFS = (*Tree)(nil)
)

type entry struct {
	name     string // its last part
	mode     fs.FileMode
	object   string
	children []*entry // of a folder, by name
}

// Tree lists a revision. ctx also ends later reading from it.
func (r *Repository) Tree(ctx context.Context, c Commit) (*Tree, error) {
	out, err := r.git.run(ctx, r.git.limits.ListBytes, nil, "ls-tree", "-r", "-z", "--full-tree", "--end-of-options", c.ID)
	if err != nil {
		return nil, fmt.Errorf("list revision %s: %w", quote(c.Name), err)
	}
	t := &Tree{repository: r, ctx: ctx, Commit: c}
	if err := t.fill(out, r.git.limits.Entries); err != nil {
		return nil, fmt.Errorf("list revision %s: %w", quote(c.Name), err)
	}
	return t, nil
}

// fill makes the entries of t out of what git lists, at most so many files.
func (t *Tree) fill(out []byte, most int) error {
	t.entries = map[string]*entry{".": {name: ".", mode: fs.ModeDir | 0o555}}
	n := 0
	for line := range bytes.SplitSeq(bytes.TrimSuffix(out, []byte{0}), []byte{0}) {
		if len(line) == 0 {
			continue // an empty revision
		}
		if n++; n > most {
			return fmt.Errorf("it has more than %d files", most)
		}
		if err := t.add(string(line)); err != nil {
			return err
		}
	}
	for _, e := range t.entries {
		slices.SortFunc(e.children, func(a, b *entry) int { return strings.Compare(a.name, b.name) })
	}
	return nil
}

// add reads "mode type object<TAB>path". Sizes are not asked for: a partial clone
// does not have them all.
func (t *Tree) add(line string) error {
	head, name, ok := strings.Cut(line, "\t")
	field := strings.Fields(head)
	if !ok || len(field) != 3 || !objectID.MatchString(field[2]) {
		return errors.New("git lists it in a form that is not known")
	}
	// A name that is not UTF-8 has no place in a file system of Go, here or in the work tree, so that nothing is read by it: it is
	// left out. What may govern layouts must not be lost so.
	if !utf8.ValidString(name) {
		if base := path.Base(name); strings.HasPrefix(base, "busgauss-") {
			return fmt.Errorf("the name %s is not UTF-8, and the file may govern layouts", quote(name))
		}
		return nil
	}
	// Git itself makes no such names; a crafted object may hold them.
	if !fs.ValidPath(name) || name == "." {
		return fmt.Errorf("the name %s is not one of a file below the root", quote(name))
	}
	e := &entry{name: path.Base(name), object: field[2], mode: 0o444}
	switch field[0] {
	case "120000":
		e.mode = fs.ModeSymlink | 0o444
	case "160000":
		e.mode = fs.ModeIrregular
	}
	if t.entries[name] != nil {
		return fmt.Errorf("the name %s stands twice", quote(name))
	}
	t.entries[name] = e
	for child := e; ; {
		dir := path.Dir(name)
		parent := t.entries[dir]
		if parent != nil {
			if !parent.mode.IsDir() {
				return fmt.Errorf("%s is a file and a folder", quote(dir))
			}
			parent.children = append(parent.children, child)
			return nil
		}
		parent = &entry{name: path.Base(dir), mode: fs.ModeDir | 0o555, children: []*entry{child}}
		t.entries[dir] = parent
		child, name = parent, dir
	}
}

// find returns an entry; links on the way to it are not followed.
func (t *Tree) find(op, name string) (*entry, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: op, Path: name, Err: fs.ErrInvalid}
	}
	e := t.entries[name]
	if e == nil {
		return nil, &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
	}
	return e, nil
}

// refused returns why an entry is not read; nil when it is.
func (e *entry) refused() error {
	switch {
	case e.mode&fs.ModeSymlink != 0:
		return ErrLink
	case e.mode&fs.ModeIrregular != 0:
		return ErrModule
	}
	return nil
}

// Open opens a file or a folder. A link or a module is refused.
func (t *Tree) Open(name string) (fs.File, error) {
	e, err := t.find("open", name)
	if err != nil {
		return nil, err
	}
	if err := e.refused(); err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	if e.mode.IsDir() {
		return &folder{tree: t, entry: e}, nil
	}
	data, err := t.repository.blob(t.ctx, e)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return &file{Reader: bytes.NewReader(data), tree: t, entry: e}, nil
}

// ReadFile returns the content of a file.
func (t *Tree) ReadFile(name string) ([]byte, error) {
	e, err := t.find("read", name)
	if err != nil {
		return nil, err
	}
	if err := e.refused(); err != nil {
		return nil, &fs.PathError{Op: "read", Path: name, Err: err}
	}
	if e.mode.IsDir() {
		return nil, &fs.PathError{Op: "read", Path: name, Err: errors.New("it is a folder")}
	}
	data, err := t.repository.blob(t.ctx, e)
	if err != nil {
		return nil, &fs.PathError{Op: "read", Path: name, Err: err}
	}
	return bytes.Clone(data), nil
}

// ReadDir returns the entries of a folder by name.
func (t *Tree) ReadDir(name string) ([]fs.DirEntry, error) {
	e, err := t.find("readdir", name)
	if err != nil {
		return nil, err
	}
	if !e.mode.IsDir() {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: errors.New("it is not a folder")}
	}
	return t.list(e), nil
}

func (t *Tree) list(e *entry) []fs.DirEntry {
	out := make([]fs.DirEntry, len(e.children))
	for i, c := range e.children {
		out[i] = fs.FileInfoToDirEntry(info{t, c})
	}
	return out
}

// Stat describes a file or a folder. A link is refused, since what it points to
// is not looked at.
func (t *Tree) Stat(name string) (fs.FileInfo, error) {
	e, err := t.find("stat", name)
	if err == nil && e.mode&fs.ModeSymlink != 0 {
		err = &fs.PathError{Op: "stat", Path: name, Err: ErrLink}
	}
	if err != nil {
		return nil, err
	}
	return info{t, e}, nil
}

// Lstat describes an entry of any kind.
func (t *Tree) Lstat(name string) (fs.FileInfo, error) {
	e, err := t.find("lstat", name)
	if err != nil {
		return nil, err
	}
	return info{t, e}, nil
}

// ReadLink does not say where a link points.
func (t *Tree) ReadLink(name string) (string, error) {
	_, err := t.find("readlink", name)
	if err == nil {
		err = &fs.PathError{Op: "readlink", Path: name, Err: ErrLink}
	}
	return "", err
}

// Object returns the name under which git keeps the content of a file: equal
// names are equal contents. Empty where there is no plain file.
func (t *Tree) Object(name string) string {
	e := t.entries[name]
	if e == nil || e.refused() != nil {
		return ""
	}
	return e.object
}

// info describes an entry. Times are not those of a file, so there is none.
type info struct {
	t *Tree
	e *entry
}

func (i info) Name() string       { return i.e.name }
func (i info) Mode() fs.FileMode  { return i.e.mode }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return i.e.mode.IsDir() }
func (i info) Sys() any           { return nil }

// Size reads a plain file and returns its length, 0 where it cannot be read.
func (i info) Size() int64 {
	if !i.e.mode.IsRegular() {
		return 0
	}
	data, _ := i.t.repository.blob(i.t.ctx, i.e) // opening the file says why not
	return int64(len(data))
}

type file struct {
	*bytes.Reader
	tree  *Tree
	entry *entry
}

func (f *file) Stat() (fs.FileInfo, error) { return info{f.tree, f.entry}, nil }
func (f *file) Close() error               { return nil }

type folder struct {
	tree  *Tree
	entry *entry
	at    int
}

func (f *folder) Stat() (fs.FileInfo, error) { return info{f.tree, f.entry}, nil }
func (f *folder) Close() error               { return nil }

func (f *folder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: f.entry.name, Err: errors.New("it is a folder")}
}

func (f *folder) ReadDir(n int) ([]fs.DirEntry, error) {
	rest := f.tree.list(f.entry)[f.at:]
	if n > 0 {
		if len(rest) == 0 {
			return nil, io.EOF
		}
		rest = rest[:min(n, len(rest))]
	}
	f.at += len(rest)
	return rest, nil
}
