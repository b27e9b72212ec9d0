package revision

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// blob is the content of a file, or why it is not read.
type blob struct {
	data []byte
	err  error
}

// Fetch reads many files in one run of git, so that opening them later costs
// nothing. Names that are no plain files, and files above the ceiling, are passed
// over: opening them says why.
func (t *Tree) Fetch(names []string) error {
	r := t.repository
	r.mu.Lock()
	defer r.mu.Unlock()
	var want []*entry
	asked := map[string]bool{}
	for _, name := range names {
		e := t.entries[name]
		if e == nil || e.mode.IsDir() || e.refused() != nil || asked[e.object] {
			continue
		}
		if _, have := r.blobs[e.object]; have {
			continue
		}
		asked[e.object] = true
		want = append(want, e)
	}
	return r.read(t.ctx, want)
}

// blob returns the content of a file, which belongs to the repository.
func (r *Repository) blob(ctx context.Context, e *entry) ([]byte, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, have := r.blobs[e.object]; !have {
		if err := r.read(ctx, []*entry{e}); err != nil {
			return nil, err
		}
	}
	b := r.blobs[e.object]
	return b.data, b.err
}

// read reads objects by their names, which git does not convert, filter or
// follow.
func (r *Repository) read(ctx context.Context, want []*entry) error {
	if len(want) == 0 {
		return nil
	}
	var names strings.Builder
	for _, e := range want {
		names.WriteString(e.object + "\n")
	}
	err := r.git.stream(ctx, strings.NewReader(names.String()), func(out io.Reader) error {
		in := bufio.NewReader(out)
		for _, e := range want {
			b, err := r.object(in, e)
			if err != nil {
				return err
			}
			r.blobs[e.object] = b
		}
		return nil
	}, "cat-file", "--batch")
	var f *failure
	if errors.As(err, &f) && (strings.Contains(f.said, "fetch") || strings.Contains(f.said, "promisor") || strings.Contains(f.said, "transport")) {
		return errPartial
	}
	return err
}

// errPartial says that a clone left out what is asked for.
var errPartial = errors.New("this clone is partial and lacks the content of files of that revision, which are not fetched from here: " +
	"clone without a filter, or check the revision out once")

// object reads "object type size", the content and a line feed.
func (r *Repository) object(in *bufio.Reader, e *entry) (blob, error) {
	head, err := in.ReadString('\n')
	if err != nil {
		return blob{}, errShort
	}
	field := strings.Fields(head)
	if len(field) == 2 && field[1] == "missing" {
		return blob{}, errPartial
	}
	if len(field) != 3 || field[0] != e.object || field[1] != "blob" {
		return blob{}, errForm
	}
	size, err := strconv.ParseInt(field[2], 10, 64)
	if err != nil || size < 0 {
		return blob{}, errForm
	}
	if size > r.git.limits.FileBytes {
		if _, err := io.CopyN(io.Discard, in, size+1); err != nil {
			return blob{}, errShort
		}
		return blob{err: fmt.Errorf("it has more than %d bytes", r.git.limits.FileBytes)}, nil
	}
	if r.taken += size; r.taken > r.git.limits.AllBytes {
		return blob{}, fmt.Errorf("the files to be read have more than %d bytes in all", r.git.limits.AllBytes)
	}
	data := make([]byte, size)
	if _, err := io.ReadFull(in, data); err != nil {
		return blob{}, errShort
	}
	if end, err := in.ReadByte(); err != nil || end != '\n' {
		return blob{}, errForm
	}
	return blob{data: data}, nil
}

var (
	errShort = errors.New("git ended before it gave every file")
	errForm  = errors.New("git gives a file in a form that is not known")
)
