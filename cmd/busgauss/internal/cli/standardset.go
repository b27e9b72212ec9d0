package cli

import (
	"bytes"
	"cmp"
	"errors"
	"io/fs"
	"maps"
	"path"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/compare"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/quantity"
	"busgauss/rules/report"
	"busgauss/schema/policyfile"
)

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

// named returns what the files of the standard are called where a verdict names them, which no digest above covers.
func (s *layoutStandard) named() []string {
	if s.set == nil {
		return nil
	}
	var out []string
	for _, source := range s.set.files.Sources {
		if slices.ContainsFunc(s.set.files.Files, func(f *policy.File) bool { return f.Path == source.RootPath }) {
			out = append(out, source.RootPath, source.Path)
		}
	}
	return out
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

	// watched says that files with nearly the name of one of a standard are reported; near are the folders that were looked at.
	watched bool
	near    map[string]bool

	byDir   map[string]policyfile.Paths
	byPaths map[policyfile.Paths]*standardSet
}

func newStandardTree(root fs.FS, show func(string) string) *standardTree {
	return &standardTree{
		root: root, show: show, near: map[string]bool{}, byDir: map[string]policyfile.Paths{}, byPaths: map[policyfile.Paths]*standardSet{},
		known: enforce.Known{Rules: rules.All(), Version: version(), Quantities: quantity.Catalogue(), OfChanges: compare.RuleIDs()},
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
	for dir := path.Dir(layout); t.watched && !t.near[dir]; dir = path.Dir(dir) {
		t.near[dir] = true
	}
	return t.load(t.paths(layout)).of(layout)
}

// nearNames reports what is called nearly like a file of a standard in the folders of layouts and above them.
func (t *standardTree) nearNames() []finding.Finding {
	var read []policy.Source
	for _, set := range t.byPaths {
		read = append(read, set.files.Sources...)
	}
	var out []finding.Finding
	for _, dir := range slices.Sorted(maps.Keys(t.near)) {
		out = append(out, policyfile.NearNames(t.root, dir, read, t.show)...)
	}
	return out
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
		case !sameLines(other.Data, s.Data):
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

// sameLines reports whether two texts are the same but for how lines end: a checkout may write CR LF where the revision has LF,
// and both are one line end of YAML.
func sameLines(a, b []byte) bool {
	plain := func(text []byte) []byte { return bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")) }
	return bytes.Equal(plain(a), plain(b))
}

func (set *standardSet) exists(name string) bool { return set.tree.exists(name) }

// exists reports whether the tree has a file. Only a clear no is a no: what cannot be looked at may be there.
func (t *standardTree) exists(name string) bool {
	_, err := fs.Lstat(t.root, name)
	return err == nil || !errors.Is(err, fs.ErrNotExist)
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
