package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"busgauss/model/finding"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/rules/report/text"
)

func newStandard(s *Streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "standard",
		Short: "print the house standard that counts",
		Long: `Standard show prints every limit and level that counts in the working directory, or
for a layout, with where each comes from: the line of a file, a built-in preset, or the
default of the rule. For a layout it also prints what differs for one of its channels.

The presets metering, drive and protection can be named by classes of channels and by
extends; busgauss standard show --standard FILE prints what a file would give.`,
		Example: `  busgauss standard show
  busgauss standard show hardware/drive.yaml`,
		Args: cobra.ArbitraryArgs,
		RunE: func(*cobra.Command, []string) error {
			return usage("standard: say what to do: show")
		},
	}
	c.AddCommand(newStandardShow(s))
	return c
}

func newStandardShow(s *Streams) *cobra.Command {
	var o standardOptions
	c := &cobra.Command{
		Use:     "show [flags] [LAYOUT]",
		Short:   "print every limit and level that counts, and where it comes from",
		Example: "  busgauss standard show\n  busgauss standard show hardware/drive.yaml",
		RunE:    func(c *cobra.Command, args []string) error { return standardShow(c.Context(), s, &o, args) },
	}
	o.flags(c.Flags())
	return c
}

func standardShow(ctx context.Context, s *Streams, o *standardOptions, args []string) error {
	if len(args) > 1 {
		return usage("standard show: name one layout, or none for the working directory")
	}
	if err := o.parse(s); err != nil {
		return err
	}
	finder, err := openStandards(ctx, s, o)
	if err != nil {
		return stopped(ctx, err)
	}
	defer finder.close()
	// Without a layout the limits are those for one in the working directory that
	// no pattern names.
	in := input{key: filepath.Join(s.Dir, ".busgauss")}
	var channels []string
	if len(args) == 1 {
		_, l, err := oneFile(ctx, s, "standard show", args, "")
		if err != nil {
			return err
		}
		in.key = filepath.Clean(resolve(s.Dir, args[0]))
		for i := range l.Sensors {
			channels = append(channels, l.Sensors[i].ID)
		}
	}
	in.Path = in.key
	of, err := finder.of(&in)
	if err != nil {
		return err
	}
	set := of.set
	if err := brokenStandard(s, []*standardSet{set}); err != nil {
		return err
	}
	return writeFile(s, "-", func(w io.Writer) error {
		b := &strings.Builder{}
		headOf(b, set, o)
		rows := set.effective.Rows()
		if len(args) == 1 {
			rows = of.view.Rows(channels)
		}
		table(b, rows)
		for _, d := range set.effective.Descriptions() {
			fmt.Fprintf(b, "house rule %s (%s): %s. %s\n", finding.Clean(d.ID), d.Level, finding.Clean(d.Title), finding.Clean(d.Help))
		}
		_, err := w.Write(guardedText([]byte(b.String())))
		return err
	})
}

// brokenStandard writes what is wrong with standards to standard error, and returns a
// failure where a standard has an error, for then nothing can be said of it.
func brokenStandard(s *Streams, list []*standardSet) error {
	r := &report.Result{Tool: tool()}
	broken := false
	trees := map[*standardTree]bool{}
	for _, set := range list {
		r.Findings = append(r.Findings, set.problems...)
		if set.tree != nil && !trees[set.tree] {
			trees[set.tree] = true
			r.Findings = append(r.Findings, set.tree.nearNames()...)
		}
		broken = broken || set.effective == nil
	}
	if r.Findings = engine.Sorted(r.Findings); len(r.Findings) == 0 {
		return nil
	}
	if err := text.Write(s.Err, r, text.Options{Quiet: true}); err != nil {
		return err
	}
	if broken {
		return &failure{statusFindings, fmt.Errorf("the house standard has errors: %s", count(r.Findings))}
	}
	return nil
}

// headOf writes what the values come from.
func headOf(b *strings.Builder, set *standardSet, o *standardOptions) {
	if len(set.files.Files) == 0 {
		b.WriteString("no house standard: every value is the default of its rule\n")
	}
	for _, f := range set.files.Files {
		name := f.Path
		if f.BuiltIn {
			name = "built-in " + name
		} else if at := sourcesOf(set)[f.Path]; at.Path != "" {
			name = at.Path
		}
		fmt.Fprintf(b, "standard %s", finding.Clean(name))
		if f.Title.Given() {
			fmt.Fprintf(b, ": %s", finding.Clean(f.Title.Value))
		}
		if f.Edition.Given() {
			fmt.Fprintf(b, ", edition %s", finding.Clean(f.Edition.Value))
		}
		b.WriteString("\n")
	}
	fmt.Fprintf(b, "rules: edition %d", engine.Edition(set.tree.known.Rules))
	if pin := set.effective.Pin(); pin > 0 {
		fmt.Fprintf(b, ", pinned to %d", pin)
	}
	b.WriteString("\n")
	if p := set.paths.Deviations; p != "" {
		ended := 0
		for _, d := range set.files.Deviations {
			if o.day > d.Until {
				ended++
			}
		}
		fmt.Fprintf(b, "deviations %s: %d, of them %d ended on %s\n", finding.Clean(set.tree.show(p)),
			len(set.files.Deviations), ended, o.day)
	}
	if p := set.paths.Baseline; p != "" {
		fmt.Fprintf(b, "baseline %s: %s\n", finding.Clean(set.tree.show(p)),
			report.Count(len(set.files.Baseline), "finding"))
	}
}

// table writes rows in columns, under a line for each scope.
func table(b *strings.Builder, rows []enforce.Row) {
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	scope := ""
	for _, r := range rows {
		if r.Scope != scope {
			scope = r.Scope
			w.Flush() // into memory, which does not fail
			fmt.Fprintf(b, "for %s\n", finding.Clean(scope))
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", r.Rule, r.Key, r.Value, oneCell(r.Origin))
	}
	w.Flush()
}

// oneCell makes text fit for a column.
func oneCell(s string) string { return strings.ReplaceAll(finding.Clean(s), "\t", " ") }
