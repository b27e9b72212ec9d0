package enforce

import (
	"slices"

	"busgauss/model/finding"
	"busgauss/model/policy"
)

// everyObject is what a deviation about a change names as its object where it permits all of it.
const everyObject = "all"

// OfChange returns the deviation that permits what a change takes from the check of a layout: it names the layout by one of
// files, the rule, one of names or "all", and no cause or one of causes. ok is false where there is none that counts on the
// day.
func (e *Effective) OfChange(files []string, rule string, names, causes []string, day policy.Date) (p Permission, ok bool) {
	for i := range e.permits {
		d := &e.permits[i]
		if d.Rule.Value != rule || day > d.Until || !slices.Contains(files, d.File.Value) ||
			d.Object.Value != everyObject && !slices.Contains(names, d.Object.Value) ||
			d.Cause.Given() && !slices.Contains(causes, d.Cause.Value) {
			continue
		}
		return Permission{Reason: d.Reason.Value, Until: d.Until, By: d.Approver.Value, Ticket: d.Ticket.Value, Span: d.Span}, true
	}
	return Permission{}, false
}

// LevelOf returns the level of what a rule of the program or of the house finds on an object; ok is false where the standard
// has no such rule.
func (v *View) LevelOf(rule, object string) (level finding.Level, ok bool) {
	for i := range v.e.houseRules {
		if v.e.houseRules[i].id == rule {
			return v.e.houseRules[i].level, true
		}
	}
	if v.e.known.rule(rule) == nil {
		return finding.None, false
	}
	level, _ = v.Level(rule, object)
	return level, true
}
