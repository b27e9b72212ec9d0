package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/parallel"
	"busgauss/model/probe"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/quantity"
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
	standardOptions
	strictBaseline bool
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
up to the root of the repository. A layout may tighten a limit, never loosen it.

Findings go to standard output, everything else to standard error.`,
		Example: `  busgauss check hardware/
  busgauss check --detail --passes drive.yaml
  busgauss check --output sarif=busgauss.sarif --output json=busgauss.json hardware/
  busgauss check --standard-from origin/main --changed-since origin/main hardware/`,
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
	o.standardOptions.flags(f)
	f.BoolVar(&o.strictBaseline, "strict-baseline", false, "an entry of the baseline that nothing matches any more is an error, not a note")
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
	if err := o.standardOptions.parse(); err != nil {
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
	finder, err := openStandards(ctx, s, &o.standardOptions)
	if err != nil {
		return stopped(ctx, err)
	}
	defer finder.close()
	inputs, extra, err := finder.split(inputs)
	if err != nil {
		return err
	}
	standards, err := finder.standards(inputs)
	if err != nil {
		return err
	}
	var watch io.Writer
	if s.ErrIsTerminal && !o.quiet {
		watch = s.Err
	}
	at := startProgress(watch, len(inputs))
	v, err := runChecks(ctx, inputs, standards, extra, o, engine.Options{AllRemedies: o.remedies == "all"}, at)
	at.end()
	if err != nil {
		return err
	}
	result, unread := v.result, v.unread()
	for _, in := range unread {
		fmt.Fprintf(s.Err, "busgauss: read %s: %v\n", finding.Clean(in.Path), in.err)
	}
	if len(result.Files) == 0 {
		return &failure{status: statusTrouble} // no report: nothing was checked
	}
	counted := result.Findings
	if o.since != "" {
		o.passes = true // a margin that shrank is no finding yet
		result, counted, err = changedSince(ctx, s, o, finder, v)
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

// verdicts is what a run over layouts gave.
type verdicts struct {
	inputs    []input // those that could not be read among them
	standards []layoutStandard
	outcomes  []outcome
	settled   settled
	result    *report.Result
}

// unread returns the inputs that could not be read.
func (v *verdicts) unread() []input {
	var out []input
	for _, in := range v.inputs {
		if in.err != nil {
			out = append(out, in)
		}
	}
	return out
}

// runChecks loads and checks every input, applies what its standard permits, and
// sorts what they give. extra are standards that are looked at for themselves.
func runChecks(ctx context.Context, inputs []input, standards []layoutStandard, extra []*standardSet, o *checkOptions,
	opt engine.Options, at *progress) (*verdicts, error) {
	v := &verdicts{inputs: inputs, standards: standards}
	var err error
	if v.outcomes, err = checkEach(ctx, inputs, standards, opt, at); err != nil {
		return nil, err
	}
	v.result = &report.Result{Tool: tool()}
	for i := range inputs {
		if inputs[i].err == nil {
			v.result.Files = append(v.result.Files, inputs[i].File)
			v.result.Assumed = append(v.result.Assumed, v.outcomes[i].assumed...)
		}
	}
	v.settled = settle(inputs, standards, v.outcomes, extra, &o.standardOptions, o.strictBaseline)
	v.settled.fill(v.result)
	return v, nil
}

// checkEach loads and checks every input that could be read, several at a time.
func checkEach(ctx context.Context, inputs []input, standards []layoutStandard, opt engine.Options,
	at *progress) ([]outcome, error) {
	list := rules.All()
	if err := engine.Validate(list); err != nil {
		return nil, fmt.Errorf("rules: %w", err)
	}
	outcomes := make([]outcome, len(inputs))
	late := make([]bool, len(inputs))
	parallel.Each(len(inputs), len(inputs), func(_, i int) {
		if ctx.Err() != nil {
			return
		}
		if inputs[i].err == nil {
			outcomes[i], late[i] = inTime(ctx, longestCheck, func() outcome {
				return checkOne(&inputs[i].File, &standards[i], list, opt)
			})
			outcomes[i].model = nil // fields of many layouts would fill the memory
		}
		at.add()
	})
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	for i := range late {
		if late[i] {
			return nil, fmt.Errorf("%s: not done within %v, the most that one layout may take: nothing is said of it; make several of it", finding.Clean(inputs[i].Path), longestCheck)
		}
	}
	return outcomes, nil
}

// longestCheck is the most that one layout may take. Real layouts take seconds; a
// stranger's layout must not hold a machine for ever.
const longestCheck = 10 * time.Minute

// inTime waits for f no longer than most, nor beyond the end of ctx; late says that it
// gave up; what f still does then is lost.
func inTime(ctx context.Context, most time.Duration, f func() outcome) (o outcome, late bool) {
	done := make(chan outcome, 1)
	go func() { done <- f() }()
	timer := time.NewTimer(most)
	defer timer.Stop()
	select {
	case o = <-done:
		return o, false
	case <-ctx.Done():
		return o, false
	case <-timer.C:
		return o, true
	}
}

// outcome is what one file gave, before deviations and a baseline.
type outcome struct {
	layout  *layout.Layout // nil when the file could not be understood
	model   *probe.Model   // with what the rules had it compute
	said    []finding.Finding
	assumed []finding.Assumption
}

// checkOne judges a layout by the limits, levels and rules of its standard.
func checkOne(f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	l, problems := load.Load(f.Path, f.Data)
	if l == nil {
		return outcome{said: engine.Sorted(problems)}
	}
	m := probe.NewModel(l)
	out := outcome{layout: l, model: m, assumed: channel.Assumed(l)}
	if s.set == nil {
		out.said = engine.Sorted(append(problems, engine.CheckWith(m, list, opt)...))
		return out
	}
	if s.view == nil {
		first := span.Pos{Line: 1, Column: 1}
		at := span.Span{File: f.Path, Start: first, End: first}
		out.said = engine.Sorted(append(problems, enforce.Unusable(at, s.set.firstError())))
		return out
	}
	opt.Limit = s.view.Limit
	found := engine.CheckWith(m, s.view.Rules(list), opt)
	s.view.Grade(found)
	found = append(found, s.view.HouseRules(quantity.Of(m))...)
	out.said = engine.Sorted(append(problems, found...))
	return out
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
