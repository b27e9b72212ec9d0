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

func newBaseline(s *Streams) *cobra.Command {
	var o standardOptions
	c := &cobra.Command{
		Use:   "baseline [flags] LAYOUT...",
		Short: "record what is found now, so that only new and worse findings count",
		Long: `Baseline checks layouts and records what fails and what could not be decided in
busgauss-baseline.yaml: the one that governs the layouts, or a new one in the root of the
repository. Entries for layouts that were not named stay. What a deviation permits is not
recorded.

Findings are recognised by layout, rule, object and cause, not by line. One that gets
worse than recorded by more than a share of its limit (baseline-slack of the standard,
by default 1 %) comes back. No other command writes the file.`,
		Example: "  busgauss baseline hardware/",
		RunE:    func(c *cobra.Command, args []string) error { return baseline(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.StringVar(&o.file, "standard", "", "house standard `FILE` for all layouts, in place of the nearest one above each")
	f.StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
	return c
}

func baseline(ctx context.Context, s *Streams, o *standardOptions, args []string) error {
	if len(args) == 0 {
		return usage("baseline: name a layout, a folder or a pattern")
	}
	for _, arg := range args {
		if arg == "-" {
			return usage("baseline: name files: standard input has no place in the repository")
		}
	}
	if err := o.parse(); err != nil {
		return err
	}
	inputs, _, err := gather(ctx, args, s, "")
	if err != nil {
		return err
	}
	homes, err := openEstate(ctx, s, o)
	if err != nil {
		return err
	}
	defer homes.close()
	if inputs, _, err = homes.governing(inputs); err != nil {
		return err
	}
	for i := range inputs {
		if in := &inputs[i]; in.err != nil {
			return &failure{statusTrouble, fmt.Errorf("read %s: %w", in.Path, in.err)}
		} else if _, ok := below(homes.here, in.key); !ok {
			return usage("baseline: %s is not below %s, the root of the repository", in.Path, homes.shown(homes.here))
		}
	}
	t, err := homes.tree(homes.here)
	if err != nil {
		return err
	}
	b := newRecorder(t)
	seats := make([]seat, len(inputs))
	for i := range inputs {
		seats[i] = b.seat(inputs[i].RootPath)
	}
	if err := brokenHouse(s, b.houses); err != nil {
		return err
	}
	outcomes, err := checkEach(ctx, inputs, seats, engine.Options{NoRemedies: true}, startProgress(nil, len(inputs)))
	if err != nil {
		return err
	}
	var unclear []finding.Finding
	for i := range outcomes {
		if outcomes[i].layout == nil {
			unclear = append(unclear, outcomes[i].said...)
		}
	}
	if len(unclear) > 0 {
		if err := text.Write(s.Err, &report.Result{Tool: tool(), Findings: unclear}, text.Options{Quiet: true}); err != nil {
			return err
		}
		return &failure{statusFindings, errors.New("nothing is written: a layout cannot be understood")}
	}
	return b.write(s, homes, inputs, seats, outcomes, o)
}

// recorder records baselines. The houses that it judges by have none, or what is
// recorded now would hide itself.
type recorder struct {
	tree   *houseTree
	houses []*house
	target map[*house]string // path of the baseline that is written
	old    map[string]*house // what it holds now, by path
	order  []string
}

func newRecorder(t *houseTree) *recorder {
	return &recorder{tree: t, target: map[*house]string{}, old: map[string]*house{}}
}

func (b *recorder) seat(layout string) seat {
	p := b.tree.paths(layout)
	to := p.Baseline
	if to == "" {
		to = policyfile.BaselineName
	}
	if b.old[to] == nil {
		b.old[to] = &house{set: &policy.Set{}}
		if p.Baseline != "" {
			b.old[to] = b.tree.house(p)
			b.houses = append(b.houses, b.old[to])
		}
		b.order = append(b.order, to)
	}
	p.Baseline = ""
	// One house for each baseline, although the standards may be the same.
	h := *b.tree.house(p)
	for known, at := range b.target {
		if at == to && known.paths == h.paths {
			return b.sit(known, layout)
		}
	}
	b.target[&h] = to
	b.houses = append(b.houses, &h)
	return b.sit(&h, layout)
}

func (b *recorder) sit(h *house, layout string) seat {
	s := seat{house: h, layout: layout}
	if h.effective != nil {
		s.view = h.effective.For(layout)
	}
	return s
}

// write writes every baseline that a layout belongs to.
func (b *recorder) write(s *Streams, homes *estate, inputs []input, seats []seat, outcomes []outcome, o *standardOptions) error {
	for _, to := range b.order {
		entries := b.old[to].set.Baseline
		layouts := 0
		for _, h := range b.houses {
			if b.target[h] != to {
				continue
			}
			var checked []enforce.Checked
			for i := range inputs {
				if seats[i].house == h {
					checked = append(checked, enforce.Checked{Layout: seats[i].layout, Findings: outcomes[i].said})
				}
			}
			layouts += len(checked)
			// What deviations permit has the verdict permitted afterwards.
			left := byPath(h.effective.Apply(checked, enforce.Options{Day: o.day}).Findings)
			for i, n := 0, 0; i < len(inputs); i++ {
				if seats[i].house == h {
					checked[n].Findings = left[inputs[i].Path]
					n++
				}
			}
			entries = h.effective.Record(checked, entries)
		}
		full := filepath.Join(homes.here, filepath.FromSlash(to))
		shown := homes.shown(full)
		err := writeFile(s, full, func(w io.Writer) error {
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
		fmt.Fprintf(s.Err, "busgauss: recorded %s of %s in %s\n", report.Count(len(entries), "finding"), report.Count(layouts, "layout"), finding.Clean(shown))
	}
	return nil
}
