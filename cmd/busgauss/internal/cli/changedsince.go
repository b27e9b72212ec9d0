package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules/compare"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
)

// changedSince narrows a result to what changed since the commit where the work
// tree parted from a revision: verdicts that are new, worse or better. Everything
// was checked; the layouts that differ are checked once more as they were, with
// run. counted are the findings that the exit status goes by: those that are new
// or worse, and those that are about no layout, such as a mistake in a standard.
// Where the revision cannot be had there is an error, never a guess.
func changedSince(ctx context.Context, s *Streams, rev string, inputs []input, r *report.Result,
	run func([]input) (*report.Result, error)) (narrowed *report.Result, counted []finding.Finding, err error) {
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	base, err := baseSide(ctx, repository, rev, "HEAD", ".", false)
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	var after []candidate
	pathOf := map[string]string{} // of an input, by its path below the root
	for _, in := range inputs {
		if in.err != nil {
			continue
		}
		at, err := belowTree(repository, s, &in)
		if err != nil {
			return nil, nil, err
		}
		if _, twice := pathOf[at]; twice {
			continue
		}
		pathOf[at] = in.Path
		after = append(after, candidate{path: at, data: in.Data, hash: contentHash(in.Data, "")})
	}
	was, err := base.layouts(ctx, ".")
	if err != nil {
		return nil, nil, fmt.Errorf("--changed-since: %w", err)
	}
	// What was not named on the command line and is still there says nothing; what
	// is not there any more may be a layout under its old name.
	var before []candidate
	for _, c := range was {
		_, given := pathOf[c.path]
		if _, err := os.Lstat(filepath.Join(repository.Root(), filepath.FromSlash(c.path))); given || os.IsNotExist(err) {
			before = append(before, c)
		}
	}
	b, a := bareLayouts(before), bareLayouts(after)
	settledB, settledA := compare.Settled(b, a)
	var todo []input
	for _, c := range before {
		if !settledB[c.path] && c.refused == "" {
			todo = append(todo, input{File: report.File{Path: c.path, RootPath: c.path, Data: c.data}})
		}
	}
	old := &report.Result{}
	if len(todo) > 0 {
		if old, err = run(todo); err != nil {
			return nil, nil, err
		}
	}
	said := verdictsByPath(old)
	for i := range b {
		if l := &b[i]; !settledB[l.Path] && l.Refused == "" {
			l.Layout, l.Findings = loaded(l.Path, before[i].data), said[l.Path]
		}
	}
	now := verdictsByPath(r)
	for i := range a {
		if l := &a[i]; !settledA[l.Path] {
			l.Layout, l.Findings = loaded(pathOf[l.Path], after[i].data), now[pathOf[l.Path]]
		}
	}
	diff := compare.Compare(b, a, compare.Options{})
	narrowed, counted = narrow(r, diff, pathOf)
	shown := len(narrowed.Findings) + len(narrowed.Passed)
	fmt.Fprintf(s.Err, "busgauss: since %s (%s): %d verdicts changed, of them %d findings that are new or worse; %d others are not shown\n",
		finding.Clean(rev), base.Commit[:12], shown, len(counted), len(r.Findings)+len(r.Passed)-shown)
	return narrowed, counted, nil
}

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

func loaded(path string, data []byte) *layout.Layout {
	l, _ := load.Load(path, data) // its problems are among the findings
	return l
}

// verdictsByPath groups what a result says by the path of its layout.
func verdictsByPath(r *report.Result) map[string][]finding.Finding {
	out := map[string][]finding.Finding{}
	add := func(f finding.Finding) { out[f.Span.File] = append(out[f.Span.File], f) }
	for _, f := range r.Findings {
		add(f)
	}
	for _, f := range r.Passed {
		add(f)
	}
	for i := range r.Permitted {
		f := r.Permitted[i].Finding
		f.Verdict, f.Level = finding.Permitted, finding.None
		add(f)
	}
	return out
}

// narrow keeps of r what diff says to have changed, with a word on how, and what
// is about no layout that was checked.
func narrow(r *report.Result, diff *compare.Report, pathOf map[string]string) (*report.Result, []finding.Finding) {
	out := *r
	out.Findings, out.Passed, out.Permitted, out.NotApplicable, out.Assumed = nil, nil, nil, nil, nil
	var counted []finding.Finding
	layouts := map[string]bool{}
	for _, path := range pathOf {
		layouts[path] = true
	}
	for _, f := range r.Findings {
		if !layouts[f.Span.File] {
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
	return message + "; " + since
}
