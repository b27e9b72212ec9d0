package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/compare"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// changedSince narrows a result to what changed since the commit where the work
// tree parted from a revision: verdicts that are new, worse or better. Everything
// was checked; the layouts that differ, or whose standard does, are checked once
// more as they were. counted are the findings that the exit status goes by: those
// that are new or worse, and those that are about no layout, such as a mistake in a
// standard, unless they were there before. Where the revision cannot be had there
// is an error, never a guess.
func changedSince(ctx context.Context, s *Streams, o *checkOptions, finder *standardFinder,
	v *verdicts) (narrowed *report.Result, counted []finding.Finding, err error) {
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	base, err := baseSide(ctx, repository, o.since, "HEAD", ".", false)
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	now, err := v.present(repository, s)
	if err != nil {
		return nil, nil, err
	}
	was, err := base.layouts(ctx, ".")
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	base.tellModules(s)
	found := v.arguments.in(repository, s)
	before := now.comparable(was, repository, found)
	old, err := finder.then(base)
	if err != nil {
		return nil, nil, err
	}
	placeAll(before, old, ".")
	b, a := bareLayouts(before), bareLayouts(now.files)
	settledB, settledA := compare.Settled(b, a)
	then, err := o.checker.before(ctx, before, func(c *candidate) (outcome, string, bool) {
		i, ok := now.outcomeOf[c.key]
		if !ok {
			return outcome{}, "", false
		}
		return v.outcomes[i], v.inputs[i].Path, true
	})
	if err != nil {
		return nil, nil, err
	}
	wasSettled := settle(then.inputs, then.standards, then.outcomes, nil, &o.standardOptions, o.strictBaseline)
	said := byPath(wasSettled.said)
	for i := range b {
		if l := &b[i]; !settledB[l.Path] && l.Refused == "" {
			l.Layout, l.Findings = then.outcomes[i].layoutOf(l.Path, before[i].data), said[l.Path]
		}
	}
	saidNow := byPath(v.settled.said)
	for i := range a {
		if l := &a[i]; !settledA[l.Path] {
			path := now.pathOf[l.Path]
			l.Layout, l.Findings = v.outcomes[now.inputOf[i]].layoutOf(path, now.files[i].data), saidNow[path]
		}
	}
	diff, unnamed, err := since(repository, b, a, found)
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	if len(unnamed) > 0 {
		fmt.Fprintf(s.Err, "busgauss: layouts of %s that are gone from where no argument looks: %d, such as %s\n",
			finding.Clean(o.since), len(unnamed), finding.Clean(unnamed[0]))
	}
	narrowed, counted = narrow(v.result, diff, now.pathOf, wasSettled.about)
	less := weaker{report: diff, day: o.day, shown: func(path string) string {
		if now.pathOf[path] != "" {
			return now.pathOf[path]
		}
		return finder.shown(filepath.Join(repository.Root(), filepath.FromSlash(path)))
	}}
	if err := less.by(finder); err != nil {
		return nil, nil, err
	}
	less.add(narrowed)
	counted = append(counted, less.found...)
	shown := len(narrowed.Findings) + len(narrowed.Passed)
	fmt.Fprintf(s.Err, "busgauss: since %s (%s): %d verdicts changed, of them %d findings that are new or worse; %d others are not shown\n",
		finding.Clean(o.since), base.Commit[:12], shown, len(counted), len(v.result.Findings)+len(v.result.Passed)-shown)
	return narrowed, counted, nil
}

// since compares layouts of a revision with those of the work tree. unnamed are those that are gone from where no argument looks,
// which found tells.
func since(repository *revision.Repository, before, after []compare.Layout, found func(path string) bool) (diff *compare.Report, unnamed []string, err error) {
	root, err := os.OpenRoot(repository.Root())
	if err != nil {
		return nil, nil, err
	}
	defer root.Close() // nothing is written, so its error tells nothing
	diff = compare.Compare(before, after, compare.Options{Rules: rules.All(), Fate: func(path string) string {
		if found(path) {
			return fateIn(root.FS(), path, true)
		}
		if _, err := root.Lstat(filepath.FromSlash(path)); err != nil {
			unnamed = append(unnamed, path)
		}
		return ""
	}})
	return diff, unnamed, nil
}

// present is what was checked, as one side of a comparison.
type present struct {
	files     []candidate
	inputOf   []int             // that each of them is of
	pathOf    map[string]string // of an input, by its path below the root
	outcomeOf map[string]int    // an outcome, by the key of its candidate
}

func (v *verdicts) present(r *revision.Repository, s *Streams) (*present, error) {
	p := &present{pathOf: map[string]string{}, outcomeOf: map[string]int{}}
	for i, in := range v.inputs {
		if in.err != nil {
			continue
		}
		at, err := belowTree(r, s, &in)
		if err != nil {
			return nil, err
		}
		if _, twice := p.pathOf[at]; twice {
			continue
		}
		p.pathOf[at] = in.Path
		c := candidate{path: at, data: in.Data}
		c.place(v.standards[i])
		p.outcomeOf[c.key] = i
		p.files, p.inputOf = append(p.files, c), append(p.inputOf, i)
	}
	return p, nil
}

// comparable returns those layouts of before that what was checked is compared with: what the arguments do not find among them
// and is still there says nothing; what is not there any more may be a layout under its old name.
func (p *present) comparable(was []candidate, r *revision.Repository, found func(path string) bool) []candidate {
	var out []candidate
	for _, c := range was {
		_, given := p.pathOf[c.path]
		if _, err := os.Lstat(filepath.Join(r.Root(), filepath.FromSlash(c.path))); given || found(c.path) || os.IsNotExist(err) {
			out = append(out, c)
		}
	}
	return out
}

// then returns the standards of the tree of a side: those that the user named, or
// else those of the side itself.
func (e *standardFinder) then(d *side) (*standardTree, error) {
	if e.base != nil {
		return e.base, nil
	}
	t := newStandardTree(d.tree, func(name string) string { return name })
	if e.o.file != "" {
		now, err := e.tree(e.here)
		if err != nil {
			return nil, err
		}
		t.fixed, t.problems = now.fixed, now.problems
	}
	return t, nil
}

// before checks candidates as they were. What known knows of the same content under the same standard is not computed
// a second time: it says what that gave, and under which path.
func (c *checker) before(ctx context.Context, before []candidate, known func(*candidate) (outcome, string, bool)) (*verdicts, error) {
	v := &verdicts{}
	had := make([]bool, len(before))
	for i := range before {
		b := &before[i]
		in := input{File: report.File{Path: b.path, RootPath: b.path, Data: b.data}}
		_, _, had[i] = known(b)
		if had[i] = had[i] && b.refused == ""; b.refused != "" || had[i] {
			in.err = errSettled
		}
		v.inputs, v.standards = append(v.inputs, in), append(v.standards, b.standard)
	}
	all := *c
	all.opt, all.watch = engine.Options{NoRemedies: true}, nil
	var err error
	if v.outcomes, err = all.each(ctx, v.inputs, v.standards); err != nil {
		return nil, err
	}
	for i := range before {
		if had[i] {
			got, from, _ := known(&before[i])
			got.said = placed(got.said, from, before[i].path)
			v.inputs[i].err, v.outcomes[i] = nil, got
		}
	}
	return v, nil
}

// errSettled marks a layout that need not be checked.
var errSettled = errors.New("nothing of it changed")

// belowTree returns the path of an input below the root of the repository.
func belowTree(r *revision.Repository, s *Streams, in *input) (string, error) {
	key := in.key
	if key == "" { // standard input, under the name that it was given
		key = filepath.Clean(resolve(s.Dir, filepath.FromSlash(in.Path)))
	}
	dir, ok := underTree(r, filepath.Dir(key))
	if !ok {
		return "", usage("--changed-since: %s is not in the repository", in.Path)
	}
	return strings.TrimPrefix(dir+"/"+filepath.Base(key), "./"), nil
}

// byPath groups findings by the path of their layout.
func byPath(said []finding.Finding) map[string][]finding.Finding {
	out := map[string][]finding.Finding{}
	for _, f := range said {
		out[f.Span.File] = append(out[f.Span.File], f)
	}
	return out
}

// narrow keeps of r what diff says to have changed, with a word on how, and what
// is about no layout that was checked. What was said of deviations and a baseline
// before the change already, in the same words, is left out.
func narrow(r *report.Result, diff *compare.Report, pathOf map[string]string, before []finding.Finding) (*report.Result, []finding.Finding) {
	out := *r
	out.Findings, out.Passed, out.Permitted, out.NotApplicable, out.Assumed = nil, nil, nil, nil, nil
	var counted []finding.Finding
	layouts := map[string]bool{}
	for _, path := range pathOf {
		layouts[path] = true
	}
	for _, f := range r.Findings {
		old := enforce.IsRemark(f.Rule) && slices.ContainsFunc(before, func(b finding.Finding) bool {
			return b.Rule == f.Rule && b.Object == f.Object && b.Message == f.Message
		})
		if !layouts[f.Span.File] && !old {
			out.Findings = append(out.Findings, f)
			counted = append(counted, f)
		}
	}
	touched := map[string]bool{}
	for i := range diff.Pairs {
		p := &diff.Pairs[i]
		if p.After == "" {
			continue
		}
		touched[pathOf[p.After]] = true
		for k := range p.Objects {
			o := &p.Objects[k]
			for n := range o.Checks {
				c := &o.Checks[n]
				if c.After == nil || c.Class == compare.Same {
					continue
				}
				f := *c.After
				f.Message = joined(f.Message, c.Since(o))
				switch f.Verdict {
				case finding.Fail, finding.Undecided:
					out.Findings = append(out.Findings, f)
					if c.Fails(finding.Note) {
						counted = append(counted, f)
					}
				case finding.Pass:
					out.Passed = append(out.Passed, f)
				}
			}
		}
	}
	for _, p := range r.Permitted {
		if touched[p.Finding.Span.File] || !layouts[p.Finding.Span.File] {
			out.Permitted = append(out.Permitted, p)
		}
	}
	for _, a := range r.Assumed {
		if touched[a.Span.File] {
			out.Assumed = append(out.Assumed, a)
		}
	}
	out.Findings, out.Passed = engine.Sorted(out.Findings), engine.Sorted(out.Passed)
	return &out, counted
}

func joined(message, since string) string {
	if message == "" {
		return since
	}
	return message + ". " + engine.Sentence(since)
}
