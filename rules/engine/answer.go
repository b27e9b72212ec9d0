package engine

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
)

// Need is something that a layout may ask of a channel. Key is its key in the file.
type Need struct {
	Key string
	Of  func(*layout.Need) layout.Num
}

// Answers returns the needs that r answers: those that tighten its limits and those
// that it judges by themselves.
func (r *Rule) Answers() []Need {
	var out []Need
	for i := range r.Limits {
		if l := &r.Limits[i]; l.Need != nil {
			out = append(out, Need{l.NeedKey, l.Need})
		}
	}
	return append(out, r.Needs...)
}

// Without keeps the reason why the rule does not ask about an object, and the key of
// the layout that would let it: add. Where a need asks, the verdict becomes undecided.
func (r *Run) Without(object string, at span.Span, add, format string, args ...any) {
	if r.adds == nil {
		r.adds = map[int]string{}
	}
	r.adds[len(r.out)] = add
	r.NotApplicable(object, at, format, args...)
}

// answerNeeds makes each need undecided that the rule was to answer for a channel and of
// which it gave no verdict, with the reason that the rule gave instead.
func (r *Run) answerNeeds() {
	var replaced []int
	for i := range r.Layout.Sensors {
		s := &r.Layout.Sensors[i]
		asked := r.asks(s)
		if len(asked) == 0 {
			continue
		}
		why, answered := []string{"Nothing is known of it"}, false
		var reasons []int
		for k := range r.out {
			switch f := &r.out[k]; {
			case f.Object != s.ID:
			case f.Verdict != finding.NotApplicable:
				answered = true
			default:
				why = []string{Sentence(strings.TrimPrefix(f.Message, s.ID+": "))}
				if add := r.adds[k]; add != "" {
					why = append(why, "Add "+add)
				}
				reasons = append(reasons, k)
			}
		}
		if answered {
			continue
		}
		replaced = append(replaced, reasons...)
		for _, need := range asked {
			n, _ := r.Layout.NeedFor(s.ID, need.Of)
			r.Undecided(s.ID, n.Span, need.Key, "%s", sentences(fmt.Sprintf("need %q cannot be answered", need.Key), why...))
		}
	}
	// From the back, so that what is still to go keeps its place.
	slices.Sort(replaced)
	for i := len(replaced) - 1; i >= 0; i-- {
		r.drop(replaced[i])
	}
}

// asks returns the needs of the layout for s that the rule answers.
func (r *Run) asks(s *layout.Sensor) []Need {
	var out []Need
	for _, need := range r.rule.Answers() {
		if n, ok := r.Layout.NeedFor(s.ID, need.Of); ok && !math.IsNaN(n.V) {
			out = append(out, need)
		}
	}
	return out
}

// drop takes finding k out of what the rule says.
func (r *Run) drop(k int) {
	r.out = slices.Delete(r.out, k, k+1)
	for i := range r.asked {
		if r.asked[i].of > k {
			r.asked[i].of--
		}
	}
}
