package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"

	"busgauss/schema/node"
)

// What one run reads of layouts, by its names and sizes, before it reads any of it.
const (
	maxInputs    = 50_000         // files
	maxFileBytes = node.MostBytes // one layout
	maxAllBytes  = 128 << 20      // all layouts of a run, of each side where two are compared
	// maxLookedAt is the most of all files that are looked at in folders, those that are no layouts among them.
	maxLookedAt = 4 << 30
	// maxGlanced is the most of one file in a folder that is looked at to see whether it is a layout.
	maxGlanced = 16 << 20
	// maxPartBytes is the largest part that merge reads.
	maxPartBytes = 256 << 20
)

// readPlain reads a plain file of at most so many bytes. What is no plain file, such as a pipe, which would hold the
// program for ever, or a device, which need not end, is refused and nothing of it read; so is a file that changes
// meanwhile.
func readPlain(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if err := refusedKind(info.Mode()); err != nil {
		return nil, err
	}
	// What stands there may have become a pipe since, and opening one waits for who writes to it, unless told not to.
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close() // nothing is written, so its error tells nothing
	return readOpened(f, most)
}

// readBelow is readPlain of a file below a root.
func readBelow(root fs.FS, name string, most int64) ([]byte, error) {
	info, err := fs.Stat(root, name)
	if err == nil {
		err = refusedKind(info.Mode())
	}
	if err != nil {
		return nil, err
	}
	f, err := root.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close() // nothing is written, so its error tells nothing
	return readOpened(f, most)
}

// readOpened reads what readPlain opened.
func readOpened(f fs.File, most int64) ([]byte, error) {
	before, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if err := refusedKind(before.Mode()); err != nil {
		return nil, err
	}
	if before.Size() > most {
		return nil, tooLarge(most)
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, err
	}
	after, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if int64(len(data)) != after.Size() || before.Size() != after.Size() || !before.ModTime().Equal(after.ModTime()) {
		return nil, errors.New("it was changed while it was read: nothing is said of it; run again")
	}
	return data, nil
}

func tooLarge(most int64) error { return fmt.Errorf("it has more than %d bytes", most) }

// refusedKind says why what is of a kind is not read or written; nil for a plain file.
func refusedKind(mode fs.FileMode) error {
	switch {
	case mode.IsRegular():
		return nil
	case mode.IsDir():
		return errors.New("it is a folder")
	case mode&fs.ModeNamedPipe != 0:
		return errors.New("it is a pipe and no plain file")
	case mode&fs.ModeDevice != 0:
		return errors.New("it is a device and no plain file")
	}
	return errors.New("it is no plain file")
}

// shelf reads the files of a run, each once however many links lead to it, within what a run may take.
type shelf struct {
	files    map[string]shelved // by the path without links
	kept     int64              // bytes of layouts
	lookedAt int64              // bytes of all files
}

// shelved is what is known of one file.
type shelved struct {
	data   []byte
	err    error // it cannot be read
	passed bool  // it is no layout, and its data is not kept
}

// beyond is what a run is too large for: it ends, for nobody would know what it left out.
type beyond struct{ what string }

func (b *beyond) Error() string {
	return "there are more than " + b.what + ": name fewer files or folders, or spread them over runs"
}

// read reads a file, which must be a path without links. Where sure is not set only what is a layout counts. An error
// of type beyond is one of the run, all others are of the file.
func (s *shelf) read(real string, sure bool, is func([]byte) bool) (f shelved, stop error) {
	f, had := s.files[real]
	if had && !(sure && f.passed) {
		return f, nil
	}
	if s.files == nil {
		s.files = map[string]shelved{}
	}
	f, stop = s.take(real, sure, is)
	if stop == nil {
		s.files[real] = f
	}
	return f, stop
}

func (s *shelf) take(real string, sure bool, is func([]byte) bool) (f shelved, stop error) {
	info, err := os.Stat(real)
	if err == nil {
		err = refusedKind(info.Mode())
	}
	if err != nil {
		return shelved{err: err}, nil
	}
	most, size := int64(maxFileBytes), info.Size()
	if !sure {
		most = maxGlanced // a list of other things may be longer than a layout, and is passed over
	}
	if size > most {
		return shelved{err: tooLarge(maxFileBytes)}, nil
	}
	if s.lookedAt += size; s.lookedAt > maxLookedAt {
		return f, &beyond{fmt.Sprintf("%d bytes of .yaml, .yml and .json files to look at", int64(maxLookedAt))}
	}
	if s.kept+min(size, maxFileBytes) > maxAllBytes {
		return f, &beyond{fmt.Sprintf("%d bytes of layouts in all", maxAllBytes)}
	}
	data, err := readPlain(real, most)
	switch {
	case err != nil:
		return shelved{err: err}, nil
	case !sure && !is(data):
		return shelved{passed: true}, nil
	case len(data) > maxFileBytes:
		return shelved{err: tooLarge(maxFileBytes)}, nil
	}
	s.kept += int64(len(data))
	return shelved{data: data}, nil
}
