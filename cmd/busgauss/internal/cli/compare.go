package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/compare"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// compareFormats are the formats of compare.
var compareFormats = []string{"text", "json", "markdown"}

type compareOptions struct {
	format, failLevel, under string
	outputs                  []string
	exact, all               bool
	standardOptions
	storeOptions
	workOptions
	checker checker // what tests change of it
}

func newCompare(s *Streams) *cobra.Command {
	var o compareOptions
	c := &cobra.Command{
		Use:   "compare [flags] BASE [HEAD]",
		Short: "say what a change did to the margins",
		Long: `Compare checks the layouts that differ between two folders or git revisions and says
for each channel what became of its margins: worse, new, better, gone. A channel that
was not touched itself is there too when a bar, a shield or a duty beside it was. Layouts
and objects that were moved or renamed are recognised.

BASE and HEAD are folders, or else revisions of the repository that holds the working
directory. HEAD is the work tree when it is left out. A revision as BASE stands for the
commit where HEAD parted from it, as hosts compare a request; --exact takes its tip.

Each side is judged by its own house standard, deviations and baseline, unless
--standard or --standard-from names others for both.

Exit status 1: a finding at or above the fail level is new, or was there and got worse; a
layout cannot be read any more or is gone; checks that were made are not made any more; a
limit lets more pass than before. What was there before and is no worse does not count. A
deviation that names the rule checks-gone, layout-gone or limit-looser accepts the like.`,
		Example: `  busgauss compare main
  busgauss compare --format markdown origin/main HEAD
  busgauss compare old/hardware new/hardware`,
		ValidArgsFunction: revisionsBeside(s),
		RunE:              func(c *cobra.Command, args []string) error { return compareCommand(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.StringVarP(&o.format, "format", "f", "text", "`FORMAT` on standard output: text, json, markdown")
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write another report, as `FORMAT=FILE` (may be repeated)")
	f.StringVar(&o.failLevel, "fail-level", "warning", "lowest `LEVEL` of a new or worse finding that gives exit status 1: none (never), note, warning, error")
	f.BoolVar(&o.exact, "exact", false, "compare with BASE itself, not with where HEAD parted from it")
	f.BoolVar(&o.all, "all", false, "check and list what is the same too")
	f.StringVar(&o.under, "under", ".", "compare what lies below `FOLDER` of both sides alone")
	o.standardOptions.flags(f)
	o.storeOptions.flags(f)
	o.workOptions.flags(f)
	complete(c, "format", compareFormats)
	completeTargets(c, compareFormats)
	complete(c, "fail-level", []string{"none", "note", "warning", "error"})
	return c
}

// said reads what arguments and flags say: the fail level, the reports to write, and the folder below both sides.
func (o *compareOptions) said(s *Streams, args []string) (level finding.Level, targets []target, under string, err error) {
	if len(args) == 0 || len(args) > 2 {
		return 0, nil, "", usage("compare: name two folders or revisions, or one revision to compare the work tree with")
	}
	level, ok := finding.ParseLevel(o.failLevel)
	if !ok {
		return 0, nil, "", usage("--fail-level %q: none, note, warning or error would do", o.failLevel)
	}
	if !slices.Contains(compareFormats, o.format) {
		return 0, nil, "", unknownFormat("--format", o.format, compareFormats)
	}
	targets, err = parseTargets(o.outputs, compareFormats)
	if err != nil {
		return 0, nil, "", err
	}
	under = path.Clean(filepath.ToSlash(o.under))
	if !fs.ValidPath(under) {
		return 0, nil, "", usage("--under %s: name a folder below both sides", o.under)
	}
	return level, targets, under, o.standardOptions.parse(s)
}

func compareCommand(ctx context.Context, s *Streams, o *compareOptions, args []string) error {
	level, targets, under, err := o.said(s, args)
	if err != nil {
		return err
	}
	finder, err := openStandards(ctx, s, &o.standardOptions)
	if err != nil {
		return stopped(ctx, err)
	}
	defer finder.close()
	base, head, renamed, err := openSides(ctx, s, args, o.exact)
	if errors.Is(err, revision.ErrNoCommon) {
		err = fmt.Errorf("%w; --exact compares the two as they are", err)
	}
	if err != nil {
		return stopped(ctx, err)
	}
	defer base.close()
	defer head.close()
	before, err := base.layouts(ctx, under)
	if err != nil {
		return stopped(ctx, err)
	}
	after, err := head.layouts(ctx, under)
	if err != nil {
		return stopped(ctx, err)
	}
	base.tellModules(s)
	head.tellModules(s)
	if _, _, err := finder.place(base, before); err != nil {
		return err
	}
	standards, in, err := finder.place(head, after)
	if err != nil {
		return err
	}
	if len(before)+len(after) == 0 {
		return usage("compare: no layout on either side: a layout is a .yaml, .yml or .json file with a key such as \"layout\" or \"bars\"")
	}
	for _, t := range targets {
		if base.holds(before, resolve(s.Dir, t.path)) || head.holds(after, resolve(s.Dir, t.path)) {
			return usage("--output %s=%s: the report would overwrite the layout", t.format, t.path)
		}
	}
	var folders []string
	for _, d := range []*side{base, head} {
		if d.dir != "" {
			folders = append(folders, d.dir)
		}
	}
	if o.checker.results, err = o.storeOptions.open(s, folders...); err != nil {
		return err
	}
	defer o.checker.results.close(s)
	b, a, err := checkSides(ctx, s, before, after, o)
	var cut *interrupt
	if err != nil && !errors.As(err, &cut) {
		return err
	}
	if cut != nil && len(targets) > 0 {
		cut.what += "; no report of --output is written"
		targets = nil
	}
	r := compare.Compare(b, a, compare.Options{Renamed: renamed, All: o.all, Rules: rules.All(), Fate: head.fate})
	r.Base, r.Head = base.Side, head.Side
	less := weaker{report: r, day: o.day, of: func(name string) layoutStandard { return standards.of(path.Join(in, name)) }}
	less.tell()
	if err := o.print(s, targets, r, level); err != nil {
		return &failure{statusTrouble, err}
	}
	if cut != nil {
		return cut
	}
	if r.Failures(level) > 0 {
		return &failure{status: statusFindings}
	}
	return nil
}

// holds reports whether one of the files of a folder stands at a path.
func (d *side) holds(files []candidate, path string) bool {
	return d.dir != "" && slices.ContainsFunc(files, func(c candidate) bool {
		return filepath.Join(d.dir, filepath.FromSlash(c.path)) == filepath.Clean(path)
	})
}

// print writes the reports.
func (o *compareOptions) print(s *Streams, targets []target, r *compare.Report, level finding.Level) error {
	print := func(format string) func(io.Writer) error {
		return func(w io.Writer) error {
			switch format {
			case "json":
				return compare.WriteJSON(w, r, level)
			case "markdown":
				return compare.WriteMarkdown(w, r, compare.MarkdownOptions{Level: level})
			}
			return compare.WriteText(w, r, compare.TextOptions{Same: o.all, Level: level})
		}
	}
	var list []writing
	for _, t := range targets {
		list = append(list, writing{t.path, print(t.format)})
	}
	return writeAll(s, append(list, writing{"-", print(o.format)}))
}

// stopped returns the interrupt where there was one, which run reports.
func stopped(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}

// checkSides checks the layouts that may differ, each content once on however
// many paths it stands under one standard; those of which nothing differs at their
// place on both sides are checked with all only.
func checkSides(ctx context.Context, s *Streams, before, after []candidate, o *compareOptions) (b, a []compare.Layout, err error) {
	b, a = bareLayouts(before), bareLayouts(after)
	settledB, settledA := map[string]bool{}, map[string]bool{}
	if !o.all {
		settledB, settledA = compare.Settled(b, a)
	}
	var todo []input
	var standards []layoutStandard
	of := map[string]int{} // key to place in todo
	want := func(list []candidate, settled map[string]bool) {
		for _, c := range list {
			if _, have := of[c.key]; !have && !settled[c.path] && c.refused == "" {
				of[c.key] = len(todo)
				todo = append(todo, input{File: report.File{Path: c.path, RootPath: c.path, Data: c.data}})
				standards = append(standards, c.standard)
			}
		}
	}
	want(after, settledA)
	want(before, settledB)
	all := o.checker
	all.work = o.workOptions
	all.opt = engine.Options{NoRemedies: true}
	all.watch = s.terminal
	outcomes, err := all.each(ctx, todo, standards)
	var cut *interrupt
	if err != nil && !errors.As(err, &cut) {
		return nil, nil, err
	}
	fill := func(list []compare.Layout, from []candidate, settled map[string]bool) {
		var inputs []input
		var standards []layoutStandard
		var got []outcome
		var which []int
		for i := range list {
			k, ok := of[from[i].key]
			if !ok || settled[list[i].Path] {
				continue
			}
			if outcomes[k].cut {
				list[i].Refused = errCut.Error()
				continue
			}
			inputs = append(inputs, input{File: report.File{Path: list[i].Path}})
			standards = append(standards, from[i].standard)
			one := outcomes[k]
			one.said = placed(one.said, todo[k].Path, list[i].Path)
			got = append(got, one)
			which = append(which, i)
		}
		said := byPath(settle(inputs, standards, got, nil, &o.standardOptions, false).said)
		for n, i := range which {
			list[i].Layout, list[i].Findings = got[n].layoutOf(list[i].Path, from[i].data), said[list[i].Path]
		}
	}
	fill(b, before, settledB)
	fill(a, after, settledA)
	if cut == nil {
		return b, a, nil
	}
	return b, a, cutPairs(b, a, cut)
}

// cutPairs marks a layout that an interrupt left out on one side as left out on the other too, so that nobody takes it
// for new or gone, and says which these are.
func cutPairs(b, a []compare.Layout, cut *interrupt) error {
	out := map[string]bool{}
	for _, list := range [][]compare.Layout{b, a} {
		for i := range list {
			if list[i].Refused == errCut.Error() {
				out[list[i].Path] = true
			}
		}
	}
	for _, list := range [][]compare.Layout{b, a} {
		for i := range list {
			if out[list[i].Path] {
				list[i] = compare.Layout{Path: list[i].Path, Hash: list[i].Hash, Refused: errCut.Error()}
			}
		}
	}
	return &interrupt{cut.what + "; not checked: " + someOf(slices.Sorted(maps.Keys(out)))}
}

// place gives the layouts of a side their standards: those that the user named, or
// those of the repository or the folder in which the side stands. It returns where they are found, and below which folder
// of that the side stands.
func (e *standardFinder) place(d *side, list []candidate) (t *standardTree, under string, err error) {
	switch {
	case e.base != nil:
		t, under = e.base, d.below
		if d.dir != "" {
			under, _ = underTree(e.rev, d.dir)
		}
	case d.tree != nil:
		under = d.below
		if t, err = e.then(d); err != nil {
			return nil, "", err
		}
	default:
		root := repositoryRoot(d.dir)
		if t, err = e.tree(root); err != nil {
			return nil, "", err
		}
		// Both sides name their files alike, below their roots.
		t.show = func(name string) string { return name }
		under, _ = below(root, filepath.Clean(d.dir))
	}
	under = cmp.Or(under, ".")
	placeAll(list, t, under)
	return t, under, nil
}

func bareLayouts(list []candidate) []compare.Layout {
	out := make([]compare.Layout, len(list))
	for i, c := range list {
		out[i] = compare.Layout{Path: c.path, Hash: c.hash, Refused: c.refused, Standard: c.standard.judge()}
	}
	return out
}

// placed returns findings as the same content gives them under another path.
func placed(said []finding.Finding, from, to string) []finding.Finding {
	if from == to {
		return said
	}
	out := slices.Clone(said)
	for i := range out {
		if out[i].Span.File == from {
			out[i].Span.File = to
		}
		out[i].Related = slices.Clone(out[i].Related)
		for k := range out[i].Related {
			if out[i].Related[k].Span.File == from {
				out[i].Related[k].Span.File = to
			}
		}
	}
	return out
}
