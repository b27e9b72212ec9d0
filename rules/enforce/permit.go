package enforce

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// permit is a deviation that fits a rule. unit is that of its bound.
type permit struct {
	*policy.Deviation
	bound   float64
	unit    string
	bounded bool
}

type permitKey struct{ file, rule, object, cause string }

// permits checks the deviations: the rule exists, the bound has a unit of its
// limits, and no two permit the same.
func (b *builder) permits() {
	seen := map[permitKey]span.Span{}
	for i := range b.e.set.Deviations {
		d := &b.e.set.Deviations[i]
		p := permit{Deviation: d}
		if units, ok := b.unitsOf(d.Rule.Value); !ok && d.Rule.Given() {
			names := b.ruleNames()
			for _, h := range b.e.houseRules {
				names = append(names, h.id)
			}
			names = append(names, b.e.known.OfChanges...)
			b.unknown(d.Rule, "rule", names)
		} else if d.UpTo.Given() && ok {
			b.bound(&p, units)
		}
		object, cause := b.e.known.pair(d.Rule.Value, d.Object.Value, d.Cause.Value)
		k := permitKey{d.File.Value, d.Rule.Value, object, cause}
		if first, twice := seen[k]; twice {
			f := b.add(d.Span, ruleRepeated, "keep one of the two", "the deviation for %s of %s in %s stands twice",
				clip(d.Rule.Value), quote(d.Object.Value), clip(d.File.Value))
			f.Related = []finding.Related{{Span: first, Message: "the first one"}}
			continue
		}
		seen[k] = d.Span
		b.e.permits = append(b.e.permits, p)
	}
}

// unitsOf returns the units of the numbers that a rule judges.
func (b *builder) unitsOf(rule string) (units []string, ok bool) {
	if r := b.e.known.rule(rule); r != nil {
		for _, l := range r.Limits {
			if !slices.Contains(units, l.Unit) {
				units = append(units, l.Unit)
			}
		}
		return units, true
	}
	for i := range b.e.houseRules {
		if h := &b.e.houseRules[i]; h.id == rule {
			if h.holds.simple != nil {
				units = []string{h.holds.simple.unit}
			}
			return units, true
		}
	}
	return nil, slices.Contains(b.e.known.OfChanges, rule)
}

func (b *builder) bound(p *permit, units []string) {
	if len(units) == 0 {
		b.add(p.UpTo.Span, ruleQuantity, "remove the bound", "rule %s judges no number that a bound could hold", clip(p.Rule.Value))
		return
	}
	var first error
	for _, unit := range units {
		v, err := valueOf(p.UpTo, unit)
		if err == nil {
			p.bound, p.unit, p.bounded = v, unit, true
			return
		}
		if first == nil {
			first = err
		}
	}
	b.add(p.UpTo.Span, ruleQuantity, "", "up-to of the deviation for %s: %v", clip(p.Rule.Value), first)
}

// fits reports whether a deviation speaks of a finding. One without a cause counts
// for all that its object stands first in.
func (p *permit) fits(file string, f *finding.Finding, k Known) bool {
	if p.File.Value != file || p.Rule.Value != f.Rule {
		return false
	}
	if !p.Cause.Given() {
		return p.Object.Value == f.Object
	}
	object, cause := k.pair(f.Rule, f.Object, f.Cause)
	wantObject, wantCause := k.pair(f.Rule, p.Object.Value, p.Cause.Value)
	return object == wantObject && cause == wantCause
}

// refuses says why a finding is not permitted although the deviation fits it;
// empty when it is permitted. day is that of the run.
func (p *permit) refuses(f *finding.Finding, day policy.Date) string {
	if day > p.Until {
		return "the deviation ended on " + p.Until.String()
	}
	if f.Verdict == finding.Undecided && !p.Undecided {
		return "the deviation does not cover a verdict that could not be reached"
	}
	if !p.bounded {
		return ""
	}
	bound := "the deviation permits " + engine.Show(p.bound, p.unit) + " at the worst"
	m := f.Measure
	if m == nil || m.Unit != p.unit {
		return bound + ", and the finding has no number to hold against it"
	}
	// The worst that the number can be must lie inside the bound, up to the
	// rounding of the text that says it.
	worst := m.Value + float64(math.Abs(m.Value)*m.Certainty)
	ok := worst <= p.bound+float64(roundOff*math.Abs(p.bound))
	if m.AtLeast {
		worst = m.Value - float64(math.Abs(m.Value)*m.Certainty)
		ok = worst >= p.bound-float64(roundOff*math.Abs(p.bound))
	}
	if !ok { // NaN is not inside
		return bound
	}
	return ""
}

const roundOff = 1e-12

// words says who permits what, for people.
func (p *permit) words() string {
	out := fmt.Sprintf("permitted until %s by %s: %s", p.Until, p.Approver.Value, p.Reason.Value)
	if p.Ticket.Given() {
		out += " (" + p.Ticket.Value + ")"
	}
	if p.bounded {
		out += ", up to " + engine.Show(p.bound, p.unit)
	}
	return finding.Clean(out)
}
