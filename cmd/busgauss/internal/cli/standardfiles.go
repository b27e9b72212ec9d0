package cli

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"github.com/spf13/pflag"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/policy"
	"busgauss/schema/policyfile"
)

// standardOptions say which house standard counts, and on which day.
type standardOptions struct {
	file, from, date string
	day              policy.Date
}

func (o *standardOptions) flags(f *pflag.FlagSet) {
	f.StringVar(&o.file, "standard", "",
		"house standard `FILE` for all layouts, in place of the nearest "+policyfile.StandardName+" above each")
	f.StringVar(&o.from, "standard-from", "", "take standard, deviations and baseline from revision `REV`, so that a change cannot loosen its own limits")
	f.StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
}

// firstDay is that of the first lines of this program: a clock that shows an earlier one was never set.
var firstDay = policy.Day(2026, 1, 1)

// parse reads the day. The clock is asked only when none is given, and only
// deviations look at it: one that was never set would let them hold for ever.
func (o *standardOptions) parse(s *Streams) error {
	if o.date == "" {
		now := s.now().UTC()
		if o.day = policy.Day(now.Year(), int(now.Month()), now.Day()); o.day < firstDay {
			return usage("the clock says %s, which is before this program was written: set it, or give the day of the run with --date", o.day)
		}
		return nil
	}
	day, err := policy.ParseDate(o.date)
	if err != nil {
		return usage("--date: %v", err)
	}
	o.day = day
	return nil
}

// standardFinder finds the standard of every input of a command.
type standardFinder struct {
	s       *Streams
	o       *standardOptions
	here    string                   // root of the working directory
	trees   map[string]*standardTree // by root
	base    *standardTree            // of --standard-from
	rev     *revision.Repository
	closers []*os.Root
	// over is laid over the files below a root, where texts are open that are not saved; nil: nothing is.
	over func(root string, under fs.FS) fs.FS
}

// openStandards prepares to look for standards. The caller closes it.
func openStandards(ctx context.Context, s *Streams, o *standardOptions) (*standardFinder, error) {
	e := &standardFinder{s: s, o: o, here: repositoryRoot(s.Dir), trees: map[string]*standardTree{}}
	if o.from == "" {
		return e, nil
	}
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		return nil, fmt.Errorf("--standard-from: %w", err)
	}
	// The tip and not the commit where the two parted: an old branch must not have
	// the looser limits of its day.
	c, err := repository.Resolve(ctx, o.from)
	if err != nil {
		return nil, fmt.Errorf("--standard-from: %w", err)
	}
	tree, err := repository.Tree(ctx, c)
	if err != nil {
		return nil, fmt.Errorf("--standard-from: %w", err)
	}
	e.rev = repository
	e.base = newStandardTree(tree, func(name string) string {
		was, err := fs.ReadFile(tree, name)
		if err == nil {
			if now, err := readPlain(filepath.Join(repository.Root(), filepath.FromSlash(name)), maxGlanced); err == nil && string(was) == string(now) {
				return e.shown(filepath.Join(repository.Root(), filepath.FromSlash(name)))
			}
		}
		return o.from + ":" + name
	})
	if o.file != "" {
		full := resolve(s.Dir, o.file)
		dir, ok := underTree(repository, filepath.Dir(full))
		if !ok {
			return nil, usage("--standard %s: it is not in the repository, so --standard-from has none of it", o.file)
		}
		e.base.fix(tree, path.Join(dir, filepath.Base(full)), e.base.show, false)
	}
	return e, nil
}

func (e *standardFinder) close() {
	for _, r := range e.closers {
		r.Close() // nothing is written, so its error tells nothing
	}
}

// shown returns a path as the user would write it here.
func (e *standardFinder) shown(full string) string {
	if rel, err := filepath.Rel(e.s.Dir, full); err == nil {
		return filepath.ToSlash(rel)
	}
	return filepath.ToSlash(full)
}

// tree returns the standards of the work tree below a root.
func (e *standardFinder) tree(root string) (*standardTree, error) {
	if t := e.trees[root]; t != nil {
		return t, nil
	}
	opened, err := os.OpenRoot(root)
	if err != nil {
		return nil, fmt.Errorf("open folder %s: %w", e.shown(root), plain(err))
	}
	e.closers = append(e.closers, opened)
	t := newStandardTree(e.files(root, opened),
		func(name string) string { return e.shown(filepath.Join(root, filepath.FromSlash(name))) })
	t.watched = true
	if e.o.file != "" {
		if err := e.fix(t, root); err != nil {
			return nil, err
		}
	}
	e.trees[root] = t
	return t, nil
}

// files returns the files below a root.
func (e *standardFinder) files(root string, opened *os.Root) fs.FS {
	if e.over == nil {
		return opened.FS()
	}
	return e.over(root, opened.FS())
}

// fix gives a tree the standard that the user named, wherever it stands.
func (e *standardFinder) fix(t *standardTree, root string) error {
	full := filepath.Clean(resolve(e.s.Dir, e.o.file))
	if info, err := os.Stat(full); err != nil {
		return fmt.Errorf("--standard %s: %w", e.o.file, plain(err))
	} else if info.IsDir() {
		return usage("--standard %s: name a file, not a folder", e.o.file)
	}
	if rel, ok := below(root, full); ok {
		t.fix(t.root, rel, t.show, false)
		return nil
	}
	dir := filepath.Dir(full)
	if above := repositoryRoot(dir); above != dir {
		dir = above // what it extends may stand beside its folder
	}
	opened, err := os.OpenRoot(dir)
	if err != nil {
		return fmt.Errorf("--standard %s: %w", e.o.file, plain(err))
	}
	e.closers = append(e.closers, opened)
	rel, _ := below(dir, full)
	t.fix(e.files(dir, opened), rel, func(name string) string { return e.shown(filepath.Join(dir, filepath.FromSlash(name))) }, true)
	return nil
}

// rooted returns the root that a file belongs to and its path below it. A file that
// stands elsewhere belongs to its own repository.
func (e *standardFinder) rooted(full string) (root, name string) {
	root = e.here
	name, ok := below(root, full)
	if !ok {
		root = repositoryRoot(filepath.Dir(full))
		name, _ = below(root, full)
	}
	return root, name
}

// standards returns the standard of every input. With --standard-from it is that of the
// revision, and its head is that of the work tree.
func (e *standardFinder) standards(inputs []input) ([]layoutStandard, error) {
	out := make([]layoutStandard, len(inputs))
	for i := range inputs {
		s, err := e.of(&inputs[i])
		if err != nil {
			return nil, err
		}
		out[i] = s
	}
	return out, nil
}

func (e *standardFinder) of(in *input) (layoutStandard, error) {
	root, layout := e.here, in.RootPath
	if in.key != "" {
		root, layout = e.rooted(in.key)
	}
	t, err := e.tree(root)
	if err != nil {
		return layoutStandard{}, err
	}
	head := t.of(layout)
	if e.base == nil {
		return head, nil
	}
	at, err := belowTree(e.rev, e.s, in)
	if err != nil {
		return layoutStandard{}, usage("--standard-from: %s is not in the repository", in.Path)
	}
	s := e.base.of(at)
	s.set.head = head.set
	return s, nil
}

// split divides what was named on the command line into layouts and files of a
// standard, and returns the sets to which those files belong.
func (e *standardFinder) split(inputs []input) (layouts []input, sets []*standardSet, err error) {
	for _, in := range inputs {
		if !in.Governs {
			layouts = append(layouts, in)
			continue
		}
		root, name := e.rooted(in.key)
		t, err := e.tree(root)
		if err != nil {
			return nil, nil, err
		}
		p := t.paths(name)
		switch path.Base(name) {
		case policyfile.StandardName:
			p.Standard = name
		case policyfile.DeviationsName:
			p.Deviations = name
		case policyfile.BaselineName:
			p.Baseline = name
		}
		sets = append(sets, t.load(p))
	}
	return layouts, sets, nil
}
