package engine

import (
	"cmp"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/span"
	"busgauss/model/work"
)

// Options steer Check. The zero value is usable.
type Options struct {
	// AllRemedies also tries changes that take a solution of the field a step,
	// such as the pitch of bars in shields. Default: those that do not.
	AllRemedies bool
	// NoRemedies tries no change at all, where nobody reads remedies. Default: they
	// are tried.
	NoRemedies bool
	// Limit gives what a house standard sets for a limit of a rule, for the
	// channel of a sensor (empty: of none), with its origin in words and, where a
	// report can show it, its place. Default: nothing is set.
	Limit func(rule, key, channel string) (value float64, origin string, at span.Span, ok bool)
	// Stop is asked before each rule and each remedy; once it is true nobody reads what comes of the
	// run, and the rest is left out. Default: never.
	Stop func() bool
	// Grade is what a house standard makes of findings: it may alter their verdicts and levels in place, of each by
	// itself. Default: nothing.
	Grade func(found []finding.Finding)
	// House returns what the rules of a house standard find. Default: nothing.
	House func(m *probe.Model) []finding.Finding
	// Work is what the layout may take, for who makes the model. Default: there is no end of it.
	Work *work.Budget
	// File is the text of the layout, so that remedies can be written as edits of it.
	// Default: they are not.
	File *File
}

// File is the text of a layout and how such a text is read: nil where it holds no layout.
type File struct {
	Text string
	Load func(text string) *layout.Layout
}

func (o *Options) stopped() bool { return o.Stop != nil && o.Stop() }

func (o *Options) grade(found []finding.Finding) {
	if o.Grade != nil {
		o.Grade(found)
	}
}

func (o *Options) house(m *probe.Model) []finding.Finding {
	if o.House == nil || o.stopped() {
		return nil
	}
	return o.House(m)
}

// Check runs every rule over a layout and returns all that they say, in order
// of position, rule and object, without repeats.
func Check(l *layout.Layout, rules []Rule, o Options) []finding.Finding {
	return CheckWith(probe.NewModel(l), rules, o)
}

// CheckWith is Check with a model of the layout that the caller keeps: what the
// rules had it compute can then be asked for again at no cost.
func CheckWith(model *probe.Model, rules []Rule, o Options) []finding.Finding {
	runs, found := runAll(model, rules, o)
	o.grade(found)
	denied := model.Work().Denied()
	house := o.house(model)
	if model.Work().Denied() > denied {
		endedWith(model.Work().Over(), finding.Error, house)
	}
	found = append(found, house...)
	explain(model, runs, found)
	if !o.NoRemedies && !o.stopped() {
		if slices.ContainsFunc(runs, func(r *Run) bool { return len(r.asked) > 0 }) {
			model.LetGo() // changed layouts are solved from here on
		}
		m := mender{model: model, rules: rules, o: o, found: found}
		m.mend(runs)
	}
	return Sorted(found)
}

// runAll runs every rule and joins what they find, in their order.
func runAll(model *probe.Model, rules []Rule, o Options) ([]*Run, []finding.Finding) {
	var runs []*Run
	var found []finding.Finding
	for i := range rules {
		if o.stopped() {
			break
		}
		run := decide(model.Layout, model, &rules[i], o)
		runs, found = append(runs, run), append(found, run.out...)
	}
	return runs, found
}

// decide runs one rule, and again with smaller bounds while a limit lies inside
// a bound and the model can do better. Refinement goes no further than verdicts
// need, nor than it narrows their bounds.
func decide(l *layout.Layout, model *probe.Model, rule *Rule, o Options) *Run {
	var coarser *Run
	for {
		run := Run{Layout: l, Model: model, AllRemedies: o.AllRemedies, rule: rule, limit: o.Limit, denied: model.Work().Denied()}
		run.check()
		if over := run.over(); over != nil && coarser != nil {
			coarser.open(over)
			return coarser
		}
		coarser = &run
		finer, ok := model.Refined()
		if !ok || !run.finer && (len(run.unsure) == 0 || run.stuck()) {
			return &run
		}
		model = finer
	}
}

func (r *Run) check() {
	r.rule.Check(r)
	r.answerNeeds()
}

// open is a verdict that a smaller bound may decide: a limit lay inside that of what was found.
type open struct {
	of    int // index of out
	found bounded.Estimate
}

// meshPart is the part of a bound below which its meshes are not worth a finer one.
const meshPart = 0.1

// stuck reports whether a finer level has nothing to decide: with the bounds of the meshes left out the same verdicts are
// open, and their bounds are nearly as wide.
func (r *Run) stuck() bool {
	if !r.Model.FinerByMesh() {
		return false
	}
	rough := Run{Layout: r.Layout, Model: r.Model.Rough(), rule: r.rule, limit: r.limit, denied: r.Model.Work().Denied()}
	rough.check()
	if over := rough.over(); over != nil {
		r.open(over)
		return true
	}
	if len(rough.unsure) != len(r.unsure) {
		return false
	}
	for i, a := range r.unsure {
		b := rough.unsure[i]
		if a.of != b.of || !(b.found.High-b.found.Low >= (1-meshPart)*(a.found.High-a.found.Low)) {
			return false
		}
	}
	return true
}

// Sorted returns findings in the one order that every output uses: path, line,
// column, rule, object, cause, verdict, message. Equal ones are kept once.
func Sorted(all []finding.Finding) []finding.Finding {
	slices.SortStableFunc(all, Compare)
	return slices.CompactFunc(all, func(a, b finding.Finding) bool { return Compare(a, b) == 0 })
}

// Compare orders two findings; 0 means that they say the same of the same place.
func Compare(a, b finding.Finding) int {
	return cmp.Or(
		cmp.Compare(a.Span.File, b.Span.File),
		cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
		cmp.Compare(a.Span.Start.Column, b.Span.Start.Column),
		cmp.Compare(a.Rule, b.Rule),
		cmp.Compare(a.Object, b.Object),
		cmp.Compare(a.Cause, b.Cause),
		cmp.Compare(a.Verdict, b.Verdict),
		cmp.Compare(a.Message, b.Message),
		slices.Compare(a.Others, b.Others),
	)
}
