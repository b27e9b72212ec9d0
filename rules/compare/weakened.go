package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/model/word"
)

// The rules about a change as a whole.
const (
	ruleChecksGone  = "checks-gone"
	ruleLayoutGone  = "layout-gone"
	ruleLimitLooser = "limit-looser"
)

// Problems describes the rules about a change as a whole, sorted by identifier.
func Problems() []finding.Description {
	return []finding.Description{
		{
			ID: ruleChecksGone, Level: finding.Error, Title: "checks that a change takes away",
			Full: "A layout was judged before the change by checks that nobody makes after it: a sensor, a duty, a need, a tolerance or a measurement is gone, carries nothing any more, or a house rule is. A check that is not made fails nothing, so that it would be gone in silence.",
			Help: "Verdicts are paired by rule, object and cause, over names that were changed where place or content show it. A failure that was mended is no check that is gone. Bring the checks back, or have a deviation approved that names rule checks-gone and the sensor, bar, shield or duty, or all, as its object.",
		},
		{
			ID: ruleLayoutGone, Level: finding.Error, Title: "layout that a change takes away",
			Full: "A file was a layout before the change, and is gone, is none any more, or is no longer found by the same arguments. Its checks are not made any more.",
			Help: "A layout that was moved is recognised by its content, by what git says, or by most of its objects. Bring it back, or have a deviation approved for its old path that names rule layout-gone and the object all.",
		},
		{
			ID: ruleLimitLooser, Level: finding.Error, Title: "limit that is looser after a change",
			Full: "A limit lets more pass than before the change, or the level of a rule is lower, whatever is the cause: another class or path of the standard since a sensor or a file was renamed, a need that is gone, another standard, an insulation that asks for less.",
			Help: "Limits are those that count for the object after standard, classes, paths and needs, of rules that judged it before. Limits that follow from currents and sizes are not compared. Restore the limit, or have a deviation approved that names rule limit-looser and the object, or all; its cause may name the rule whose limit is meant.",
		},
	}
}

// RuleIDs returns the identifiers of the rules about a change as a whole.
func RuleIDs() []string {
	var out []string
	for _, d := range Problems() {
		out = append(out, d.ID)
	}
	return out
}

// mostDetails is the number of lines that a finding lists.
const mostDetails = 200

// Findings says what the change takes from the check of the layout, one finding a rule and a limit, on the path that shown
// gives. What permitted takes is left out.
func (p *Pair) Findings(shown func(path string) string, permitted func(*Weakening) bool) []finding.Finding {
	groups := map[string][]*Weakening{}
	var order []string
	for i := range p.Weaker {
		w := &p.Weaker[i]
		if permitted(w) {
			continue
		}
		k := strings.Join([]string{w.Rule, w.Key, ""}, "\x00")
		if w.Key != "" {
			k += strings.Join([]string{w.About, w.from, w.to}, "\x00")
		}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], w)
	}
	first := span.Pos{Line: 1, Column: 1}
	var out []finding.Finding
	for _, k := range order {
		list := groups[k]
		f := finding.Finding{Rule: list[0].Rule, Verdict: finding.Fail, Level: finding.Error, Span: span.Span{File: shown(p.Path()), Start: first, End: first}}
		f.Object = theOne(list)
		switch f.Rule {
		case ruleLayoutGone:
			f.Message = list[0].Text
			f.Remedy = deviationFor(f.Rule, "bring it back")
		case ruleChecksGone:
			f.Message = p.checksGone(list)
			f.Remedy = deviationFor(f.Rule, "bring them back")
		default:
			f.Cause = list[0].About
			f.Message = limitLooser(list)
			f.Remedy = deviationFor(f.Rule, "restore it")
		}
		for i, w := range list {
			if f.Rule == ruleLayoutGone {
				break
			}
			if i == mostDetails {
				f.Details = append(f.Details, fmt.Sprintf("and %d more", len(list)-i))
				break
			}
			f.Details = append(f.Details, finding.Clean(w.Text))
		}
		out = append(out, f)
	}
	return out
}

func deviationFor(rule, way string) string {
	return way + ", or have a deviation approved for rule " + rule
}

// theOne returns the object of all weakenings, empty where they have several.
func theOne(list []*Weakening) string {
	name := func(w *Weakening) string { return w.Objects[len(w.Objects)-1] }
	for _, w := range list {
		if len(w.Objects) == 0 || name(w) != name(list[0]) {
			return ""
		}
	}
	return name(list[0])
}

// checksGone says how many checks are gone, and with what.
func (p *Pair) checksGone(list []*Weakening) string {
	text := fmt.Sprintf("%d checks that were made before the change are gone", len(list))
	if len(list) == 1 {
		text = "a check that was made before the change is gone: " + strings.Replace(list[0].Text, ": was ", ", which was ", 1)
	}
	var with []string
	for _, c := range p.Changes {
		if c.What == Removed {
			with = append(with, c.Kind+` "`+c.Name+`"`)
		}
	}
	if len(with) > 0 {
		text += ". Removed: " + strings.Join(atMost(with, 6), ", ")
	}
	if len(list) == 1 {
		return text
	}
	rules := map[string]int{}
	for _, w := range list {
		rules[w.About]++
	}
	var parts []string
	for rule, n := range rules {
		parts = append(parts, fmt.Sprintf("%d of %s", n, rule))
	}
	slices.SortFunc(parts, func(a, b string) int {
		_, x, _ := strings.Cut(a, " of ")
		_, y, _ := strings.Cut(b, " of ")
		return cmp.Compare(x, y)
	})
	return text + ". They are " + strings.Join(atMost(parts, 8), ", ")
}

func atMost(list []string, most int) []string {
	if len(list) <= most {
		return list
	}
	return append(slices.Clone(list[:most-1]), fmt.Sprintf("%d more", len(list)-most+1))
}

// limitLooser says of one limit for whom it is looser.
func limitLooser(list []*Weakening) string {
	w := list[0]
	what := "the limit " + w.Key
	switch w.Key {
	case "level":
		what = "the level"
	case "limit":
		what = "the limit"
	}
	text := fmt.Sprintf("%s of %s lets more pass than before the change, %s before, %s now", what, w.About, w.from, w.to)
	var names []string
	for _, w := range list {
		if len(w.Objects) > 0 {
			names = append(names, w.Objects[len(w.Objects)-1])
		}
	}
	if names = word.Distinct(names); len(names) > 0 {
		text += ". For " + strings.Join(atMost(names, 8), ", ")
	}
	return text
}
