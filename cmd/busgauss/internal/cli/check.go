package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
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

Findings go to standard output, everything else to standard error.`,
		Example: `  busgauss check hardware/
  busgauss check --detail --passes drive.yaml
  busgauss check --output sarif=busgauss.sarif --output json=busgauss.json hardware/`,
		RunE: func(c *cobra.Command, args []string) error { return check(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.StringVarP(&o.format, "format", "f", "text", "`FORMAT` on standard output: "+strings.Join(checkFormats, ", "))
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write another report, as `FORMAT=FILE` (may be repeated)")
	f.StringVar(&o.failLevel, "fail-level", "warning", "lowest `LEVEL` that gives exit status 1: none (never), note, warning, error")
	f.StringVar(&o.color, "color", "auto", "`WHEN` to colour the text: auto, always, never")
	f.StringVar(&o.stdinName, "stdin-name", "stdin.yaml", "`NAME` to report for standard input")
	f.BoolVarP(&o.quiet, "quiet", "q", false, "print the lines of findings alone")
	f.BoolVarP(&o.verbose, "verbose", "v", false, "say on standard error which files were read and which were passed over")
	f.BoolVar(&o.detail, "detail", false, "print numbers, origins of limits, related places and assumed defaults")
	f.BoolVar(&o.passes, "passes", false, "print the checks that passed, with their margins")
	f.StringVar(&o.remedies, "remedies", "quick", "`SET` of changes to try for what fails: quick, or all (also those that solve the field again at each step)")
	f.StringVar(&o.since, "changed-since", "", "check everything and report what changed since the work tree parted from `REV`; only new or worse findings count")
	complete(c, "remedies", []string{"quick", "all"})
	complete(c, "format", checkFormats)
	complete(c, "fail-level", []string{"none", "note", "warning", "error"})
	complete(c, "color", []string{"auto", "always", "never"})
	return c
}

// complete offers values to the shell.
func complete(c *cobra.Command, flag string, values []string) {
	err := c.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return values, cobra.ShellCompDirectiveNoFileComp
	})
	if err != nil {
		panic("cli: completion for a flag that does not exist")
	}
}

func check(ctx context.Context, s *Streams, o *checkOptions, args []string) error {
	if len(args) == 0 {
		return usage("check: name a layout, a folder or a pattern (- reads standard input)")
	}
	level, ok := finding.ParseLevel(o.failLevel)
	if !ok {
		return usage("--fail-level %q: none, note, warning or error would do", o.failLevel)
	}
	if o.remedies != "quick" && o.remedies != "all" {
		return usage("--remedies %q: quick or all would do", o.remedies)
	}
	if !slices.Contains(checkFormats, o.format) {
		return unknownFormat("--format", o.format, checkFormats)
	}
	targets, err := parseTargets(o.outputs, checkFormats)
	if err != nil {
		return err
	}
	color, err := wantColor(o.color, s)
	if err != nil {
		return err
	}
	inputs, skipped, err := gather(ctx, args, s, o.stdinName)
	if err != nil {
		return err
	}
	for _, t := range targets {
		for _, in := range inputs {
			if in.key == filepath.Clean(resolve(s.Dir, t.path)) {
				return usage("--output %s=%s: the report would overwrite the layout", t.format, t.path)
			}
		}
	}
	if o.verbose {
		for _, in := range inputs {
			if in.err == nil {
				fmt.Fprintf(s.Err, "busgauss: read %s\n", finding.Clean(in.Path))
			}
		}
		for _, path := range skipped {
			fmt.Fprintf(s.Err, "busgauss: passed over %s: it holds no key of a layout\n", finding.Clean(path))
		}
	}
	var watch io.Writer
	if s.ErrIsTerminal && !o.quiet {
		watch = s.Err
	}
	at := startProgress(watch, len(inputs))
	result, unread, err := runChecks(ctx, inputs, engine.Options{AllRemedies: o.remedies == "all"}, at)
	at.end()
	if err != nil {
		return err
	}
	for _, in := range unread {
		fmt.Fprintf(s.Err, "busgauss: read %s: %v\n", finding.Clean(in.Path), in.err)
	}
	if len(result.Files) == 0 {
		return &failure{status: statusTrouble} // no report: nothing was checked
	}
	counted := result.Findings
	if o.since != "" {
		o.passes = true // a margin that shrank is no finding yet
		result, counted, err = changedSince(ctx, s, o.since, inputs, result, func(was []input) (*report.Result, error) {
			r, _, err := runChecks(ctx, was, engine.Options{}, startProgress(nil, len(was)))
			return r, err
		})
		if err != nil {
			return stopped(ctx, err)
		}
	}
	status := statusOf(counted, level)
	if len(unread) > 0 {
		status = statusTrouble
	}
	if err := writeReports(s, o, targets, result, level, status, color); err != nil {
		return &failure{statusTrouble, err}
	}
	if status != statusClean {
		return &failure{status: status}
	}
	return nil
}

// statusOf returns 1 when a finding is at or above the level, which none never is.
func statusOf(findings []finding.Finding, level finding.Level) int {
	if level == finding.None {
		return statusClean
	}
	for i := range findings {
		if findings[i].Level >= level {
			return statusFindings
		}
	}
	return statusClean
}

// runChecks loads and checks every input and sorts what they give.
func runChecks(ctx context.Context, inputs []input, opt engine.Options, at *progress) (*report.Result, []input, error) {
	outcomes, err := checkEach(ctx, inputs, opt, at)
	if err != nil {
		return nil, nil, err
	}
	result := &report.Result{Tool: tool(), Rules: descriptions(rules.All())}
	var unread []input
	for i := range inputs {
		if inputs[i].err != nil {
			unread = append(unread, inputs[i])
			continue
		}
		result.Files = append(result.Files, inputs[i].File)
		result.Assumed = append(result.Assumed, outcomes[i].assumed...)
		for _, f := range outcomes[i].said {
			switch f.Verdict {
			case finding.Pass:
				result.Passed = append(result.Passed, f)
			case finding.NotApplicable:
				result.NotApplicable = append(result.NotApplicable, f)
			default:
				result.Findings = append(result.Findings, f)
			}
		}
	}
	return result, unread, nil
}

// checkEach loads and checks every input that could be read, as many at a time as
// there are processors; each writes to its own slot, so the outcome is the same on
// any number of them.
func checkEach(ctx context.Context, inputs []input, opt engine.Options, at *progress) ([]outcome, error) {
	list := rules.All()
	if err := engine.Validate(list); err != nil {
		return nil, fmt.Errorf("rules: %w", err)
	}
	outcomes := make([]outcome, len(inputs))
	next := make(chan int)
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(inputs)) {
		wait.Go(func() {
			for i := range next {
				if inputs[i].err == nil {
					outcomes[i] = checkOne(&inputs[i].File, list, opt)
				}
				at.add()
			}
		})
	}
	for i := 0; i < len(inputs) && ctx.Err() == nil; i++ {
		select {
		case next <- i:
		case <-ctx.Done():
		}
	}
	close(next)
	wait.Wait()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return outcomes, nil
}

// outcome is what one file gave.
type outcome struct {
	layout  *layout.Layout // nil when the file could not be understood
	said    []finding.Finding
	assumed []finding.Assumption
}

func checkOne(f *report.File, list []engine.Rule, opt engine.Options) outcome {
	l, problems := load.Load(f.Path, f.Data)
	if l == nil {
		return outcome{said: engine.Sorted(problems)}
	}
	return outcome{
		layout:  l,
		said:    engine.Sorted(append(problems, engine.Check(l, list, opt)...)),
		assumed: channel.Assumed(l),
	}
}

// descriptions returns every rule that may report, sorted by its identifier.
func descriptions(list []engine.Rule) []finding.Description {
	all := append(load.Problems(), rules.Describe(list)...)
	slices.SortFunc(all, func(a, b finding.Description) int { return strings.Compare(a.ID, b.ID) })
	return all
}

func writeReports(s *Streams, o *checkOptions, targets []target, r *report.Result, level finding.Level, status int, color bool) error {
	print := func(format string, color bool) func(io.Writer) error {
		return func(w io.Writer) error { return writeReport(w, format, r, o, level, status, color) }
	}
	for _, t := range targets {
		if err := writeFile(s, t.path, print(t.format, false)); err != nil {
			return err
		}
	}
	return writeFile(s, "-", print(o.format, color))
}
