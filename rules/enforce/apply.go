package enforce

import (
	"cmp"
	"fmt"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// soonDays is how long before its end a deviation is spoken of. Common practice:
// a fortnight is one cycle of work.
const soonDays = 14

// Checked is what one layout gave, with the levels of the standard.
type Checked struct {
	Layout   string // path below the root
	Findings []finding.Finding
	// Was is what it was called before, where that is certain. Default: Apply compares numbers with the baseline.
	Was Was
	// Broken says that the layout could not be read, so that no rule ran:
	// nothing of it can be missing.
	Broken bool
}

// Options steer Apply.
type Options struct {
	// Day is that of the run. It must be given where there are deviations.
	Day policy.Date
	// Strict makes a baseline entry that nothing matches an error. Default: a
	// note.
	Strict bool
	// Exists reports whether the root has a layout. Default: layouts that were
	// not checked are taken to be there.
	Exists func(string) bool
}

// Permission is one finding that may stand, and what permits it.
type Permission struct {
	Finding finding.Finding // verdict permitted
	// Was and Level are what the finding has without the permission.
	Was    finding.Verdict
	Level  finding.Level
	Reason string      // one line
	Until  policy.Date // zero for a baseline
	By     string      // who approved it; empty for a baseline
	Ticket string
	Span   span.Span // of the deviation or the entry
	InBase bool      // recorded in the baseline
}

// Outcome is what is left after deviations and the baseline.
type Outcome struct {
	// Findings holds every finding of the layouts, those that are permitted with
	// that verdict, and what is to be said of deviations and baseline; in the
	// order of all outputs.
	Findings []finding.Finding
	// Permitted holds those that are permitted, in the same order.
	Permitted []Permission
	// Worse holds those of Findings that the baseline records, but got worse.
	Worse []finding.Finding
	// Absent holds the entries of the baseline that nothing matches although their
	// layouts were judged, or do not exist any more.
	Absent []policy.Entry
	// Standing says of each entry of the baseline whether it holds, and how it would be written now.
	Standing []Standing
}

// Standing is what became of an entry of the baseline.
type Standing struct {
	// Entry is written as its layout and its objects are called now, with the number that was recorded.
	Entry policy.Entry
	// Holds says that a finding matches it, Gone that none does. Neither: nobody asked. Moved says that it holds
	// under other names than it was recorded with.
	Holds, Gone, Moved bool
}

// IsRemark reports whether a rule speaks of deviations and the baseline as they
// hold against the findings, not of a layout.
func IsRemark(rule string) bool {
	switch rule {
	case ruleEnded, ruleSoon, ruleUnused, ruleLost, ruleGone, ruleFollows, ruleCarried:
		return true
	}
	return false
}

// IsGone reports whether a rule speaks of a line of the baseline that nothing matches.
func IsGone(rule string) bool { return rule == ruleGone }

// Apply permits what a deviation or the baseline permits, and reports
// deviations that have ended, end soon, are not used or name no layout, and
// entries that nothing matches. The findings given are not changed.
func (e *Effective) Apply(checked []Checked, o Options) Outcome {
	if len(e.permits) > 0 && o.Day <= 0 {
		panic("enforce: deviations need the day of the run")
	}
	a := application{e: e, o: o, used: make([]bool, len(e.permits)), ended: make([]bool, len(e.permits)), soon: make([]bool, len(e.permits)),
		follows: make([]string, len(e.permits)), entries: map[entryKey][]int{}, aliases: map[string][]alias{}, carried: map[carried]*carry{}}
	for i := range e.set.Baseline {
		entry := &e.set.Baseline[i]
		k := e.keyOf(entry.File, entry.Rule, entry.Object, entry.Cause, entry.Others)
		a.entries[k] = append(a.entries[k], i)
		a.out.Standing = append(a.out.Standing, Standing{Entry: *entry})
	}
	judged, known := map[string]bool{}, map[string]bool{}     // as the baseline may call them
	judgedAs, knownAs := map[string]bool{}, map[string]bool{} // as deviations may
	moved := e.moves(checked, e.set.Baseline, o.Exists)
	for i := range checked {
		c := &checked[i]
		a.aliases[c.Layout] = c.aliases(moved)
		for _, n := range a.aliases[c.Layout] {
			known[n.file] = true
			judged[n.file] = judged[n.file] || !c.Broken
			if !n.guessed {
				knownAs[n.file], judgedAs[n.file] = true, judgedAs[n.file] || !c.Broken
			}
		}
		for _, f := range engine.Sorted(slices.Clone(c.Findings)) {
			a.layouts = append(a.layouts, c.Layout)
			a.one(c.Layout, f)
		}
	}
	a.missed(judgedAs)
	a.deviations(judgedAs, knownAs)
	a.leftOver(judged, known)
	a.sayCarried()
	slices.SortStableFunc(a.out.Permitted, func(x, y Permission) int { return engine.Compare(x.Finding, y.Finding) })
	a.out.Findings = engine.Sorted(a.out.Findings)
	return a.out
}

type application struct {
	e                 *Effective
	o                 Options
	out               Outcome
	layouts           []string           // of the findings of layouts, in the order of out.Findings
	aliases           map[string][]alias // by layout
	used, ended, soon []bool             // by permit: fits a finding, ended and the finding is back, permits something
	follows           []string           // by permit: what the layout or the object is called now, where it is not as the deviation says
	entries           map[entryKey][]int // entries of the baseline that are free, by identity
	carried           map[carried]*carry
}

// one decides about one finding.
func (a *application) one(layout string, f finding.Finding) {
	defer func() { a.out.Findings = append(a.out.Findings, f) }()
	if f.Verdict != finding.Fail && f.Verdict != finding.Undecided || !a.e.judges(f.Rule) {
		return
	}
	var back []int // deviations that have ended, should no other one permit it
	for i := range a.e.permits {
		p := &a.e.permits[i]
		names := shown(a.aliases[layout])
		n := slices.IndexFunc(names, func(n alias) bool { return p.fits(n.file, n.of(&f), a.e.known) })
		if n < 0 {
			continue
		}
		a.used[i] = true
		if names[n].file != layout {
			a.follows[i] = layout
		} else if n > 0 {
			a.follows[i] = quote(f.Object)
		}
		why := p.refuses(&f, a.o.Day)
		if why != "" {
			if a.o.Day > p.Until {
				back = append(back, i)
			}
			f.Related = append(slices.Clone(f.Related), finding.Related{Span: p.Span, Message: why, Always: true})
			continue
		}
		a.soon[i] = true
		a.permit(&f, Permission{Reason: p.Reason.Value, Until: p.Until, By: p.Approver.Value, Ticket: p.Ticket.Value, Span: p.Span}, p.words())
		return
	}
	for _, i := range back {
		a.ended[i] = true
	}
	a.record(layout, &f)
}

// record permits a finding that a line of the baseline holds, and takes the line.
func (a *application) record(layout string, f *finding.Finding) {
	for _, n := range a.aliases[layout] {
		was := n.of(f)
		k := a.e.keyOf(n.file, was.Rule, was.Object, was.Cause, was.Others)
		free := a.entries[k]
		if len(free) == 0 {
			continue
		}
		// Of a pair that stands twice, the one in the same order.
		first := max(0, slices.IndexFunc(free, func(i int) bool { return a.e.set.Baseline[i].Object == was.Object }))
		i := free[first]
		entry := &a.e.set.Baseline[i]
		a.entries[k] = slices.Delete(slices.Clone(free), first, first+1)
		a.hold(i, layout, f, n)
		if why := worse(f, entry, a.e.slack); why != "" {
			f.Related = append(slices.Clone(f.Related), finding.Related{Span: entry.Span, Message: why, Always: true})
			a.out.Worse = append(a.out.Worse, *f)
			return
		}
		a.permit(f, Permission{Reason: "recorded in the baseline", Span: entry.Span, InBase: true}, "recorded in the baseline")
		return
	}
}

func (a *application) permit(f *finding.Finding, p Permission, words string) {
	p.Was, p.Level = f.Verdict, f.Level
	f.Verdict, f.Level = finding.Permitted, finding.None
	f.Related = append(slices.Clone(f.Related), finding.Related{Span: p.Span, Message: words})
	p.Finding = *f
	a.out.Permitted = append(a.out.Permitted, p)
}

func (a *application) say(at span.Span, rule string, level finding.Level, object, remedy, format string, args ...any) {
	a.out.Findings = append(a.out.Findings, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: level, Object: object, Span: at,
		Message: fmt.Sprintf(format, args...), Remedy: remedy,
	})
}

// deviations says what is to be said of those for the layouts that were judged.
func (a *application) deviations(judged, known map[string]bool) {
	for i := range a.e.permits {
		p := &a.e.permits[i]
		name := fmt.Sprintf("%s of %s in %s", p.Rule.Value, quote(p.Object.Value), p.File.Value)
		if a.follows[i] != "" && a.soon[i] {
			a.say(p.Span, ruleFollows, finding.Note, p.Object.Value, "write the new name into the deviation before the change is merged",
				"the deviation for %s holds for %s, its new name", name, clip(a.follows[i]))
		}
		switch {
		case slices.Contains(a.e.known.OfChanges, p.Rule.Value):
			// What it permits is asked by runs that compare alone, and its layout may be gone.
			if a.o.Day > p.Until {
				a.say(p.UntilAt, ruleEnded, finding.Warning, p.Object.Value, "remove it", "the deviation for %s ended on %s", name, p.Until)
			}
		case !known[p.File.Value]:
			if a.o.Exists != nil && !a.o.Exists(p.File.Value) {
				a.say(p.File.Span, ruleLost, finding.Warning, p.Object.Value, "remove it, or name the layout's new path",
					"the deviation names %s, which does not exist", clip(p.File.Value))
			}
		case !judged[p.File.Value]:
		case a.o.Day > p.Until && a.ended[i]:
			a.say(p.UntilAt, ruleEnded, finding.Warning, p.Object.Value, "mend the layout, or have the deviation approved anew",
				"the deviation for %s ended on %s. The finding is back", name, p.Until)
		case a.o.Day > p.Until:
			a.say(p.UntilAt, ruleEnded, finding.Warning, p.Object.Value, "remove it",
				"the deviation for %s ended on %s and nothing needs it any more", name, p.Until)
		case !a.used[i]:
			a.say(p.Span, ruleUnused, finding.Warning, p.Object.Value, "remove it",
				"the deviation for %s permits nothing. There is no such finding", name)
		case a.soon[i] && p.Until-a.o.Day <= soonDays:
			a.say(p.UntilAt, ruleSoon, finding.Note, p.Object.Value, "mend the layout, or have the deviation approved anew",
				"the deviation for %s ends on %s, %s", name, p.Until, inDays(int(p.Until-a.o.Day)))
		}
	}
}

func inDays(n int) string {
	switch n {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	}
	return fmt.Sprintf("in %d days", n)
}

// leftOver reports the entries of the baseline that nothing matches.
func (a *application) leftOver(judged, known map[string]bool) {
	level := finding.Note
	if a.o.Strict {
		level = finding.Error
	}
	for i := range a.e.set.Baseline {
		entry := &a.e.set.Baseline[i]
		gone := judged[entry.File] || !known[entry.File] && a.o.Exists != nil && !a.o.Exists(entry.File)
		if a.out.Standing[i].Holds || !gone {
			continue
		}
		a.out.Standing[i].Gone = true
		a.out.Absent = append(a.out.Absent, *entry)
		a.say(entry.Span, ruleGone, level, entry.Object, "remove the line, as busgauss baseline --prune does",
			"nothing matches the baseline's %s of %s in %s any more", entry.Rule, quote(entry.Object), cmp.Or(entry.File, "no layout"))
	}
}
