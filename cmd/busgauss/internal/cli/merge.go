package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

func newMerge(s *Streams) *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "merge [flags] PART...",
		Short: "make of the parts of a check the reports of one run",
		Long: `Merge reads the parts that busgauss check --part K/N wrote, all N of them in any order,
and reports as one run of check would, byte for byte, with its exit status. Nothing is
checked again.

It is run in the same folder of the same tree: it reads the layouts that check was given
and the files that govern them again, and refuses parts that are missing, given twice,
damaged, of another version or another run, or older than a change of those files. A digest
tells damage, not forgery: take parts from machines that you trust as much as this one.

--remedies, --standard and --standard-from are those that the parts were made with.`,
		Example: `  busgauss check --part 1/2 --output part=1.part hardware/
  busgauss check --part 2/2 --output part=2.part hardware/
  busgauss merge --output sarif=busgauss.sarif 1.part 2.part`,
		RunE: func(c *cobra.Command, args []string) error { return merge(c.Context(), s, &o, args) },
	}
	o.reportFlags(c)
	c.Flags().StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
	return c
}

func merge(ctx context.Context, s *Streams, o *checkOptions, args []string) error {
	if len(args) == 0 {
		return usage("merge: name the parts that check --part wrote")
	}
	w, err := o.wanted(s, true)
	if err != nil {
		return err
	}
	for _, t := range w.targets {
		for _, path := range args {
			if filepath.Clean(resolve(s.Dir, t.path)) == filepath.Clean(resolve(s.Dir, path)) {
				return usage("--output %s=%s: the report would overwrite the part", t.format, t.path)
			}
		}
	}
	parts, err := readParts(s, args)
	if err != nil {
		return err
	}
	first := &parts[0].Run
	o.remedies, o.file, o.from = first.Remedies, first.Standard, first.From
	g, err := o.open(ctx, s, first.Arguments, w.targets)
	if err != nil {
		return &failure{statusTrouble, fmt.Errorf("merge: read again what check was given: %w", err)}
	}
	defer g.finder.close()
	if why := first.changed(newPartRun(o, first.Arguments, g, first.Parts)); why != "" {
		return usage("merge: %s since the parts were written: write them again", why)
	}
	outcomes, err := outcomesOf(parts, g.inputs, o.packing(w.targets, len(g.inputs)))
	if err != nil {
		return err
	}
	return o.finish(ctx, s, w, g, outcomes)
}

// readParts reads all parts of one run, or says which of them are not to be had.
func readParts(s *Streams, paths []string) ([]*partFile, error) {
	var parts []*partFile
	pathOf := map[int]string{}
	for _, path := range paths {
		p, err := readPart(s, path)
		if err != nil {
			return nil, err
		}
		if len(parts) > 0 {
			if why := parts[0].Run.differs(&p.Run); why != "" {
				return nil, usage("merge: %s and %s are not of one run: %s", paths[0], path, why)
			}
		}
		if other, twice := pathOf[p.Part]; twice {
			return nil, usage("merge: part %d of %d is given twice, as %s and as %s", p.Part, p.Run.Parts, other, path)
		}
		pathOf[p.Part] = path
		parts = append(parts, p)
	}
	var missing []string
	for k := 1; k <= parts[0].Run.Parts; k++ {
		if _, have := pathOf[k]; !have {
			missing = append(missing, fmt.Sprint(k))
		}
	}
	if len(missing) > 0 {
		return nil, usage("merge: of %d parts these are missing: %s", parts[0].Run.Parts, strings.Join(missing, ", "))
	}
	return parts, nil
}

// differs says why two parts are not of one run; empty where they are.
func (p *partRun) differs(q *partRun) string {
	switch {
	case p.Parts != q.Parts:
		return fmt.Sprintf("one is of %d parts, the other of %d", p.Parts, q.Parts)
	case !slices.Equal(p.Arguments, q.Arguments):
		return fmt.Sprintf("other LAYOUT arguments, %q and %q", p.Arguments, q.Arguments)
	case p.Work != q.Work:
		return fmt.Sprintf("--work %d and %d, --run-work %d and %d", p.Work[0], q.Work[0], p.Work[1], q.Work[1])
	case p.Remedies != q.Remedies:
		return fmt.Sprintf("--remedies %q and %q", p.Remedies, q.Remedies)
	case p.Standard != q.Standard:
		return fmt.Sprintf("--standard %q and %q", p.Standard, q.Standard)
	case p.From != q.From:
		return fmt.Sprintf("--standard-from %q and %q", p.From, q.From)
	case p.Processor != q.Processor:
		return fmt.Sprintf("processors %s and %s, which round differently", p.Processor, q.Processor)
	}
	if why := p.changed(*q); why != "" {
		return why + " between them"
	}
	return ""
}

// changed names the first governing file or layout that is not the same in both; empty where all are.
func (p *partRun) changed(now partRun) string {
	for _, d := range slices.Concat(p.Governing, now.Governing) {
		if !slices.Contains(p.Governing, d) || !slices.Contains(now.Governing, d) {
			return d.Path + " has changed"
		}
	}
	if !slices.Equal(p.Layouts, now.Layouts) {
		of := map[string]partLayout{}
		for _, l := range p.Layouts {
			of[l.Path] = l
		}
		for _, l := range now.Layouts {
			was, there := of[l.Path]
			delete(of, l.Path)
			switch {
			case !there:
				return l.Path + " is new"
			case was.Digest != l.Digest:
				return l.Path + " has changed"
			case was != l:
				return "the standard of " + l.Path + " has changed"
			}
		}
		for _, l := range p.Layouts {
			if _, gone := of[l.Path]; gone {
				return l.Path + " has gone"
			}
		}
	}
	return ""
}

// outcomesOf puts the outcomes of all parts in the order of the inputs, each of which must be in one part.
func outcomesOf(parts []*partFile, inputs []input, as packing) ([]outcome, error) {
	outcomes := make([]outcome, len(inputs))
	times := make([]int, len(inputs))
	for _, p := range parts {
		for i := range p.Outcomes {
			at := p.Outcomes[i].Layout
			if at < 0 || at >= len(inputs) {
				return nil, usage("merge: part %d speaks of a layout that is none of its run", p.Part)
			}
			times[at]++
			outcomes[at] = p.Outcomes[i].outcome()
			outcomes[at].pack(inputs[at].Path, as)
			p.Outcomes[i] = partOutcome{} // packed, or held by what it became
		}
	}
	for _, i := range readable(inputs) {
		if times[i] != 1 {
			return nil, usage("merge: %s is in %d parts of %d, not in one: write them again", inputs[i].Path, times[i], len(parts))
		}
	}
	return outcomes, nil
}
