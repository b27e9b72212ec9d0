// Package policyfile reads a house standard, its deviations and its baseline: it
// finds the files upward from a layout, follows what a standard extends, checks
// each file against its published schema, and gives what they say as data with
// places. It reads through a file system that the caller opens at the root of
// the repository, and nothing else. What the words mean for rules is decided in
// rules/standard.
package policyfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
)

// The names of the files that are looked for from the folder of a layout upward.
const (
	StandardName   = "busgauss-standard.yaml"
	DeviationsName = "busgauss-deviations.yaml"
	BaselineName   = "busgauss-baseline.yaml"
)

// IsName reports whether the last part of a path is one of the names above. Such
// a file is no layout.
func IsName(name string) bool {
	switch path.Base(name) {
	case StandardName, DeviationsName, BaselineName:
		return true
	}
	return false
}

// Paths names the files that govern a layout, relative to the root with forward
// slashes; empty where there is none. Equal ones are loaded once.
type Paths struct {
	Standard, Deviations, Baseline string
}

// Find returns the files nearest to a layout: in its folder, or else in the
// folder above, up to the root. layout is relative to the root. A name that is
// there but cannot be read, such as a link to nowhere, counts as found: Load
// then says so instead of passing it over.
func Find(root fs.FS, layout string) Paths {
	var p Paths
	dir := path.Dir(layout)
	if !fs.ValidPath(dir) {
		dir = "."
	}
	for ; ; dir = path.Dir(dir) {
		if info, err := fs.Stat(root, dir); err == nil && info.IsDir() {
			look(root, dir, StandardName, &p.Standard)
			look(root, dir, DeviationsName, &p.Deviations)
			look(root, dir, BaselineName, &p.Baseline)
		}
		if dir == "." {
			return p
		}
	}
}

func look(root fs.FS, dir, name string, found *string) {
	if *found != "" {
		return
	}
	at := path.Join(dir, name)
	if _, err := fs.Lstat(root, at); err == nil || !errors.Is(err, fs.ErrNotExist) {
		*found = at
	}
}

// The largest files that are read.
const (
	maxStandardBytes   = 256 << 10
	maxDeviationsBytes = 4 << 20
	maxBaselineBytes   = 16 << 20
)

// read returns the content of a plain file of at most most bytes. Anything else
// than a plain file is refused before it is opened: a pipe would hold the
// program for ever.
func read(root fs.FS, name string, most int) ([]byte, error) {
	if leadsToGit(root, name) {
		return nil, errors.New("it belongs to git and is not read")
	}
	info, err := fs.Stat(root, name)
	if err != nil {
		return nil, reason(err)
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is not a plain file")
	}
	f, err := root.Open(name)
	if err != nil {
		return nil, reason(err)
	}
	defer f.Close() // nothing is written, so its error tells nothing
	data, err := io.ReadAll(io.LimitReader(f, int64(most)+1))
	if err != nil {
		return nil, reason(err)
	}
	if len(data) > most {
		return nil, fmt.Errorf("it has more than %d bytes", most)
	}
	return data, nil
}

// reason drops the path from a file error, for messages name it themselves, and
// gives what is no file one wording on every system.
func reason(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return errors.New("it does not exist")
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
