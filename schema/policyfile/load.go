package policyfile

import (
	"cmp"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/schema"
	"busgauss/schema/node"
)

// Options steer Load. The zero value is usable.
type Options struct {
	// Show gives the path that messages use for a path below the root. Default:
	// the path below the root.
	Show func(string) string
	// Outside says that the files do not stand in the tree of the layouts: paths
	// and globs of layouts in them are then relative to the root of the layouts.
	Outside bool
}

const (
	maxExtended = 32 // files that one standard may extend in all
	maxDeep     = 8  // levels of extends
)

// Load reads the files named by p and all that the standard extends. Problems
// are sorted; where one has the level error the set is marked broken. A set
// without files is what the program does by itself.
func Load(root fs.FS, p Paths, o Options) (*policy.Set, []finding.Finding) {
	l := &loader{root: root, options: o, set: &policy.Set{}, presets: map[string]*policy.File{},
		seen: map[string]bool{}}
	if o.Show == nil {
		l.options.Show = func(name string) string { return name }
	}
	if p.Standard != "" {
		l.chain(p.Standard, span.Span{}, nil)
	}
	for _, f := range l.set.Files {
		for _, c := range f.Classes {
			l.preset(c.Preset.Value)
		}
	}
	if p.Deviations != "" {
		if r := l.open(p.Deviations, span.Span{}, maxDeviationsBytes); r != nil {
			l.set.Deviations = r.deviations()
			l.close(r)
		}
	}
	if p.Baseline != "" {
		if r := l.open(p.Baseline, span.Span{}, maxBaselineBytes); r != nil {
			l.set.Baseline = r.baseline()
			l.close(r)
		}
	}
	slices.SortStableFunc(l.findings, compare)
	l.findings = slices.CompactFunc(l.findings, func(a, b finding.Finding) bool { return compare(a, b) == 0 })
	l.set.Broken = slices.ContainsFunc(l.findings, func(f finding.Finding) bool { return f.Level == finding.Error })
	slices.SortFunc(l.set.Sources, func(a, b policy.Source) int { return cmp.Compare(a.RootPath, b.RootPath) })
	return l.set, l.findings
}

func compare(a, b finding.Finding) int {
	return cmp.Or(
		cmp.Compare(a.Span.File, b.Span.File),
		cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
		cmp.Compare(a.Span.Start.Column, b.Span.Start.Column),
		cmp.Compare(a.Rule, b.Rule),
		cmp.Compare(a.Message, b.Message))
}

type loader struct {
	root     fs.FS
	options  Options
	set      *policy.Set
	presets  map[string]*policy.File
	seen     map[string]bool
	findings []finding.Finding
}

func (l *loader) problem(at span.Span, rule, remedy, format string, args ...any) {
	l.findings = append(l.findings, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: finding.Error, Span: at,
		Message: fmt.Sprintf(format, args...), Remedy: remedy,
	})
}

// open reads a file below the root. from is the text that names it; without one
// the problem is shown at the start of the file itself.
func (l *loader) open(name string, from span.Span, most int) *reader {
	shown := l.options.Show(name)
	data, err := read(l.root, name, most)
	if err != nil {
		at := from
		if !at.Valid() {
			first := span.Pos{Line: 1, Column: 1}
			at = span.Span{File: shown, Start: first, End: first}
		}
		l.problem(at, ruleFile, "", "%s cannot be read: %v", quote(name), err)
		return nil
	}
	l.set.Sources = append(l.set.Sources, policy.Source{Path: shown, RootPath: name, Data: data})
	dir := path.Dir(name)
	if l.options.Outside {
		dir = "."
	}
	r := newReader(shown, dir, data, node.Limits{Bytes: most, Nodes: 2_000_000, Depth: 20})
	if r.root == nil {
		l.close(r)
		return nil
	}
	return r
}

func (l *loader) close(r *reader) { l.findings = append(l.findings, r.findings...) }

// chain reads a standard after all that it extends, each file once. stack holds
// the files that led here.
func (l *loader) chain(name string, from span.Span, stack []string) {
	if i := slices.Index(stack, name); i >= 0 {
		l.problem(from, ruleExtends, "remove one of the links",
			"the standards extend each other in a circle: %s", clip(strings.Join(append(slices.Clone(stack[i:]), name), " → ")))
		return
	}
	if l.seen[name] {
		return
	}
	l.seen[name] = true
	if len(l.seen) > maxExtended || len(stack) >= maxDeep {
		l.problem(from, ruleExtends, "", "standards extend each other over more than %d files or %d levels", maxExtended, maxDeep)
		return
	}
	r := l.open(name, from, maxStandardBytes)
	if r == nil {
		return
	}
	f := r.standard(name)
	l.close(r)
	stack = append(stack, name)
	for _, e := range f.Extends {
		l.extend(name, e, stack)
	}
	l.set.Files = append(l.set.Files, f)
}

// extend follows one link of the standard called name.
func (l *loader) extend(name string, e policy.Text, stack []string) {
	if !strings.ContainsAny(e.Value, "./\\") {
		p := l.preset(e.Value)
		if p == nil {
			l.problem(e.Span, ruleExtends, "", "%s", word.Then(
				"no built-in preset is called "+quote(e.Value)+word.DidYouMean(e.Value, Presets()),
				"There are "+strings.Join(Presets(), ", ")+", and a file is named with its ending"))
			return
		}
		if !slices.Contains(l.set.Files, p) {
			l.set.Files = append(l.set.Files, p)
		}
		return
	}
	to, why := inside(path.Dir(name), e.Value)
	if why != "" {
		l.problem(e.Span, ruleExtends, "", "%s: %s", quote(e.Value), why)
		return
	}
	l.chain(to, e.Span, stack)
}

// inside joins a folder of the root and a path that a file says, and says why
// the path is refused; empty when it is not.
func inside(dir, name string) (joined, why string) {
	switch {
	case strings.Contains(name, `\`):
		return "", "write forward slashes"
	case path.IsAbs(name) || len(name) > 1 && name[1] == ':':
		return "", "a path is relative to the folder of its file"
	}
	joined = path.Join(dir, name)
	if !fs.ValidPath(joined) {
		return "", "the path leads out of the root"
	}
	return joined, ""
}

// preset returns a built-in standard, nil when there is none of that name, and
// keeps it for classes.
func (l *loader) preset(name string) *policy.File {
	if p, ok := l.presets[name]; ok {
		return p
	}
	data, ok := Preset(name)
	if !ok {
		return nil
	}
	r := newReader(builtInPath(name), ".", data, node.Limits{})
	if r.root == nil || len(r.findings) > 0 {
		panic("policyfile: a built-in preset does not fit the format")
	}
	p := r.standard(name)
	p.BuiltIn = true
	l.presets[name] = p
	l.set.Presets = append(l.set.Presets, p)
	return p
}

// newReader parses a file and checks it against the schema of its format, which
// its first key names.
func newReader(shown, dir string, data []byte, limits node.Limits) *reader {
	root, problems := node.Parse(shown, data, limits)
	return &reader{path: shown, dir: dir, lines: splitLines(data), root: root, findings: problems}
}

// shape checks the tree against the schema of a format. The tree is then read
// as far as it goes, so that one slip does not hide the next.
func (r *reader) shape(format string) {
	if r.root.Kind != node.Map {
		r.problem(r.root.Span, ruleForm, "", "expected a mapping, found a %s", r.root.Kind)
		return
	}
	leaves, err := schema.ValidateAs(format, r.root.Value())
	if err != nil {
		// The file is plain data, so this is a fault of the program; the file
		// must not pass for it.
		r.problem(r.root.Span, ruleForm, "", "the file cannot be checked against its schema: %v", err)
		return
	}
	for _, leaf := range leaves {
		r.leaf(format, leaf)
	}
}

// number returns the value of a plain number; the parser has judged its form.
func number(n *node.Node) (float64, bool) {
	if n == nil || n.Kind != node.Number {
		return 0, false
	}
	v, err := strconv.ParseFloat(n.Text, 64)
	return v, err == nil
}
