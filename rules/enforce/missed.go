package enforce

import (
	"slices"

	"busgauss/model/finding"
)

// The ways in which a deviation may miss a finding by one thing, the nearest first.
const (
	missedCause = iota
	missedObject
	missedFile
	missedMore // by more than one thing
)

// missed says, under the findings that a deviation misses by one thing, what that is. Only those that permit nothing are
// asked, and each speaks under what it misses least: a deviation for one sensor is no matter of the others.
func (a *application) missed(judged map[string]bool) {
	for i := range a.e.permits {
		p := &a.e.permits[i]
		lost := a.o.Exists != nil && !judged[p.File.Value] && !a.o.Exists(p.File.Value)
		if a.used[i] || !judged[p.File.Value] && !lost {
			continue
		}
		best, at := missedMore, []int(nil)
		for k := range a.layouts {
			f := &a.out.Findings[k]
			if f.Verdict != finding.Fail && f.Verdict != finding.Undecided {
				continue
			}
			switch by := p.misses(shown(a.aliases[a.layouts[k]]), f, a.e.known); {
			case by < best:
				best, at = by, []int{k}
			case by == best && by != missedMore:
				at = append(at, k)
			}
		}
		for _, k := range at {
			f := &a.out.Findings[k]
			words := "the deviation names " + p.File.Value + ", which does not exist"
			switch best {
			case missedCause:
				words = "the deviation is for " + quote(p.Cause.Value) + ", this is " + quote(f.Cause)
				if f.Cause == "" {
					words = "the deviation is for " + quote(p.Cause.Value) + ", this has no cause of its own"
				}
			case missedObject:
				words = "the deviation is for " + quote(p.Object.Value) + ", this is " + quote(f.Object)
			}
			f.Related = append(slices.Clone(f.Related), finding.Related{Span: p.Span, Message: finding.Clean(words), Always: true})
		}
	}
}

// misses says by which thing a deviation misses a finding, under the names that it may know.
func (p *permit) misses(names []alias, f *finding.Finding, k Known) int {
	best := missedMore
	if p.Rule.Value != f.Rule {
		return best
	}
	for _, n := range names {
		was := n.of(f)
		object, cause := k.pair(was.Rule, was.Object, was.Cause)
		wantObject, wantCause := k.pair(was.Rule, p.Object.Value, p.Cause.Value)
		if !p.Cause.Given() {
			object, cause, wantObject, wantCause = was.Object, "", p.Object.Value, ""
		}
		switch {
		case p.File.Value != n.file:
			if object == wantObject && cause == wantCause {
				best = min(best, missedFile)
			}
		case object == wantObject:
			best = min(best, missedCause)
		case cause == wantCause:
			best = min(best, missedObject)
		}
	}
	return best
}
