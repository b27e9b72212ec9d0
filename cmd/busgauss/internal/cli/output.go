package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"busgauss/cmd/busgauss/internal/draft"
	"busgauss/model/finding"
)

// target is one --output FORMAT=FILE.
type target struct {
	format, path string
}

// parseTargets reads the values of --output.
func parseTargets(values, formats []string) ([]target, error) {
	var out []target
	for _, v := range values {
		format, path, ok := strings.Cut(v, "=")
		if !ok || path == "" {
			return nil, usage("--output %q: write FORMAT=FILE, such as sarif=busgauss.sarif", v)
		}
		if !slices.Contains(formats, format) {
			return nil, unknownFormat("--output", format, formats)
		}
		if path == "-" {
			return nil, usage("--output %s: standard output takes one report; write --format %s", v, format)
		}
		for _, t := range out {
			if filepath.Clean(t.path) == filepath.Clean(path) {
				return nil, usage("--output: %s is named twice", path)
			}
		}
		out = append(out, target{format, path})
	}
	return out, nil
}

func unknownFormat(option, format string, formats []string) error {
	return usage("%s: format %q is unknown; %s would do", option, format, strings.Join(formats, ", "))
}

// writeFile writes what print prints to path: first to a temporary name in the
// same folder, or to none, then by renaming, so that a reader never sees half a report and
// an old report survives a failure. The path "-" is standard output.
func writeFile(s *Streams, path string, print func(io.Writer) error) error {
	if path == "-" {
		if err := buffered(print)(s.Out); err != nil {
			return fmt.Errorf("write standard output: %w", plain(err))
		}
		return nil
	}
	full := resolve(s.Dir, path)
	if why := trapped(s, full); why != "" {
		return fmt.Errorf("write %s: %s", path, why)
	}
	// Elsewhere a link keeps pointing where it points; a pipe or a device is neither written to, which could wait for ever, nor
	// replaced by a file.
	if real, err := filepath.EvalSymlinks(full); err == nil {
		full = real
	}
	if info, err := os.Stat(full); err == nil {
		if err := refusedKind(info.Mode()); err != nil {
			return fmt.Errorf("write %s: %w", path, err)
		}
	}
	d, err := s.drafts.create(filepath.Dir(full))
	if err == nil {
		defer s.drafts.forget(d)
		err = written(d, full, print)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, plain(err))
	}
	return nil
}

// written writes a draft and makes it the file at a path.
func written(d *draft.Draft, path string, print func(io.Writer) error) error {
	err := buffered(print)(d)
	if err == nil {
		err = d.Chmod(0o644)
	}
	if err != nil {
		d.Drop()
		return err
	}
	return d.Become(path)
}

// writing is one output of a command.
type writing struct {
	path  string
	print func(io.Writer) error
}

// writeAll writes outputs, each whatever becomes of the others.
func writeAll(s *Streams, list []writing) error {
	var failed []error
	for _, w := range list {
		if err := writeFile(s, w.path, w.print); err != nil {
			failed = append(failed, err)
		}
	}
	return lastOf(s, failed)
}

// lastOf names on standard error all errors but the last, which it returns; nil where there is none.
func lastOf(s *Streams, failed []error) error {
	if len(failed) == 0 {
		return nil
	}
	for _, err := range failed[:len(failed)-1] {
		fmt.Fprintf(s.Err, "busgauss: %s\n", finding.Clean(err.Error()))
	}
	return failed[len(failed)-1]
}

// buffered returns print with what it writes gathered in pieces.
func buffered(print func(io.Writer) error) func(io.Writer) error {
	return func(w io.Writer) error {
		out := bufio.NewWriterSize(w, 64<<10)
		if err := print(out); err != nil {
			return err
		}
		return out.Flush()
	}
}

// trapped says why nothing is written to a path: a stranger's branch may hold, where a report is to be written, a link to
// another file, or in the place of a folder one that leads out of the root or into what belongs to git. Empty where it
// is no such thing. Links outside of every repository are those of the user, such as /dev/stdout.
func trapped(s *Streams, full string) string {
	root := repositoryRoot(s.Dir)
	if _, inside := below(root, full); !inside {
		root = repositoryRoot(filepath.Dir(full))
		if _, err := os.Lstat(filepath.Join(root, ".git")); err != nil {
			return ""
		}
	}
	if info, err := os.Lstat(full); err == nil && info.Mode()&os.ModeSymlink != 0 {
		if real, err := filepath.EvalSymlinks(full); err != nil || !staysBelow(root, real) {
			return "it is a link that leads out of the root, which is not followed"
		}
		return "it is a link, which is not followed: remove it, or name the file that it points to"
	}
	// The folders on the way, as far as they are there.
	real := realPath(filepath.Dir(full))
	switch {
	case !staysBelow(root, real):
		return "a folder on the way is a link that leads out of the root, which is not followed"
	case belongsToGit(realPath(root), real) && !belongsToGit(root, full):
		return "a folder on the way is a link into .git, which is not followed"
	}
	return ""
}

// staysBelow reports whether a path without links stands below a root.
func staysBelow(root, real string) bool {
	home, err := filepath.EvalSymlinks(root)
	if err != nil {
		return false
	}
	_, inside := below(home, real)
	return inside
}

// belongsToGit reports whether a path stands in .git below a root, whichever way that is spelt.
func belongsToGit(root, path string) bool {
	rel, inside := below(root, path)
	return inside && slices.ContainsFunc(strings.Split(rel, "/"), func(part string) bool { return strings.EqualFold(part, ".git") })
}

// writeOut writes to standard output.
func writeOut(s *Streams, data []byte) error {
	n, err := s.Out.Write(data)
	if err == nil && n < len(data) {
		err = io.ErrShortWrite
	}
	if err != nil {
		return fmt.Errorf("write standard output: %w", plain(err))
	}
	return nil
}

// watched keeps the first error of a writer, for help, version and completion
// are printed by code that drops it.
type watched struct {
	w   io.Writer
	err error
}

func (w *watched) Write(p []byte) (int, error) {
	n, err := w.w.Write(p)
	if w.err == nil {
		w.err = err
	}
	return n, err
}

// drafts are the files that are being written. The zero value has none; nil remembers none.
type drafts struct {
	mu   sync.Mutex
	open map[*draft.Draft]bool
	over bool // after an interrupt: none is made any more
}

func (t *drafts) create(dir string) (*draft.Draft, error) {
	if t == nil {
		return draft.Create(dir)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.over {
		return nil, context.Canceled
	}
	d, err := draft.Create(dir)
	if err == nil {
		if t.open == nil {
			t.open = map[*draft.Draft]bool{}
		}
		t.open[d] = true
	}
	return d, err
}

func (t *drafts) forget(d *draft.Draft) {
	if t == nil {
		return
	}
	t.mu.Lock()
	delete(t.open, d)
	t.mu.Unlock()
}

// drop drops what is there, for whoever writes it is not waited for.
func (t *drafts) drop() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.over = true
	for d := range t.open {
		d.Drop()
	}
}
