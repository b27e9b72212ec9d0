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
	"strings"
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
	f.StringVar(&o.file, "standard", "", "house standard `FILE` for all layouts, in place of the nearest "+policyfile.StandardName+" above each")
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

// house is what governs a group of layouts: a standard, deviations and a baseline.
type house struct {
	tree      *houseTree
	paths     policyfile.Paths
	set       *policy.Set
	effective *enforce.Effective // nil where a file has an error
	problems  []finding.Finding
	// head is what the work tree has in its place, where this one is of a revision.
	head *house
}

// seat is a layout in its house. The zero value is a layout that nothing governs.
type seat struct {
	house  *house
	layout string // the path that the house knows it by
	view   *enforce.View
}

// judging and permitting are digests of what a verdict hangs on beside the layout.
func (s *seat) judging() string {
	switch {
	case s.house == nil:
		return ""
	case s.view == nil:
		return "broken: " + s.house.firstError().File
	}
	return s.view.Judging()
}

func (s *seat) permitting() string {
	if s.view == nil {
		return ""
	}
	return s.view.Permitting()
}

func (h *house) firstError() span.Span {
	for _, f := range h.problems {
		if f.Level == finding.Error {
			return f.Span
		}
	}
	return span.Span{}
}

// houseTree is a folder or a revision in which houses are looked for.
type houseTree struct {
	root fs.FS
	// show gives the path that messages use for a path below the root.
	show  func(string) string
	known enforce.Known
	// fixed is the standard that the user named, and what is wrong with it; nil:
	// the nearest one counts.
	fixed    *policy.Set
	problems []finding.Finding

	byDir   map[string]policyfile.Paths
	byPaths map[policyfile.Paths]*house
}

func newHouseTree(root fs.FS, show func(string) string) *houseTree {
	return &houseTree{
		root: root, show: show, byDir: map[string]policyfile.Paths{}, byPaths: map[policyfile.Paths]*house{},
		known: enforce.Known{Rules: rules.All(), Version: version(), Quantities: quantity.Catalogue()},
	}
}

// fix makes a named file of a tree the standard of all layouts. Paths in a file
// that stands outside the tree of the layouts are relative to that tree.
func (t *houseTree) fix(root fs.FS, name string, show func(string) string, outside bool) {
	t.fixed, t.problems = policyfile.Load(root, policyfile.Paths{Standard: name}, policyfile.Options{Show: show, Outside: outside})
}

// paths returns the files that govern a layout.
func (t *houseTree) paths(layout string) policyfile.Paths {
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

// seat returns the place of a layout, named by its path below the root.
func (t *houseTree) seat(layout string) seat {
	h := t.house(t.paths(layout))
	s := seat{house: h, layout: layout}
	if h.effective != nil {
		s.view = h.effective.For(layout)
	}
	return s
}

func (t *houseTree) house(p policyfile.Paths) *house {
	if h := t.byPaths[p]; h != nil {
		return h
	}
	set, problems := policyfile.Load(t.root, p, policyfile.Options{Show: t.show})
	if t.fixed != nil {
		problems = append(slices.Clone(t.problems), problems...)
		set = &policy.Set{
			Files: t.fixed.Files, Presets: t.fixed.Presets, Deviations: set.Deviations, Baseline: set.Baseline,
			Sources: append(slices.Clone(t.fixed.Sources), set.Sources...), Broken: t.fixed.Broken || set.Broken,
		}
		slices.SortFunc(set.Sources, func(a, b policy.Source) int { return cmp.Compare(a.RootPath, b.RootPath) })
	}
	effective, more := enforce.New(set, t.known)
	h := &house{tree: t, paths: p, set: set, effective: effective, problems: engine.Sorted(append(problems, more...))}
	t.byPaths[p] = h
	return h
}

// estate finds the house of every input of a command.
type estate struct {
	s       *Streams
	o       *standardOptions
	here    string                // root of the working directory
	trees   map[string]*houseTree // by root
	base    *houseTree            // of --standard-from
	rev     *revision.Repository
	closers []*os.Root
}

// openEstate prepares to look for houses. The caller closes it.
func openEstate(ctx context.Context, s *Streams, o *standardOptions) (*estate, error) {
	e := &estate{s: s, o: o, here: repositoryRoot(s.Dir), trees: map[string]*houseTree{}}
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
	e.base = newHouseTree(tree, func(name string) string {
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

func (e *estate) close() {
	for _, r := range e.closers {
		r.Close() // nothing is written, so its error tells nothing
	}
}

// shown returns a path as the user would write it here.
func (e *estate) shown(full string) string {
	if rel, err := filepath.Rel(e.s.Dir, full); err == nil {
		return filepath.ToSlash(rel)
	}
	return filepath.ToSlash(full)
}

// tree returns the houses of the work tree below a root.
func (e *estate) tree(root string) (*houseTree, error) {
	if t := e.trees[root]; t != nil {
		return t, nil
	}
	opened, err := os.OpenRoot(root)
	if err != nil {
		return nil, fmt.Errorf("open folder %s: %w", e.shown(root), plain(err))
	}
	e.closers = append(e.closers, opened)
	t := newHouseTree(opened.FS(), func(name string) string { return e.shown(filepath.Join(root, filepath.FromSlash(name))) })
	if e.o.file != "" {
		if err := e.fix(t, root); err != nil {
			return nil, err
		}
	}
	e.trees[root] = t
	return t, nil
}

// fix gives a tree the standard that the user named, wherever it stands.
func (e *estate) fix(t *houseTree, root string) error {
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

// below returns a path relative to a root with forward slashes, and false for one
// that is not below it.
func below(root, full string) (string, bool) {
	rel, err := filepath.Rel(root, full)
	if err != nil || rel == ".." || strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return "", false
	}
	return filepath.ToSlash(rel), true
}

// seats returns the house of every input. With --standard-from it is that of the
// revision, and what the work tree has in its place hangs on it.
func (e *estate) seats(inputs []input) ([]seat, error) {
	out := make([]seat, len(inputs))
	for i := range inputs {
		s, err := e.seat(&inputs[i])
		if err != nil {
			return nil, err
		}
		out[i] = s
	}
	return out, nil
}

func (e *estate) seat(in *input) (seat, error) {
	root, layout := e.here, in.RootPath
	if in.key != "" {
		rel, ok := below(root, in.key)
		if !ok { // a layout of somewhere else has the standard of its own repository
			root = repositoryRoot(filepath.Dir(in.key))
			rel, _ = below(root, in.key)
		}
		layout = rel
	}
	t, err := e.tree(root)
	if err != nil {
		return seat{}, err
	}
	head := t.seat(layout)
	if e.base == nil {
		return head, nil
	}
	at, err := belowTree(e.rev, e.s, in)
	if err != nil {
		return seat{}, usage("--standard-from: %s is not in the repository", in.Path)
	}
	s := e.base.seat(at)
	s.house.head = head.house
	return s, nil
}

// governing parts what was named on the command line into layouts and the houses
// of standards, deviations and baselines that were named themselves.
func (e *estate) governing(inputs []input) (layouts []input, houses []*house, err error) {
	for _, in := range inputs {
		if !in.Governs {
			layouts = append(layouts, in)
			continue
		}
		root := e.here
		name, ok := below(root, in.key)
		if !ok {
			root = repositoryRoot(filepath.Dir(in.key))
			name, _ = below(root, in.key)
		}
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
		houses = append(houses, t.house(p))
	}
	return layouts, houses, nil
}

// changes reports the files of a house that differ from those of the revision by
// which its layouts are judged.
func (h *house) changes(rev string) []finding.Finding {
	if h.head == nil {
		return nil
	}
	var out []finding.Finding
	was, now := sourcesOf(h), sourcesOf(h.head)
	say := func(s policy.Source, how string) {
		shown := h.head.tree.show(s.RootPath)
		first := span.Pos{Line: 1, Column: 1}
		out = append(out, enforce.Changed(span.Span{File: shown, Start: first, End: first}, shown, how, rev))
	}
	for _, s := range h.set.Sources {
		other, there := now[s.RootPath]
		switch {
		case !there && h.head.exists(s.RootPath):
			say(s, "is not what governs the layouts here any more")
		case !there:
			say(s, "is gone")
		case string(other.Data) != string(s.Data):
			say(s, "is changed")
		}
	}
	for _, s := range h.head.set.Sources {
		if _, there := was[s.RootPath]; !there {
			say(s, "is new")
		}
	}
	return out
}

func (h *house) exists(name string) bool {
	_, err := fs.Lstat(h.tree.root, name)
	return err == nil
}

func sourcesOf(h *house) map[string]policy.Source {
	out := map[string]policy.Source{}
	for _, s := range h.set.Sources {
		out[s.RootPath] = s
	}
	return out
}

// reportFiles returns the files of a house for a report.
func (h *house) reportFiles() []report.File {
	var out []report.File
	for _, s := range h.set.Sources {
		out = append(out, report.File{Path: s.Path, RootPath: s.RootPath, Data: s.Data, Governs: true})
	}
	if h.head != nil {
		out = append(out, h.head.reportFiles()...)
	}
	return out
}
