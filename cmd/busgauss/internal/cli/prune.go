package cli

import (
	"fmt"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/enforce"
	"busgauss/rules/report"
)

// pruner takes out of baselines what nothing matches any more, and adds nothing.
type pruner struct {
	tree *standardTree
	sets []*standardSet
}

func (p *pruner) all() []*standardSet { return p.sets }

func (p *pruner) of(layout string) layoutStandard {
	s := p.tree.of(layout)
	if !slices.Contains(p.sets, s.set) {
		p.sets = append(p.sets, s.set)
	}
	return s
}

// write writes every baseline that governs a layout. A line goes where one of the standards beside it says that nothing
// matches it and none that something does. What is recorded of a layout that was not done in time stays.
func (p *pruner) write(s *Streams, finder *standardFinder, inputs []input, standards []layoutStandard,
	outcomes []outcome, day policy.Date) error {
	standing := map[string][]enforce.Standing{}
	var order []string
	for _, set := range p.sets {
		at := set.paths.Baseline
		if at == "" {
			continue
		}
		if _, seen := standing[at]; !seen {
			standing[at], order = make([]enforce.Standing, len(set.files.Baseline)), append(order, at)
			for i := range set.files.Baseline {
				standing[at][i].Entry = set.files.Baseline[i]
			}
		}
		var checked []enforce.Checked
		for i := range inputs {
			if standards[i].set == set && inputs[i].err == nil {
				checked = append(checked, enforce.Checked{Layout: standards[i].layout, Findings: outcomes[i].said})
			}
		}
		for i, now := range set.effective.Apply(checked, enforce.Options{Day: day, Exists: set.exists}).Standing {
			if now.Holds || now.Gone && !standing[at][i].Holds {
				standing[at][i] = now
			}
		}
	}
	if len(order) == 0 {
		return usage("baseline --prune: no baseline governs the layouts")
	}
	var failed []error
	for _, at := range order {
		var kept []policy.Entry
		moved := 0
		for _, now := range standing[at] {
			if now.Gone {
				continue
			}
			kept = append(kept, now.Entry)
			if now.Moved {
				moved++
			}
		}
		enforce.SortEntries(kept)
		if err := writeBaseline(s, finder, at, kept); err != nil {
			failed = append(failed, err)
			continue
		}
		fmt.Fprintf(s.Err, "busgauss: dropped %s, kept %d, of them %d under a new name, in %s\n",
			report.Count(len(standing[at])-len(kept), "line"), len(kept), moved, finding.Clean(finder.shown(finder.full(at))))
	}
	return lastOf(s, failed)
}
