// Package draft writes a file so that nobody sees half of it: it gets its name once it is whole. Where the system can
// hold a file without a name, a program that is killed leaves nothing behind; elsewhere it leaves a file with a name
// of the form Name.
package draft

import (
	"errors"
	"io/fs"
	"os"
)

// Name is the form of the names of drafts that have one.
const Name = ".busgauss-*"

// Draft is a file that is not whole yet.
type Draft struct {
	*os.File
	dir  string
	name string // empty: it has none
}

// Create makes a draft in the folder in which the file will stand.
func Create(dir string) (*Draft, error) {
	if f := unnamed(dir); f != nil {
		return &Draft{File: f, dir: dir}, nil
	}
	f, err := os.CreateTemp(dir, Name)
	if err != nil {
		return nil, err
	}
	return &Draft{f, dir, f.Name()}, nil
}

// Become closes the draft and gives it a path in its folder, in the place of a file that is there. After an error
// nothing is left of it.
func (d *Draft) Become(path string) error {
	if d.name == "" {
		switch err := link(d.File, path); {
		case err == nil:
			return d.Close()
		case !errors.Is(err, fs.ErrExist):
			d.Drop()
			return err
		}
		// A link replaces nothing, so it stands under a name of its own for a moment.
		if err := d.borrow(); err != nil {
			d.Drop()
			return err
		}
	}
	err := d.Close()
	if err == nil {
		err = os.Rename(d.name, path)
	}
	if err != nil {
		os.Remove(d.name) // the error says why
	}
	return err
}

// borrow gives a draft without a name one that is free.
func (d *Draft) borrow() error {
	for {
		f, err := os.CreateTemp(d.dir, Name)
		if err != nil {
			return err
		}
		f.Close() // nothing was written
		if err := os.Remove(f.Name()); err != nil {
			return err
		}
		if err := link(d.File, f.Name()); err == nil {
			d.name = f.Name()
			return nil
		} else if !errors.Is(err, fs.ErrExist) {
			return err
		}
	}
}

// Drop closes the draft and leaves nothing of it. It may be called at any time before Become.
func (d *Draft) Drop() {
	d.Close() // nothing of it is wanted
	if d.name != "" {
		os.Remove(d.name)
	}
}
