package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// wanted is what the options say of reports and of the exit status.
type wanted struct {
	level   finding.Level
	targets []target
	color   bool
}

// wanted reads the options that check and merge share; outputs says that --output names reports.
func (o *checkOptions) wanted(s *Streams, outputs bool) (*wanted, error) {
	w := &wanted{}
	var ok bool
	if w.level, ok = finding.ParseLevel(o.failLevel); !ok {
		return nil, usage("--fail-level %q: none, note, warning or error would do", o.failLevel)
	}
	if !slices.Contains(checkFormats, o.format) {
		return nil, unknownFormat("--format", o.format, checkFormats)
	}
	var err error
	if outputs {
		if w.targets, err = parseTargets(o.outputs, checkFormats); err != nil {
			return nil, err
		}
	}
	if w.color, err = wantColor(o.color, s); err != nil {
		return nil, err
	}
	if !outputs {
		return w, nil // a part knows no day
	}
	return w, o.standardOptions.parse(s)
}

// given is what the arguments name, with the standards that it is judged by.
type given struct {
	inputs    []input // layouts, by path
	standards []layoutStandard
	extra     []*standardSet // named themselves
	finder    *standardFinder
	arguments arguments
}

// open reads what the arguments name. The caller closes its finder.
func (o *checkOptions) open(ctx context.Context, s *Streams, args []string, targets []target) (*given, error) {
	inputs, skipped, err := gather(ctx, args, s, o.stdinName)
	if err != nil {
		return nil, err
	}
	for _, t := range targets {
		for _, in := range inputs {
			if in.key == filepath.Clean(resolve(s.Dir, t.path)) {
				return nil, usage("--output %s=%s: the report would overwrite the layout", t.format, t.path)
			}
		}
	}
	g := &given{arguments: args}
	if g.finder, err = openStandards(ctx, s, &o.standardOptions); err != nil {
		return nil, stopped(ctx, err)
	}
	more, err := g.finder.governed(ctx, inputs)
	if err == nil {
		inputs = append(inputs, more...)
		slices.SortStableFunc(inputs, func(a, b input) int { return strings.Compare(a.Path, b.Path) })
		g.inputs, g.extra, err = g.finder.split(inputs)
	}
	if err == nil {
		g.standards, err = g.finder.standards(g.inputs)
	}
	if err != nil {
		g.finder.close()
		return nil, err
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
	return g, nil
}

// tellUnread names on standard error the inputs that could not be read.
func tellUnread(s *Streams, inputs []input) {
	for _, in := range inputs {
		if in.err != nil {
			fmt.Fprintf(s.Err, "busgauss: read %s: %v\n", finding.Clean(in.Path), in.err)
		}
	}
}

// finish applies deviations and baselines to what the inputs gave, and writes the reports. Inputs that could not be read
// are named, and the reports hold the others.
func (o *checkOptions) finish(ctx context.Context, s *Streams, w *wanted, g *given, outcomes []outcome) error {
	v := o.verdicts(g, outcomes)
	tellUnread(s, v.inputs)
	result := v.result
	if len(result.Files) == 0 {
		return &failure{status: statusTrouble} // no report: nothing was checked
	}
	counted := result.Findings
	if o.since != "" {
		o.passes = true // a margin that shrank is no finding yet
		var err error
		if result, counted, err = changedSince(ctx, s, o, g.finder, v); err != nil && ctx.Err() != nil {
			return o.cutShort(s, w, g, outcomes, &interrupt{fmt.Sprintf("%s checked, and not compared with %s", report.Count(len(v.result.Files), "layout"), o.since)})
		} else if err != nil {
			return err
		}
	}
	status := statusOf(counted, w.level)
	if len(readable(v.inputs)) < len(v.inputs) {
		status = statusTrouble
	}
	if err := writeReports(s, o, w.targets, result, w.level, status, w.color); err != nil {
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
	arguments arguments
}

// verdicts applies what the standard of each input permits, and sorts what they give.
func (o *checkOptions) verdicts(g *given, outcomes []outcome) *verdicts {
	v := &verdicts{inputs: slices.Clone(g.inputs), standards: g.standards, outcomes: outcomes, arguments: g.arguments,
		result: &report.Result{Tool: tool()}}
	for i := range v.inputs {
		if v.inputs[i].err == nil {
			v.result.Files = append(v.result.Files, v.inputs[i].File)
			v.result.Assumed = append(v.result.Assumed, outcomes[i].assumed...)
		}
	}
	v.settled = settle(v.inputs, g.standards, outcomes, g.extra, &o.standardOptions, o.strictBaseline)
	v.settled.fill(v.result)
	return v
}

func writeReports(s *Streams, o *checkOptions, targets []target, r *report.Result, level finding.Level, status int, color bool) error {
	print := func(format string, on look) func(io.Writer) error {
		return func(w io.Writer) error { return writeReport(w, format, r, o, level, status, on) }
	}
	var list []writing
	for _, t := range targets {
		list = append(list, writing{t.path, print(t.format, look{})})
	}
	return writeAll(s, append(list, writing{"-", print(o.format, look{color, columnsOf(s)})}))
}
