// Package compare tells what a change did to the margins: it pairs the layouts
// before and after, their objects and the verdicts on them, says for each verdict
// whether it is new, worse, better, gone or the same, and gives the cause in
// words. It reads no file and runs no rule.
package compare

import (
	"cmp"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules/engine"
)

// Layout is one layout on one side of a change.
type Layout struct {
	Path string // below the root, with forward slashes
	// Hash stands for the content and for everything else that a verdict hangs
	// on, such as a standard: layouts with equal ones need no comparison. An
	// empty one equals no other.
	Hash string
	// Layout is nil when it could not be understood, was not read, or was not
	// looked at because its hash stands on the other side too.
	Layout *layout.Layout
	// Findings are all verdicts, passes with their numbers among them.
	Findings []finding.Finding
	// Refused says why the file was not read; empty when it was.
	Refused string
	// Standard is what the layout is judged by; nil: the defaults.
	Standard Standard
}

// Class says how a verdict after a change relates to the one before it. Classes
// are ordered: a higher one deserves more attention.
type Class uint8

// The classes. A verdict is the same when its number moved by no more than the
// numbers are certain to.
const (
	Same Class = iota
	Gone
	Better
	New
	Worse
)

// String returns the word for c that every output uses.
func (c Class) String() string {
	switch c {
	case Same:
		return "same"
	case Gone:
		return "gone"
	case Better:
		return "better"
	case New:
		return "new"
	case Worse:
		return "worse"
	}
	return "no class"
}

// Check is one verdict of one rule on one object, before and after. One of the
// two is nil where there is none: the object, the rule or the question is not
// there.
type Check struct {
	Rule          string
	Class         Class
	Before, After *finding.Finding
	// Was is the limit before where it is another one after, in words.
	Was string
}

// cause returns what tells two checks of one rule on one object apart.
func (c *Check) cause() string {
	if c.After != nil {
		return c.After.Cause
	}
	return c.Before.Cause
}

// Fails reports whether c stands in the way at a level: there is a failure or an
// undecided verdict at or above the level which is new or has got worse. One that
// was there before and is no worse does not count. Nothing counts at level none.
func (c *Check) Fails(level finding.Level) bool {
	return level != finding.None && c.After != nil && c.After.Level >= level && (c.Class == New || c.Class == Worse) &&
		(c.After.Verdict == finding.Fail || c.After.Verdict == finding.Undecided)
}

// Object is one object of a layout with the checks on it. Its names are empty
// for checks on the whole layout.
type Object struct {
	Kind          string // "sensor", "bar" and so on; empty when it is no object of a layout
	Before, After string // names; empty on the side where it is not
	Class         Class  // the highest of its checks
	// Own says that the object itself, or what belongs to it alone, was changed.
	Own bool
	// Causes are the changes of the layout that can have moved its numbers.
	Causes []Change
	Checks []Check
}

// Name returns the name of the object after the change, or before it where it is
// gone.
func (o *Object) Name() string { return cmp.Or(o.After, o.Before) }

// Match says how the two sides of a pair were recognised as one layout.
type Match string

// The ways to recognise a layout.
const (
	ByPath    Match = "path"
	ByContent Match = "content"
	ByGit     Match = "git"     // git takes the file to be renamed
	ByObjects Match = "objects" // most of its objects are the same
)

// Pair is one layout before and after. A path is empty on the side where the
// layout is not.
type Pair struct {
	Before, After string
	Match         Match
	Class         Class // the highest of its objects; New or Gone for a layout that is
	// Broken says that the layout after the change cannot be understood or was
	// not read, so that checks are gone because nobody could make them.
	Broken bool
	// WasBroken says the same of the side before: its checks are new because
	// nobody could make them.
	WasBroken bool
	Refused   string // why the side after was not read
	Changes   []Change
	Objects   []Object
	// Weaker is what the change takes from the check of the layout.
	Weaker []Weakening
}

// Path returns the path after the change, or before it where the layout is gone.
func (p *Pair) Path() string { return cmp.Or(p.After, p.Before) }

// Side is what one side of a comparison is called.
type Side struct {
	Name   string // a folder, a revision, or words for the work tree
	Commit string // in hexadecimal; empty where it is no revision
	// MergeBase says that the commit is where the branch named parted from the
	// other side, not its tip.
	MergeBase bool
}

// Report is what a change did.
type Report struct {
	Base, Head Side // set by the caller, for writers
	// Weaker are the findings on what the change takes from the checks, and WeakerPermitted those that a deviation permits: see
	// Pair.Findings. Both are set by the caller.
	Weaker, WeakerPermitted []finding.Finding
	Pairs                   []Pair // those in which anything differs, by path
	Unchanged               int    // pairs in which nothing does
}

// Options steer Compare. The zero value is usable.
type Options struct {
	// Renamed gives, for files that are known to be renamed, the path before by
	// the path after.
	Renamed map[string]string
	// All keeps pairs in which nothing differs. Default: they are counted.
	All bool
	// Rules are those that judge; limits of others are compared by the numbers in verdicts alone.
	Rules []engine.Rule
	// Fate says in words what became of a layout that is gone; empty where its end is no matter, for nobody asked for it.
	// Default: "is gone".
	Fate func(path string) string
}

// Compare tells what became of the layouts of before in after. Both may come in
// any order; paths stand once on each side.
func Compare(before, after []Layout, o Options) *Report {
	r := &Report{}
	for _, m := range pairs(before, after, o.Renamed) {
		p := comparePair(m, &o)
		moved := p.Before != p.After
		if p.Class == Same && len(p.Changes) == 0 && !moved && p.Refused == "" && len(p.Weaker) == 0 {
			r.Unchanged++
			if !o.All {
				continue
			}
		}
		r.Pairs = append(r.Pairs, p)
	}
	slices.SortFunc(r.Pairs, func(a, b Pair) int { return cmp.Or(cmp.Compare(a.Path(), b.Path()), cmp.Compare(a.Before, b.Before)) })
	return r
}

func comparePair(m match, o *Options) Pair {
	p := Pair{Match: m.how}
	if m.before != nil {
		p.Before = m.before.Path
	}
	if m.after != nil {
		p.After = m.after.Path
		p.Refused = m.after.Refused
	}
	p.Class = Same
	switch {
	case m.before == nil:
		p.Class = New
	case m.after == nil:
		p.Class = Gone
	case p.Refused != "" && m.before.Refused == "":
		p.Class = Worse
	}
	if sameHash(m.before, m.after) && m.after.Layout == nil {
		p.Refused = ""
		return p // nobody looked, for nothing can differ
	}
	p.Broken = m.after != nil && m.after.Layout == nil
	p.WasBroken = m.before != nil && m.before.Layout == nil
	names := names{}
	if l := m.before.read(); l != nil && m.after.read() != nil {
		p.Changes, names = Changes(l, m.after.Layout)
	}
	p.Objects = objects(m.before, m.after, names, p.Changes)
	for i := range p.Objects {
		p.Class = max(p.Class, p.Objects[i].Class)
	}
	p.Weaker = weakenings(&p, m, names, o)
	return p
}

func sameHash(a, b *Layout) bool { return a != nil && b != nil && a.Hash != "" && a.Hash == b.Hash }

// read returns the layout of a side that may be missing.
func (l *Layout) read() *layout.Layout {
	if l == nil {
		return nil
	}
	return l.Layout
}

// Fails reports whether a pair stands in the way at a level by itself: a layout
// that was read before the change is not any more, or a new one cannot be read.
func (p *Pair) Fails(level finding.Level) bool {
	return level != finding.None && p.Refused != "" && (p.Class == Worse || p.Before == "")
}

// Failures counts what stands in the way at a level.
func (r *Report) Failures(level finding.Level) int {
	n := 0
	for i := range r.Weaker {
		if level != finding.None && r.Weaker[i].Level >= level {
			n++
		}
	}
	for i := range r.Pairs {
		p := &r.Pairs[i]
		if p.Fails(level) {
			n++
		}
		for k := range p.Objects {
			for c := range p.Objects[k].Checks {
				if p.Objects[k].Checks[c].Fails(level) {
					n++
				}
			}
		}
	}
	return n
}

// Counts returns the number of checks of each class, indexed by class.
func (r *Report) Counts() [Worse + 1]int {
	var out [Worse + 1]int
	for i := range r.Pairs {
		for k := range r.Pairs[i].Objects {
			for _, c := range r.Pairs[i].Objects[k].Checks {
				out[c.Class]++
			}
		}
	}
	return out
}
