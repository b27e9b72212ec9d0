package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// checkOptions are the options of check.
type checkOptions struct {
	format    string
	outputs   []string
	failLevel string
	color     string
	stdinName string
	quiet     bool
	verbose   bool
	detail    bool
	passes    bool
	remedies  string
	since     string
	standardOptions
	storeOptions
	workOptions
	strictBaseline bool
	part           string
	checker        checker // what tests change of it
}

func newCheck(s *Streams) *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check [flags] LAYOUT...",
		Short: "check layouts and report findings",
		Long: `Check reads layouts and reports what fails and what could not be decided.

LAYOUT is a file, a folder (searched to any depth; DIR/... does the same), a glob with
** for any depth, or - for standard input. In folders only files that look like layouts
are read.

Limits, levels and rules of a team stand in busgauss-standard.yaml, permissions to
differ in busgauss-deviations.yaml, old findings in busgauss-baseline.yaml (busgauss
baseline writes it). Of each, the nearest counts in the folder of the layout or above,
up to the root of the repository. A layout may tighten a limit, never loosen it. Where one of
these files is named, every layout that it governs is checked.

Findings go to standard output, everything else to standard error.

What a layout gave is kept in a store and taken from there while the layout, its standard and
this program are the same bytes; the report is the same too. --no-store computes all anew.

A run over many layouts can be spread over machines: with --part K/N each checks its share
and writes a part, and busgauss merge makes of all parts the reports of one run.`,
		Example: `  busgauss check hardware/
  busgauss check --detail --passes drive.yaml
  busgauss check --output sarif=busgauss.sarif --output json=busgauss.json hardware/
  busgauss check --standard-from origin/main --changed-since origin/main hardware/
  busgauss check --part 2/8 --output part=2.part hardware/`,
		RunE: func(c *cobra.Command, args []string) error {
			if o.part != "" {
				if err := partAlone(c.Flags()); err != nil {
					return err
				}
			}
			return check(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	o.reportFlags(c)
	f.StringVar(&o.stdinName, "stdin-name", "stdin.yaml", "`NAME` to report for standard input")
	f.StringVar(&o.remedies, "remedies", "quick", "`SET` of changes to try for what fails: none, quick, or all (also those that solve the field again at each step)")
	f.StringVar(&o.since, "changed-since", "", "check everything and report what changed since the work tree parted from `REV`; only new or worse findings count")
	o.standardOptions.flags(f)
	o.storeOptions.flags(f)
	o.workOptions.flags(f)
	f.StringVar(&o.part, "part", "", "check part `K/N` of the layouts alone and write it with --output part=FILE, for busgauss merge")
	complete(c, "remedies", []string{"none", "quick", "all"})
	return c
}

// reportFlags are the flags that check and merge share: what is reported, and how.
func (o *checkOptions) reportFlags(c *cobra.Command) {
	f := c.Flags()
	f.StringVarP(&o.format, "format", "f", "text", "`FORMAT` on standard output: "+strings.Join(checkFormats, ", "))
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write another report, as `FORMAT=FILE` (may be repeated)")
	f.StringVar(&o.failLevel, "fail-level", "warning", "lowest `LEVEL` that gives exit status 1: none (never), note, warning, error")
	f.StringVar(&o.color, "color", "auto", "`WHEN` to colour the text: auto, always, never")
	f.BoolVarP(&o.quiet, "quiet", "q", false, "print the lines of findings alone")
	f.BoolVarP(&o.verbose, "verbose", "v", false, "say on standard error which files were read and which were passed over")
	f.BoolVar(&o.detail, "detail", false, "print numbers, origins of limits, related places and assumed defaults")
	f.BoolVar(&o.passes, "passes", false, "print the checks that passed, with their margins")
	f.BoolVar(&o.strictBaseline, "strict-baseline", false, "an entry of the baseline that nothing matches any more is an error, not a note")
	complete(c, "format", checkFormats)
	completeTargets(c, checkFormats)
	complete(c, "fail-level", []string{"none", "note", "warning", "error"})
	complete(c, "color", []string{"auto", "always", "never"})
}

func check(ctx context.Context, s *Streams, o *checkOptions, args []string) error {
	if len(args) == 0 {
		return usage("check: name a layout, a folder or a pattern (- reads standard input)")
	}
	if o.remedies != "none" && o.remedies != "quick" && o.remedies != "all" {
		return usage("--remedies %q: none, quick or all would do", o.remedies)
	}
	part, err := o.partOf(args)
	if err != nil {
		return err
	}
	w, err := o.wanted(s, part == nil)
	if err != nil {
		return err
	}
	if part != nil {
		w.targets = []target{part.to}
	}
	g, err := o.open(ctx, s, args, w.targets)
	if err != nil {
		return err
	}
	defer g.finder.close()
	if o.checker.results, err = o.storeOptions.open(s, foldersOf(g.inputs)...); err != nil {
		return err
	}
	defer o.checker.results.close(s)
	costs, err := costsOf(ctx, g.inputs)
	if err != nil {
		return err
	}
	which := readable(g.inputs)
	if part != nil {
		which = part.share(g.inputs, costs)
	}
	o.checker.work = o.workOptions
	all := o.checker
	all.opt = engine.Options{AllRemedies: o.remedies == "all", NoRemedies: o.remedies == "none"}
	if part == nil {
		all.packing = o.packing(w.targets, len(g.inputs))
	}
	if !o.quiet {
		all.watch = s.terminal
	}
	outcomes, err := all.check(ctx, g.inputs, g.standards, costs, which)
	if part == nil && ctx.Err() != nil {
		return o.cutShort(s, w, g, outcomes, err)
	}
	if err != nil {
		return err
	}
	if o.verbose {
		for i := range outcomes {
			if outcomes[i].known {
				fmt.Fprintf(s.Err, "busgauss: took what an earlier run found in %s\n", finding.Clean(g.inputs[i].Path))
			}
		}
	}
	if part != nil {
		return part.write(s, o, args, g, outcomes, which)
	}
	return o.finish(ctx, s, w, g, outcomes)
}
