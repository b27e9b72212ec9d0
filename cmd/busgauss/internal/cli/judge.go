package cli

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"sync/atomic"

	"busgauss/model/channel"
	"busgauss/model/fem"
	"busgauss/model/field"
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

// outcome is what one file gave, before deviations and a baseline.
type outcome struct {
	understood bool           // the file holds a layout
	layout     *layout.Layout // nil when it was not understood, or when the outcome comes out of a part
	model      *probe.Model   // with what the rules had it compute
	said       []finding.Finding
	assumed    []finding.Assumption
	packed     *packed // what passed and what did not apply, taken from said; nil: it is there
	cut        bool    // not done before an interrupt: nothing else of the outcome counts
	took       float64 // steps of work
	known      bool    // computed by an earlier run
}

// layoutOf returns the layout of an outcome, which was read from data under a path; nil where it was not understood.
func (o *outcome) layoutOf(path string, data []byte) *layout.Layout {
	if o.layout != nil || !o.understood {
		return o.layout
	}
	l, _ := load.Load(path, data) // its problems are among the findings
	return l
}

// judge judges one layout.
type judge func(*report.File, *layoutStandard, []engine.Rule, engine.Options) outcome

// checker judges many layouts, several at a time. The zero value does.
type checker struct {
	opt     engine.Options
	watch   io.Writer // where progress is shown; nil: nowhere
	judge   judge     // nil: checkOne
	results *results  // of earlier runs; nil: none
	packing packing   // of what passed
	work    workOptions
}

// each checks every input that could be read.
func (c *checker) each(ctx context.Context, inputs []input, standards []layoutStandard) ([]outcome, error) {
	costs, err := costsOf(ctx, inputs)
	if err != nil {
		return nil, err
	}
	return c.check(ctx, inputs, standards, costs, readable(inputs))
}

// check checks the inputs at the places which, the dearest first, so that no processor waits at the end for one that
// began late, or by their paths where the work of the run may not do for all. After an interrupt the error says how many were
// done, and the outcomes of all others are cut.
func (c *checker) check(ctx context.Context, inputs []input, standards []layoutStandard, costs, which []int) ([]outcome, error) {
	list := rules.All()
	if err := engine.Validate(list); err != nil {
		return nil, fmt.Errorf("rules: %w", err)
	}
	one := c.judge
	if one == nil {
		one = c.results.checkOne
	}
	outcomes := make([]outcome, len(inputs))
	for _, i := range which {
		outcomes[i].cut = true
	}
	var done atomic.Int64
	slots := make(chan bool, dearAtOnce)
	shares, order := c.work.shareOut(inputs, standards, dearestFirst(costs, which))
	at := startProgress(c.watch, inputs, costs, order)
	defer at.end()
	parallel.Each(len(order), len(order), func(_, n int) {
		i := order[n]
		took := 0.0
		defer func() { shares.end(n, took) }()
		if ctx.Err() != nil {
			return
		}
		opt := c.opt
		if opt.Work = shares.budget(n); opt.Work == nil {
			opt.Work = c.work.budget(&standards[i])
		}
		key, keeps := c.results.key(&inputs[i].File, &standards[i], opt)
		if keeps {
			if o, ok := c.results.outcome(key); ok {
				took = o.took
				o.pack(inputs[i].Path, c.packing)
				outcomes[i] = o
				at.skip(i)
				done.Add(1)
				return
			}
		}
		if costs[i] > dearFrom {
			slots <- true
			defer func() { <-slots }()
		}
		at.begin(i)
		o, whole := untilDone(ctx, func() outcome { return one(&inputs[i].File, &standards[i], list, opt) })
		if !whole {
			return
		}
		o.model = nil // fields of many layouts would fill the memory
		o.took, took = opt.Work.Taken(), opt.Work.Taken()
		if keeps {
			c.results.keep(key, &o)
		}
		o.pack(inputs[i].Path, c.packing)
		outcomes[i] = o
		at.done(i)
		done.Add(1)
	})
	if ctx.Err() != nil {
		return outcomes, c.results.interrupted(ctx, "checked", int(done.Load()), len(order), "layout")
	}
	return outcomes, nil
}

// readable returns the places of the inputs that could be read.
func readable(inputs []input) []int {
	var out []int
	for i := range inputs {
		if inputs[i].err == nil {
			out = append(out, i)
		}
	}
	return out
}

// dearestFirst returns the places which by falling cost, those of one cost in their order.
func dearestFirst(costs, which []int) []int {
	order := slices.Clone(which)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(costs[b], costs[a]) })
	return order
}

const (
	// dearFrom is the cost from which a layout may fill its shelf, and dearAtOnce how many of those are checked at once, so that
	// memory has an end on any number of processors.
	dearFrom   = 20
	dearAtOnce = 4
)

// exactUpTo is the number of layouts above which those that nowhere speak of shields are taken for bare bars without being loaded:
// of a few that solve for their frequencies none waits long for another then.
const exactUpTo = 256

// costsOf estimates what each input takes: see field.Model.Cost. What cannot be understood costs as much as bare bars,
func costsOf(ctx context.Context, inputs []input) ([]int, error) {
	costs := make([]int, len(inputs))
	parallel.Each(len(inputs), len(inputs), func(_, i int) {
		costs[i] = 1
		if len(inputs) == 1 || inputs[i].err != nil || ctx.Err() != nil ||
			len(inputs) > exactUpTo && !bytes.Contains(inputs[i].Data, []byte("shields")) {
			return
		}
		costs[i], _ = untilDone(ctx, func() int {
			l, _ := load.Load(inputs[i].Path, inputs[i].Data) // what is wrong with it is told when it is checked
			if l == nil {
				return 1
			}
			return field.NewModel(l).Cost()
		})
	})
	return costs, ctx.Err()
}

// checkOne judges a layout by the limits, levels and rules of its standard.
func checkOne(f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	return checkKnowing(nil, f, s, list, opt)
}

// checkKnowing is checkOne with answers of the plane section from earlier; nil: none.
func checkKnowing(known *fem.Answers, f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	l, problems := load.Load(f.Path, f.Data)
	if l == nil {
		return outcome{said: engine.Sorted(problems)}
	}
	return judgeModel(&probe.Model{Model: field.NewModelWithin(opt.Work, l).Knowing(known)}, problems, f, s, list, opt)
}

// judgeModel judges a layout of which a model is at hand; problems are what was wrong with its file.
func judgeModel(m *probe.Model, problems []finding.Finding, f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	l := m.Layout
	out := outcome{understood: true, layout: l, model: m, assumed: channel.Assumed(l)}
	opt.File = &engine.File{Text: string(f.Data), Load: func(text string) *layout.Layout {
		l, _ := load.Load(f.Path, []byte(text)) // what is wrong with it makes it nil
		return l
	}}
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
	opt.Grade = s.view.Grade
	opt.House = func(m *probe.Model) []finding.Finding { return s.view.HouseRules(quantity.Of(m)) }
	out.said = engine.Sorted(append(problems, engine.CheckWith(m, s.view.Rules(list), opt)...))
	return out
}
