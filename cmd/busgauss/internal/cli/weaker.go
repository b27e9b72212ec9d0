package cli

import (
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/model/glob"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules/compare"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// judge returns the standard as comparing asks for it, nil where the defaults judge.
func (s *layoutStandard) judge() compare.Standard {
	if s.view == nil {
		return nil
	}
	return s.view
}

// weaker says what a change takes from the checks, less what deviations permit.
type weaker struct {
	report *compare.Report
	day    policy.Date
	of     func(path string) layoutStandard // the standard now of a layout, by its path below the root
	shown  func(path string) string         // nil: as it is

	found     []finding.Finding
	permitted []report.Permission
}

// by settles with the deviations by which what is there now is judged.
func (w *weaker) by(finder *standardFinder) error {
	t := finder.base
	if t == nil {
		var err error
		if t, err = finder.tree(finder.here); err != nil {
			return err
		}
	}
	w.of = t.of
	w.settle()
	return nil
}

func (w *weaker) settle() {
	if w.shown == nil {
		w.shown = func(path string) string { return path }
	}
	for i := range w.report.Pairs {
		p := &w.report.Pairs[i]
		if len(p.Weaker) == 0 {
			continue
		}
		standard := w.of(p.Path())
		files := []string{standard.layout}
		if p.Before != "" && p.After != "" && p.Before != p.After {
			files = append(files, w.of(p.Before).layout)
		}
		taken := map[span.Span]int{} // place in permitted, by deviation
		w.found = append(w.found, p.Findings(w.shown, func(n *compare.Weakening) bool {
			if standard.set == nil || standard.set.effective == nil {
				return false
			}
			by, ok := standard.set.effective.OfChange(files, n.Rule, n.Objects, append(slices.Clone(n.Causes), n.About), w.day)
			if ok {
				w.permit(taken, p, n, &by)
			}
			return ok
		})...)
	}
	w.found = engine.Sorted(w.found)
	slices.SortStableFunc(w.permitted, func(a, b report.Permission) int { return engine.Compare(a.Finding, b.Finding) })
}

// tell settles, and tells the report of it.
func (w *weaker) tell() {
	w.settle()
	w.report.Weaker = w.found
	for i := range w.permitted {
		w.report.WeakerPermitted = append(w.report.WeakerPermitted, w.permitted[i].Finding)
	}
}

// permit notes that a deviation permits one thing: all that it permits of a layout is one finding.
func (w *weaker) permit(taken map[span.Span]int, p *compare.Pair, n *compare.Weakening, by *enforce.Permission) {
	if i, again := taken[by.Span]; again {
		w.permitted[i].Finding.Details = append(w.permitted[i].Finding.Details, finding.Clean(n.Text))
		return
	}
	first := span.Pos{Line: 1, Column: 1}
	by.Finding = finding.Finding{Rule: n.Rule, Verdict: finding.Permitted, Span: span.Span{File: w.shown(p.Path()), Start: first, End: first},
		Message: n.Text, Details: []string{finding.Clean(n.Text)}, Related: []finding.Related{{Span: by.Span, Message: "permitted here"}}}
	if len(n.Objects) > 0 {
		by.Finding.Object = n.Objects[len(n.Objects)-1]
	}
	by.Was, by.Level = finding.Fail, finding.Error
	taken[by.Span] = len(w.permitted)
	w.permitted = append(w.permitted, permission(by))
}

// add puts what was found into a result.
func (w *weaker) add(r *report.Result) {
	r.Findings = engine.Sorted(append(slices.Clone(r.Findings), w.found...))
	r.Permitted = append(slices.Clone(r.Permitted), w.permitted...)
	slices.SortStableFunc(r.Permitted, func(a, b report.Permission) int { return engine.Compare(a.Finding, b.Finding) })
	r.Rules = append(slices.Clone(r.Rules), paged(compare.Problems())...)
	slices.SortStableFunc(r.Rules, func(a, b finding.Description) int { return strings.Compare(a.ID, b.ID) })
}

// fate says what became of a layout that is not found on the side of the head.
func (d *side) fate(name string) string { return fateIn(d.files, name, false) }

// fateIn says what became of a file that was a layout and is not found as one any more; asked says that arguments name what
// is looked for, so that it may be there without being found. A link, which may lead anywhere, is not followed.
func fateIn(files fs.FS, name string, asked bool) string {
	info, err := fs.Lstat(files, name)
	switch {
	case err != nil || info.IsDir():
		return "is gone"
	case info.Mode()&fs.ModeSymlink != 0:
		return "is a link now, which is not read"
	case !asked || !layoutName(name) || !info.Mode().IsRegular():
		return "is no layout any more"
	}
	if data, err := readBelow(files, name, maxGlanced); err == nil && load.Recognize(data) {
		return "is not found by the same arguments any more"
	}
	return "is no layout any more"
}

// arguments are the files, folders and patterns that the command line names.
type arguments []string

// in returns what says whether the arguments would find a layout of a revision, by its path below the root.
func (a arguments) in(r *revision.Repository, s *Streams) func(path string) bool {
	type place struct {
		at   string
		rest *glob.Pattern // of what is below it; nil for all that is there
	}
	var places []place
	add := func(full string, rest *glob.Pattern) {
		full = filepath.Clean(full)
		if policyfile.IsName(full) {
			full = filepath.Dir(full) // what it governs
		}
		dir, inside := underTree(r, filepath.Dir(full))
		if inside {
			places = append(places, place{path.Join(dir, filepath.Base(full)), rest})
		}
		if real, inside := underTree(r, full); inside { // the root, and links
			places = append(places, place{real, rest})
		}
	}
	for _, arg := range a {
		if arg == "-" {
			continue
		}
		arg = strings.TrimSuffix(filepath.ToSlash(arg), "/...")
		add(resolve(s.Dir, filepath.FromSlash(arg)), nil)
		if !glob.Special(arg) {
			continue
		}
		base, pattern := glob.Split(arg)
		if rest, err := glob.Compile(pattern); err == nil {
			add(resolve(s.Dir, filepath.FromSlash(base)), rest)
		}
	}
	return func(name string) bool {
		for _, p := range places {
			below := name
			if p.at != "." {
				var ok bool
				if below, ok = strings.CutPrefix(name, p.at); !ok || below != "" && below[0] != '/' {
					continue
				}
				below = strings.TrimPrefix(below, "/")
			}
			if p.rest == nil || p.rest.Match(below) {
				return true
			}
		}
		return false
	}
}
