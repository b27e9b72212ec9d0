package cli

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// part is one --part K/N with its file.
type part struct {
	number, of int
	to         target
}

// mostParts keeps a slip of the pen from making a million parts.
const mostParts = 10_000

// partAlone refuses flags that a part has no use for.
func partAlone(f *pflag.FlagSet) error {
	if f.Changed("changed-since") {
		return usage("--part with --changed-since: what changed is told by comparing all layouts with all that were; " +
			"check without --part, or merge the parts and leave --changed-since out")
	}
	for _, name := range []string{"format", "fail-level", "detail", "passes", "date", "strict-baseline"} {
		if f.Changed(name) {
			return usage("--part with --%s: a part is no report, and holds verdicts before deviations and a baseline; give --%s to busgauss merge", name, name)
		}
	}
	return nil
}

// partOf reads --part and its --output; nil without --part.
func (o *checkOptions) partOf(args []string) (*part, error) {
	if o.part == "" {
		for _, v := range o.outputs {
			if strings.HasPrefix(v, "part=") {
				return nil, usage("--output %s: a part is written with --part K/N", v)
			}
		}
		return nil, nil
	}
	k, n, ok := strings.Cut(o.part, "/")
	p := &part{}
	var err1, err2 error
	p.number, err1 = strconv.Atoi(k)
	p.of, err2 = strconv.Atoi(n)
	if !ok || err1 != nil || err2 != nil || p.number < 1 || p.number > p.of || p.of > mostParts {
		return nil, usage("--part %q: write K/N, such as 2/8, with K from 1 to N and N at most %d", o.part, mostParts)
	}
	if slices.Contains(args, "-") {
		return nil, usage("--part with -: busgauss merge reads the layouts again, and standard input is read but once")
	}
	if len(o.outputs) != 1 || !strings.HasPrefix(o.outputs[0], "part=") {
		return nil, usage("--part %s: write it with --output part=FILE and no other report; busgauss merge writes the reports", o.part)
	}
	targets, err := parseTargets(o.outputs, []string{"part"})
	if err != nil {
		return nil, err
	}
	p.to = targets[0]
	return p, nil
}

// share returns the places of the inputs of this part, in their order: see shared.
func (p *part) share(inputs []input, costs []int) []int {
	var out []int
	which := readable(inputs)
	for n, of := range shared(costs, which, p.of) {
		if of == p.number-1 {
			out = append(out, which[n])
		}
	}
	return out
}

// shared shares out work to parts: the dearest first, each to the part that has least, the first of those that have the
// same. It returns the part of each place, from 0. No part of m has more than 4/3 − 1/(3m) of what the dearest
// one has when shared out in the best way: R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17
// (1969) 416.
func shared(costs, which []int, parts int) []int {
	at := map[int]int{}
	for n, i := range which {
		at[i] = n
	}
	out := make([]int, len(which))
	load := make([]int, parts)
	for _, i := range dearestFirst(costs, which) {
		least := slices.Index(load, slices.Min(load))
		out[at[i]] = least
		load[least] += costs[i]
	}
	return out
}

// write writes the part. Its exit status says whether that was done: verdicts, and what is to be said of layouts that
// could not be read, come with the merge.
func (p *part) write(s *Streams, o *checkOptions, args []string, g *given, outcomes []outcome, which []int) error {
	f := &partFile{Run: newPartRun(o, args, g, p.of), Part: p.number}
	f.store(outcomes, which)
	tellUnread(s, g.inputs)
	err := writeFile(s, p.to.path, func(w io.Writer) error {
		data, err := f.bytes()
		if err == nil {
			_, err = w.Write(data)
		}
		return err
	})
	if err != nil {
		return &failure{statusTrouble, err}
	}
	if !o.quiet {
		fmt.Fprintf(s.Err, "busgauss: wrote part %d of %d, %d of %s, in %s\n",
			p.number, p.of, len(which), report.Count(len(g.inputs), "layout"), finding.Clean(p.to.path))
	}
	return nil
}
