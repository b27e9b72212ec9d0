package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"

	"github.com/spf13/cobra"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/rules/report/text"
	"busgauss/schema/policyfile"
)

// baselineOptions are the options of baseline.
type baselineOptions struct {
	standardOptions
	storeOptions
	workOptions
	prune   bool
	checker checker // what tests change of it
}

func newBaseline(s *Streams) *cobra.Command {
	var o baselineOptions
	c := &cobra.Command{
		Use:   "baseline [flags] LAYOUT...",
		Short: "record what is found now, so that only new and worse findings count",
		Long: `Baseline checks layouts and records what fails and what could not be decided in
busgauss-baseline.yaml: the one that governs the layouts, or a new one in the root of the
repository. Entries for layouts that were not named stay. What a deviation permits is not
recorded.

Findings are recognised by layout, rule, object and cause, not by line. One that gets
worse than recorded by more than a share of its limit (baseline-slack of the standard,
by default 1 %) comes back. No other command writes the file.

With --prune nothing is added and no number is changed: lines that nothing matches any
more are dropped, and those of a layout that was moved get its new path. Lines for
layouts that were not named stay while their layouts exist.`,
		Example: "  busgauss baseline hardware/\n  busgauss baseline --prune hardware/",
		RunE:    func(c *cobra.Command, args []string) error { return baseline(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.StringVar(&o.file, "standard", "", "house standard `FILE` for all layouts, in place of the nearest one above each")
	f.StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
	f.BoolVar(&o.prune, "prune", false, "add nothing: drop the lines that nothing matches any more")
	o.storeOptions.flags(f)
	o.workOptions.flags(f)
	return c
}

func baseline(ctx context.Context, s *Streams, o *baselineOptions, args []string) error {
	if len(args) == 0 {
		return usage("baseline: name a layout, a folder or a pattern")
	}
	for _, arg := range args {
		if arg == "-" {
			return usage("baseline: name files: standard input has no place in the repository")
		}
	}
	if err := o.parse(s); err != nil {
		return err
	}
	inputs, _, err := gather(ctx, args, s, "")
	if err != nil {
		return err
	}
	finder, err := openStandards(ctx, s, &o.standardOptions)
	if err != nil {
		return err
	}
	defer finder.close()
	if inputs, _, err = finder.split(inputs); err != nil {
		return err
	}
	if err := allBelow(finder, inputs); err != nil {
		return err
	}
	t, err := finder.tree(finder.here)
	if err != nil {
		return err
	}
	var writer baselineWriter = newRecorder(t)
	if o.prune {
		writer = &pruner{tree: t}
	}
	standards := make([]layoutStandard, len(inputs))
	for i := range inputs {
		standards[i] = writer.of(inputs[i].RootPath)
	}
	if err := brokenStandard(s, writer.all()); err != nil {
		return err
	}
	if o.checker.results, err = o.storeOptions.open(s, foldersOf(inputs)...); err != nil {
		return err
	}
	defer o.checker.results.close(s)
	all := o.checker
	all.work = o.workOptions
	all.opt = engine.Options{NoRemedies: true}
	outcomes, err := all.each(ctx, inputs, standards)
	var cut *interrupt
	if errors.As(err, &cut) {
		cut.what += "; the baseline is as it was"
	}
	if err != nil {
		return err
	}
	tellUnread(s, inputs)
	var unclear []finding.Finding
	for i := range outcomes {
		if !outcomes[i].understood {
			unclear = append(unclear, outcomes[i].said...)
		}
	}
	if len(unclear) > 0 {
		if err := text.Write(s.Err, &report.Result{Tool: tool(), Findings: unclear}, text.Options{Quiet: true}); err != nil {
			return err
		}
		return &failure{statusFindings, errors.New("nothing is written: a layout cannot be understood")}
	}
	if err := writer.write(s, finder, inputs, standards, outcomes, o.day); err != nil {
		return err
	}
	if len(readable(inputs)) < len(inputs) {
		return &failure{status: statusTrouble}
	}
	return nil
}

// allBelow wants every layout to be there and to stand below the root of the repository.
func allBelow(finder *standardFinder, inputs []input) error {
	for i := range inputs {
		in := &inputs[i]
		if in.err != nil {
			return &failure{statusTrouble, fmt.Errorf("read %s: %w", in.Path, in.err)}
		}
		if _, ok := below(finder.here, in.key); !ok {
			return usage("baseline: %s is not below %s, the root of the repository", in.Path, finder.shown(finder.here))
		}
	}
	return nil
}

// baselineWriter says by what each layout is judged, named by its path below the root, and writes baselines of what
// that gave.
type baselineWriter interface {
	of(layout string) layoutStandard
	all() []*standardSet
	write(*Streams, *standardFinder, []input, []layoutStandard, []outcome, policy.Date) error
}

// recorder records baselines. The sets that it judges by have none: a baseline
// would hide the findings that it is to record.
type recorder struct {
	tree   *standardTree
	sets   []*standardSet
	target map[*standardSet]string // path of the baseline that is written
	old    map[string]*standardSet // what it holds now, by path
	order  []string
}

func newRecorder(t *standardTree) *recorder {
	return &recorder{tree: t, target: map[*standardSet]string{}, old: map[string]*standardSet{}}
}

func (b *recorder) all() []*standardSet { return b.sets }

func (b *recorder) of(layout string) layoutStandard {
	p := b.tree.paths(layout)
	to := p.Baseline
	if to == "" {
		to = policyfile.BaselineName
	}
	if b.old[to] == nil {
		b.old[to] = &standardSet{files: &policy.Set{}}
		if p.Baseline != "" {
			b.old[to] = b.tree.load(p)
			b.sets = append(b.sets, b.old[to])
		}
		b.order = append(b.order, to)
	}
	p.Baseline = ""
	// One set for each baseline, although the standards may be the same.
	set := *b.tree.load(p)
	for known, at := range b.target {
		if at == to && known.paths == set.paths {
			return known.of(layout)
		}
	}
	b.target[&set] = to
	b.sets = append(b.sets, &set)
	return set.of(layout)
}

// write writes every baseline that a layout belongs to. What is recorded of a layout that was not done in time stays.
func (b *recorder) write(s *Streams, finder *standardFinder, inputs []input, standards []layoutStandard,
	outcomes []outcome, day policy.Date) error {
	var failed []error
	for _, to := range b.order {
		entries := b.old[to].files.Baseline
		layouts := 0
		for _, set := range b.sets {
			if b.target[set] != to {
				continue
			}
			var checked []enforce.Checked
			for i := range inputs {
				if standards[i].set == set && inputs[i].err == nil {
					checked = append(checked, enforce.Checked{Layout: standards[i].layout, Findings: outcomes[i].said})
				}
			}
			layouts += len(checked)
			// Afterwards, what deviations permit has the verdict "permitted".
			left := byPath(set.effective.Apply(checked, enforce.Options{Day: day}).Findings)
			for i, n := 0, 0; i < len(inputs); i++ {
				if standards[i].set == set && inputs[i].err == nil {
					checked[n].Findings = left[inputs[i].Path]
					n++
				}
			}
			entries = set.effective.Record(checked, entries, b.tree.exists)
		}
		if err := writeBaseline(s, finder, to, entries); err != nil {
			failed = append(failed, err)
			continue
		}
		fmt.Fprintf(s.Err, "busgauss: recorded %s of %s in %s\n", report.Count(len(entries), "finding"), report.Count(layouts, "layout"),
			finding.Clean(finder.shown(finder.full(to))))
	}
	return lastOf(s, failed)
}

// full returns the path of a file below the root of the working directory.
func (e *standardFinder) full(name string) string {
	return filepath.Join(e.here, filepath.FromSlash(name))
}

// writeBaseline writes entries into the baseline at a path below the root.
func writeBaseline(s *Streams, finder *standardFinder, to string, entries []policy.Entry) error {
	err := writeFile(s, finder.full(to), func(w io.Writer) error {
		return enforce.WriteBaseline(w, entries, func(layout string) string {
			rel, err := filepath.Rel(filepath.FromSlash(path.Dir(to)), filepath.FromSlash(layout))
			if err != nil {
				return layout
			}
			return filepath.ToSlash(rel)
		})
	})
	if err != nil {
		return &failure{statusTrouble, err}
	}
	return nil
}
