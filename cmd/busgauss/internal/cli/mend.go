package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/spf13/cobra"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// mendOptions are the options of mend.
type mendOptions struct {
	dryRun    bool
	slips     bool
	only      []string
	remedies  string
	failLevel string
	standardOptions
	workOptions
	judge judge // nil: checkOne
}

func newMend(s *Streams) *cobra.Command {
	o := mendOptions{judge: checkOne}
	c := &cobra.Command{
		Use:   "mend [flags] LAYOUT...",
		Short: "write the changes that findings offer into the layouts",
		Long: `Mend checks layouts and carries out what findings offer: slips of writing first (a
misspelt key or name, a decimal comma), then the change that clears most, until nothing is
offered any more. After each change the whole layout is checked again, and one that brings
a new finding is taken back. All that a change does not name, comments and order included,
stays byte for byte as it is.

What changes is an edit of a drawing, not of copper: look at each before you keep it.
Exit status 1 says that findings at or above the fail level are left.`,
		Example: `  busgauss mend --dry-run drive.yaml
  busgauss mend --only stray-ratio --only linear-range hardware/`,
		RunE: func(c *cobra.Command, args []string) error { return mend(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.BoolVar(&o.dryRun, "dry-run", false, "print what would change as a unified diff and write nothing")
	f.BoolVar(&o.slips, "slips", false, "mend slips of writing alone")
	f.StringArrayVar(&o.only, "only", nil, "mend findings of `RULE` alone (may be repeated)")
	f.StringVar(&o.remedies, "remedies", "quick", "`SET` of changes to try for what fails: quick, or all (also those that solve the field again at each step)")
	f.StringVar(&o.failLevel, "fail-level", "warning", "lowest `LEVEL` that gives exit status 1: none (never), note, warning, error")
	f.StringVar(&o.file, "standard", "", "house standard `FILE` for all layouts, in place of the nearest one above each")
	f.StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
	o.workOptions.flag(f)
	complete(c, "remedies", []string{"quick", "all"})
	complete(c, "fail-level", []string{"none", "note", "warning", "error"})
	return c
}

// parseMend checks what mend was told.
func (o *mendOptions) parseMend(s *Streams, args []string) (finding.Level, error) {
	if len(args) == 0 {
		return 0, usage("mend: name a layout, a folder or a pattern")
	}
	if slices.Contains(args, "-") {
		return 0, usage("mend: name files: standard input cannot be written")
	}
	if o.remedies != "quick" && o.remedies != "all" {
		return 0, usage("--remedies %q: quick or all would do", o.remedies)
	}
	for _, rule := range o.only {
		if !slices.ContainsFunc(rules.All(), func(r engine.Rule) bool { return r.ID == rule }) {
			return 0, usage("--only: there is no rule %q%s", rule, didYouMean(rule, ruleNames()))
		}
	}
	level, ok := finding.ParseLevel(o.failLevel)
	if !ok {
		return 0, usage("--fail-level %q: none, note, warning or error would do", o.failLevel)
	}
	return level, o.parse(s)
}

func ruleNames() []string {
	var out []string
	for _, r := range rules.All() {
		out = append(out, r.ID)
	}
	return out
}

func mend(ctx context.Context, s *Streams, o *mendOptions, args []string) error {
	level, err := o.parseMend(s, args)
	if err != nil {
		return err
	}
	of := checkOptions{standardOptions: o.standardOptions}
	g, err := of.open(ctx, s, args, nil)
	if err != nil {
		return err
	}
	defer g.finder.close()
	tellUnread(s, g.inputs)
	out := &guarded{w: s.Out}
	words := io.Writer(out)
	if o.dryRun {
		words = s.Err // the diff alone goes to standard output
	}
	var done, files, looked, unwritten int
	var cut *interrupt
	var left []finding.Finding
	for _, i := range readable(g.inputs) {
		in := &g.inputs[i]
		m := mending{o: o, in: in, standard: &g.standards[i], words: words, text: string(in.Data)}
		if err := m.run(ctx); ctx.Err() != nil {
			cut = tellCut(looked, len(readable(g.inputs)), "layout", "mended as far as they can be")
			break
		} else if err != nil {
			return err
		}
		looked++
		left = append(left, m.left...)
		for _, f := range m.about {
			if f.Verdict != finding.Pass && !slices.ContainsFunc(left, func(l finding.Finding) bool { return engine.Compare(l, f) == 0 }) {
				left = append(left, f)
			}
		}
		if m.text == string(in.Data) {
			continue
		}
		done, files = done+m.done, files+1
		if o.dryRun {
			if err := m.print(s); err != nil {
				return err
			}
		} else if err := m.write(s); err != nil {
			fmt.Fprintf(s.Err, "busgauss: %s\n", finding.Clean(err.Error()))
			done, files, unwritten = done-m.done, files-1, unwritten+1
		}
	}
	what := report.Count(done, "change") + " in " + report.Count(files, "file")
	if done == 0 && cut == nil && unwritten == 0 {
		what = "nothing changed: no finding offers a change that holds"
	}
	fmt.Fprintf(words, "%s; %s left\n", what, report.Count(len(left), "finding"))
	switch {
	case cut != nil:
		return cut
	case len(readable(g.inputs)) < len(g.inputs), unwritten > 0:
		return &failure{status: statusTrouble}
	case statusOf(left, level) != statusClean:
		return &failure{status: statusFindings}
	}
	return nil
}

// mending is one layout on its way.
type mending struct {
	o        *mendOptions
	in       *input
	standard *layoutStandard
	words    io.Writer
	text     string
	done     int               // changes carried out
	left     []finding.Finding // that are not permitted
	about    []finding.Finding // on its standard, deviations and baseline, as check has them
}

// mostRounds is the most changes that one layout is given: each clears a finding.
const mostRounds = 200

// run carries out what is offered, one change at a time.
func (m *mending) run(ctx context.Context) error {
	var err error
	if m.left, err = m.check(ctx, m.text); err != nil {
		return err
	}
	refused := map[string]bool{}
	for range mostRounds {
		f, c := m.best(refused)
		if c == nil {
			return nil
		}
		text, err := edit.Apply(m.text, c.Edits)
		if err != nil {
			refused[c.Title] = true
			continue
		}
		left, err := m.check(ctx, text)
		if err != nil {
			return err
		}
		if !better(m.left, left, c.Safe) {
			refused[c.Title] = true
			continue
		}
		m.say(f, c)
		m.text, m.left = text, left
		m.done++
	}
	return nil
}

// check returns what is found in text and not permitted, and no pass.
func (m *mending) check(ctx context.Context, text string) ([]finding.Finding, error) {
	in := *m.in
	in.Data = []byte(text)
	opt := engine.Options{AllRemedies: m.o.remedies == "all", Work: m.o.budget(m.standard)}
	o, done := untilDone(ctx, func() outcome { return m.o.judge(&in.File, m.standard, rules.All(), opt) })
	if !done {
		return nil, ctx.Err()
	}
	v := settle([]input{in}, []layoutStandard{*m.standard}, []outcome{o}, nil, &m.o.standardOptions, false)
	m.about = v.about
	return slices.DeleteFunc(v.said, func(f finding.Finding) bool {
		return f.Verdict != finding.Fail && f.Verdict != finding.Undecided
	}), nil
}

// best returns the change to carry out next: slips of writing first, then what clears most.
func (m *mending) best(refused map[string]bool) (best *finding.Finding, change *finding.Change) {
	for i := range m.left {
		f := &m.left[i]
		if len(m.o.only) > 0 && !slices.Contains(m.o.only, f.Rule) {
			continue
		}
		for k := range f.Changes {
			c := &f.Changes[k]
			if refused[c.Title] || m.o.slips && !c.Safe {
				continue
			}
			if change == nil || c.Safe && !change.Safe || c.Safe == change.Safe && len(c.Clears) > len(change.Clears) {
				best, change = f, c
			}
		}
	}
	return best, change
}

// better reports whether a change leaves fewer findings and none that was not there or was permitted; after a slip the
// layout may be read at last and its rules may speak for the first time.
func better(before, after []finding.Finding, slip bool) bool {
	if !slip {
		type about struct{ rule, object string }
		more := map[about]int{}
		for i := range before {
			more[about{before[i].Rule, before[i].Object}]--
		}
		for i := range after {
			k := about{after[i].Rule, after[i].Object}
			if more[k]++; more[k] > 0 {
				return false
			}
		}
		return len(after) < len(before)
	}
	have := map[string]bool{}
	for i := range after {
		have[after[i].Rule+after[i].Span.String()+after[i].Message] = true
	}
	return slices.ContainsFunc(before, func(f finding.Finding) bool { return !have[f.Rule+f.Span.String()+f.Message] })
}

// say tells what was done.
func (m *mending) say(f *finding.Finding, c *finding.Change) {
	line := fmt.Sprintf("%s: %s", f.Span, c.Title)
	if c.Effect != "" {
		line += ": " + c.Effect
	}
	line += " [" + f.Rule + "]"
	if len(c.Clears) > 0 {
		line += "; clears also " + strings.Join(c.Clears, ", ")
	}
	fmt.Fprintln(m.words, finding.Clean(line))
}

// print prints the change as a unified diff. Lines that a host would take for commands are changed, and the diff then said to
// be one for reading.
func (m *mending) print(s *Streams) error {
	patch := diff.Diff(m.in.Path, m.in.Data, m.in.Path, []byte(m.text))
	safe := guardedText(patch)
	if !bytes.Equal(safe, patch) {
		fmt.Fprintf(s.Err, "busgauss: the diff of %s is for reading alone: lines in it that hosts would take for commands are changed\n", m.in.Path)
	}
	return writeOut(s, safe)
}

// write puts the text in the place of the file, which keeps its mode, unless somebody changed it meanwhile.
func (m *mending) write(s *Streams) error {
	now, err := readPlain(m.in.key, maxFileBytes)
	if err != nil {
		return fmt.Errorf("read %s: %w", m.in.Path, plain(err))
	}
	if !bytes.Equal(now, m.in.Data) {
		return fmt.Errorf("write %s: it was changed meanwhile; nothing of it is written", m.in.Path)
	}
	info, err := os.Stat(m.in.key)
	if err != nil {
		return fmt.Errorf("write %s: %w", m.in.Path, plain(err))
	}
	if !info.Mode().IsRegular() {
		return errors.New("write " + m.in.Path + ": it is no plain file")
	}
	to := m.in.Path
	if real, err := filepath.EvalSymlinks(m.in.key); err == nil && real != m.in.key {
		to = real // the layout is a link to another one, which was read
	}
	if err := writeFile(s, to, func(w io.Writer) error {
		_, err := io.WriteString(w, m.text)
		return err
	}); err != nil {
		return err
	}
	return os.Chmod(m.in.key, info.Mode().Perm())
}
