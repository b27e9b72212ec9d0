package cli

import (
	"cmp"
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/pflag"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/quantity"
	"busgauss/rules/report"
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

// parse reads the day. The clock is asked only when none is given, and only
// deviations look at it.
func (o *standardOptions) parse() error {
	if o.date == "" {
		now := time.Now().UTC()
		o.day = policy.Day(now.Year(), int(now.Month()), now.Day())
		return nil
	}
	day, err := policy.ParseDate(o.date)
	if err != nil {
		return usage("--date: %v", err)
	}
	o.day = day
	return nil
}

// standardSet is a house standard with its deviations and its baseline: what a
// group of layouts is judged by.
type standardSet struct {
	tree      *standardTree
	paths     policyfile.Paths
	files     *policy.Set
	effective *enforce.Effective // nil where a file has an error
	problems  []finding.Finding
	// head is the set of the work tree, where this one is taken from a revision.
	head *standardSet
}

// layoutStandard is the standard that one layout is judged by. The zero value judges
// by the defaults.
type layoutStandard struct {
	set    *standardSet
	layout string // its path below the root of the set's tree
	view   *enforce.View
}

// judging and permitting are digests of what a verdict depends on beside the layout.
func (s *layoutStandard) judging() string {
	switch {
	case s.set == nil:
		return ""
	case s.view == nil:
		return "broken: " + s.set.firstError().File
	}
	return s.view.Judging()
}

func (s *layoutStandard) permitting() string {
	if s.view == nil {
		return ""
	}
	return s.view.Permitting()
}

func (set *standardSet) firstError() span.Span {
	for _, f := range set.problems {
		if f.Level == finding.Error {
			return f.Span
		}
	}
	return span.Span{}
}

// standardTree is a folder or a revision in which standards are looked for.
type standardTree struct {
	root fs.FS
	// show gives the path that messages use for a path below the root.
	show  func(string) string
	known enforce.Known
	// fixed is the standard that the user named, and what is wrong with it; nil:
	// the nearest one counts.
	fixed    *policy.Set
	problems []finding.Finding

	byDir   map[string]policyfile.Paths
	byPaths map[policyfile.Paths]*standardSet
}

func newStandardTree(root fs.FS, show func(string) string) *standardTree {
	return &standardTree{
		root: root, show: show, byDir: map[string]policyfile.Paths{}, byPaths: map[policyfile.Paths]*standardSet{},
		known: enforce.Known{Rules: rules.All(), Version: version(), Quantities: quantity.Catalogue()},
	}
}

// fix makes a named file of a tree the standard of all layouts. Paths in a file
// that stands outside the tree of the layouts are relative to that tree.
func (t *standardTree) fix(root fs.FS, name string, show func(string) string, outside bool) {
	t.fixed, t.problems = policyfile.Load(root, policyfile.Paths{Standard: name},
		policyfile.Options{Show: show, Outside: outside})
}

// paths returns the files that govern a layout.
func (t *standardTree) paths(layout string) policyfile.Paths {
	dir := path.Dir(layout)
	p, ok := t.byDir[dir]
	if !ok {
		p = policyfile.Find(t.root, layout)
		t.byDir[dir] = p
	}
	if t.fixed != nil {
		p.Standard = ""
	}
	return p
}

// of returns the standard of a layout, named by its path below the root.
func (t *standardTree) of(layout string) layoutStandard {
	return t.load(t.paths(layout)).of(layout)
}

// of returns the standard of one layout of the set.
func (set *standardSet) of(layout string) layoutStandard {
	s := layoutStandard{set: set, layout: layout}
	if set.effective != nil {
		s.view = set.effective.For(layout)
	}
	return s
}

func (t *standardTree) load(p policyfile.Paths) *standardSet {
	if set := t.byPaths[p]; set != nil {
		return set
	}
	read, problems := policyfile.Load(t.root, p, policyfile.Options{Show: t.show})
	if t.fixed != nil {
		problems = append(slices.Clone(t.problems), problems...)
		read = &policy.Set{
			Files: t.fixed.Files, Presets: t.fixed.Presets, Deviations: read.Deviations, Baseline: read.Baseline,
			Sources: append(slices.Clone(t.fixed.Sources), read.Sources...), Broken: t.fixed.Broken || read.Broken,
		}
		slices.SortFunc(read.Sources, func(a, b policy.Source) int { return cmp.Compare(a.RootPath, b.RootPath) })
	}
	effective, more := enforce.New(read, t.known)
	set := &standardSet{tree: t, paths: p, files: read, effective: effective,
		problems: engine.Sorted(append(problems, more...))}
	t.byPaths[p] = set
	return set
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
			if now, err := os.ReadFile(filepath.Join(repository.Root(), filepath.FromSlash(name))); err == nil && string(was) == string(now) {
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
	t := newStandardTree(opened.FS(),
		func(name string) string { return e.shown(filepath.Join(root, filepath.FromSlash(name))) })
	if e.o.file != "" {
		if err := e.fix(t, root); err != nil {
			return nil, err
		}
	}
	e.trees[root] = t
	return t, nil
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
	t.fix(opened.FS(), rel, func(name string) string { return e.shown(filepath.Join(dir, filepath.FromSlash(name))) }, true)
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

// changes reports the files of a set that differ from those of the revision by
// which its layouts are judged.
func (set *standardSet) changes(rev string) []finding.Finding {
	if set.head == nil {
		return nil
	}
	var out []finding.Finding
	was, now := sourcesOf(set), sourcesOf(set.head)
	say := func(s policy.Source, how string) {
		shown := set.head.tree.show(s.RootPath)
		first := span.Pos{Line: 1, Column: 1}
		out = append(out, enforce.Changed(span.Span{File: shown, Start: first, End: first}, shown, how, rev))
	}
	for _, s := range set.files.Sources {
		other, there := now[s.RootPath]
		switch {
		case !there && set.head.exists(s.RootPath):
			say(s, "is not what governs the layouts here any more")
		case !there:
			say(s, "is gone")
		case string(other.Data) != string(s.Data):
			say(s, "is changed")
		}
	}
	for _, s := range set.head.files.Sources {
		if _, there := was[s.RootPath]; !there {
			say(s, "is new")
		}
	}
	return out
}

func (set *standardSet) exists(name string) bool {
	_, err := fs.Lstat(set.tree.root, name)
	return err == nil
}

func sourcesOf(set *standardSet) map[string]policy.Source {
	out := map[string]policy.Source{}
	for _, s := range set.files.Sources {
		out[s.RootPath] = s
	}
	return out
}

// reportFiles returns the files of a set for a report.
func (set *standardSet) reportFiles() []report.File {
	var out []report.File
	for _, s := range set.files.Sources {
		out = append(out, report.File{Path: s.Path, RootPath: s.RootPath, Data: s.Data, Governs: true})
	}
	if set.head != nil {
		out = append(out, set.head.reportFiles()...)
	}
	return out
}
