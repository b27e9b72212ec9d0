package enforce

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
)

// Was is what deviations and the baseline call a layout that was renamed, or its sensors. The zero value: as now.
type Was struct {
	// Layout is the path before, which does not exist any more; empty where the layout was not moved.
	Layout string
	// Names holds the names before of sensors that were renamed, by the names now.
	Names map[string]string
}

// alias is one way in which deviations and the baseline may call what a finding is about.
type alias struct {
	file  string
	names map[string]string // as in Was
	// guessed says that no content of before shows it, but the records of the baseline alone: good enough for the baseline,
	// whose lines hold by their numbers, and not for a deviation, which somebody approved for one layout.
	guessed bool
}

// shown returns the aliases that are no guesses.
func shown(names []alias) []alias {
	return slices.DeleteFunc(slices.Clone(names), func(n alias) bool { return n.guessed })
}

// aliases returns the ways to call the findings of a layout, as it is called now first.
func (c *Checked) aliases(moved map[string]string) []alias {
	out := []alias{{file: c.Layout}}
	if len(c.Was.Names) > 0 {
		out = append(out, alias{file: c.Layout, names: c.Was.Names})
	}
	if from := cmp.Or(c.Was.Layout, moved[c.Layout]); from != "" {
		guessed := c.Was.Layout == ""
		out = append(out, alias{file: from, guessed: guessed})
		if len(c.Was.Names) > 0 {
			out = append(out, alias{from, c.Was.Names, guessed})
		}
	}
	return out
}

// of returns a finding with the names that the alias has for objects.
func (n alias) of(f *finding.Finding) *finding.Finding {
	if len(n.names) == 0 {
		return f
	}
	before := func(name string) string { return cmp.Or(n.names[name], name) }
	out := *f
	out.Object, out.Cause, out.Others = before(f.Object), before(f.Cause), slices.Clone(f.Others)
	for i, name := range out.Others {
		out.Others[i] = before(name)
	}
	return &out
}

// moves says, without the content of before, which layouts were moved: paths before by paths now. A layout that the
// entries do not name is taken for one whose path does not exist any more where it has more than half of what is
// recorded of that one, each of the same rule, objects and cause, and at least one of the same number to the six digits
// of a record. No two are taken for the same, the most alike goes first.
func (e *Effective) moves(checked []Checked, entries []policy.Entry, exists func(string) bool) map[string]string {
	if exists == nil {
		return nil
	}
	recorded, there := map[string][]*policy.Entry{}, map[string]bool{}
	for i := range checked {
		there[checked[i].Layout] = true
		if from := checked[i].Was.Layout; from != "" {
			there[from] = true // it is known already what became of it
		}
	}
	for i := range entries {
		recorded[entries[i].File] = append(recorded[entries[i].File], &entries[i])
	}
	var gone []string
	for file := range recorded {
		if !there[file] && !exists(file) {
			gone = append(gone, file)
		}
	}
	slices.Sort(gone)
	type likeness struct {
		from, to      string
		held, numbers int
	}
	var all []likeness
	for i := range checked {
		c := &checked[i]
		if len(gone) == 0 || c.Broken || c.Was.Layout != "" || len(recorded[c.Layout]) > 0 {
			continue
		}
		has := e.identities(c.Findings)
		for _, from := range gone {
			l := likeness{from: from, to: c.Layout}
			for _, entry := range recorded[from] {
				same := false
				for _, f := range has[e.keyOf("", entry.Rule, entry.Object, entry.Cause, entry.Others)] {
					same = same || sameNumber(f, entry)
					if same || !entry.HasValue {
						l.held++
						break
					}
				}
				if same {
					l.numbers++
				}
			}
			if l.numbers > 0 && 2*l.held > len(recorded[from]) {
				all = append(all, l)
			}
		}
	}
	slices.SortFunc(all, func(a, b likeness) int {
		return cmp.Or(-cmp.Compare(a.held, b.held), -cmp.Compare(a.numbers, b.numbers), cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	out, used := map[string]string{}, map[string]bool{}
	for _, l := range all {
		if out[l.to] == "" && !used[l.from] {
			out[l.to], used[l.from] = l.from, true
		}
	}
	return out
}

// identities groups findings that a baseline may record by what they are about, whatever file they are in.
func (e *Effective) identities(list []finding.Finding) map[entryKey][]*finding.Finding {
	out := map[entryKey][]*finding.Finding{}
	for i := range list {
		if f := &list[i]; e.recordable(f) {
			k := e.keyOf("", f.Rule, f.Object, f.Cause, f.Others)
			out[k] = append(out[k], f)
		}
	}
	return out
}

// sameNumber reports whether a finding has the verdict and the number of an entry, to the six digits of a record. A
// number that is 0 tells nothing.
func sameNumber(f *finding.Finding, e *policy.Entry) bool {
	m := f.Measure
	return m != nil && e.HasValue && e.Value != 0 && m.Unit == e.Unit && e.Undecided == (f.Verdict == finding.Undecided) &&
		math.Abs(m.Value-e.Value) <= 1e-5*math.Abs(e.Value)
}

// carried is one change of names that lines of the baseline followed; carry is how many did, and the first of them.
type carried struct{ fromFile, toFile, from, to string }
type carry struct {
	lines int
	first int // its index
}

// hold notes that a finding of a layout matches an entry.
func (a *application) hold(i int, layout string, f *finding.Finding, n alias) {
	old := &a.e.set.Baseline[i]
	now := &a.out.Standing[i]
	now.Holds = true
	now.Entry.File = layout
	k := carried{fromFile: old.File, toFile: layout}
	for _, name := range append([]string{f.Object, f.Cause}, f.Others...) {
		if before := n.names[name]; before != "" && k.from == "" {
			now.Entry.Object, now.Entry.Cause, now.Entry.Others = f.Object, f.Cause, slices.Clone(f.Others)
			k.from, k.to = before, name
		}
	}
	if old.File == layout && k.from == "" {
		return
	}
	now.Moved = true
	if a.carried[k] == nil {
		a.carried[k] = &carry{first: i}
	}
	a.carried[k].lines++
	a.carried[k].first = min(a.carried[k].first, i)
}

// sayCarried names what lines of the baseline hold for under another name than they say.
func (a *application) sayCarried() {
	for k, c := range a.carried {
		entry := &a.e.set.Baseline[c.first]
		before, now := k.fromFile, k.toFile
		if k.from != "" {
			before, now = quote(k.from)+" in "+k.fromFile, quote(k.to)
		}
		a.say(entry.Span, ruleCarried, finding.Note, entry.Object, "write the baseline again before the change is merged: busgauss baseline "+k.toFile,
			"what the baseline records of %s (%s) holds for %s, its new name", before, lines(c.lines), clip(now))
	}
}

func lines(n int) string {
	if n == 1 {
		return "1 line"
	}
	return fmt.Sprintf("%d lines", n)
}
