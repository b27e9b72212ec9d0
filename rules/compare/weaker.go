package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Standard is the house standard that a layout is judged by: what it sets for a limit of a rule for a channel, or for what
// belongs to none, and the level of what a rule finds on an object. ok is false where it sets nothing.
type Standard interface {
	Limit(rule, key, channel string) (value float64, origin string, at span.Span, ok bool)
	LevelOf(rule, object string) (level finding.Level, ok bool)
}

// Weakening is one thing that a change takes from the check of a layout.
type Weakening struct {
	Rule string // that reports it: see Problems
	// About is the rule of which a check, a limit or a level is meant; empty for a whole layout. Key is that of a limit, or
	// "level"; empty for a check.
	About, Key string
	// Objects are the names of the object of the check, before and after the change, and Causes what the check was about,
	// such as a duty: a deviation may name any of them.
	Objects, Causes []string
	Text            string // one line
	from, to        string // a limit or a level, in words
}

// weakenings says what a change takes from the check of a pair. Nothing is taken from what could not be read before, and
// what cannot be read any more is a finding already.
func weakenings(p *Pair, m match, renamed names, o *Options) []Weakening {
	switch {
	case m.before == nil || m.before.Layout == nil:
		return nil
	case m.after == nil:
		fate := "is gone"
		if o.Fate != nil {
			fate = o.Fate(p.Before)
		}
		if fate == "" {
			return nil
		}
		judged := 0
		for i := range p.Objects {
			for k := range p.Objects[i].Checks {
				if made(p.Objects[i].Checks[k].Before) {
					judged++
				}
			}
		}
		return []Weakening{{Rule: ruleLayoutGone, Text: fmt.Sprintf("this layout, of which %s made, %s", wereMade(judged), fate)}}
	case m.after.Layout == nil:
		return nil
	}
	var out []Weakening
	for i := range p.Objects {
		w := weigher{o: o, m: m, renamed: renamed, object: &p.Objects[i]}
		w.checks()
		w.settings()
		w.numbers()
		out = append(out, w.out...)
	}
	return out
}

func wereMade(n int) string {
	if n == 1 {
		return "1 check was"
	}
	return fmt.Sprintf("%d checks were", n)
}

// made reports whether a check was made: a question that does not arise is none.
func made(f *finding.Finding) bool {
	return f != nil && (f.Verdict == finding.Pass || f.Verdict == finding.Fail || f.Verdict == finding.Undecided || f.Verdict == finding.Permitted)
}

// weigher looks for what is taken from the checks of one object.
type weigher struct {
	o       *Options
	m       match
	renamed names
	object  *Object
	out     []Weakening
}

func (w *weigher) add(rule, about, key, cause, text, from, to string) {
	n := Weakening{Rule: rule, About: about, Key: key, Text: text, from: from, to: to}
	for _, name := range []string{w.object.Before, w.object.After} {
		if name != "" && !slices.Contains(n.Objects, name) {
			n.Objects = append(n.Objects, name)
		}
	}
	if cause != "" {
		n.Causes = append(n.Causes, cause)
		if d := w.dutyOf(cause); d != "" && d != cause {
			n.Causes = append(n.Causes, d)
		}
	}
	w.out = append(w.out, n)
}

// rule returns the rule called id, nil where it is one of a house standard.
func (w *weigher) rule(id string) *engine.Rule {
	for i := range w.o.Rules {
		if w.o.Rules[i].ID == id {
			return &w.o.Rules[i]
		}
	}
	return nil
}

// dutyOf returns the duty before the change that a cause speaks of.
func (w *weigher) dutyOf(cause string) string {
	l := w.m.before.Layout
	for i := range l.Duties {
		if id := l.Duties[i].ID; cause == id || strings.Contains(cause, `"`+id+`"`) {
			return id
		}
	}
	return ""
}

// checks finds those that were made and are not any more. A verdict without a number gives way to any other of its rule on the
// object, and one with a number to a new one, unless it was about a duty that is not there any more: rules that speak of
// the worst case alone change what they speak of. A new one about a duty that was not there before takes no other's place.
func (w *weigher) checks() {
	byRule := map[string][]*Check{}
	var order []string
	for i := range w.object.Checks {
		c := &w.object.Checks[i]
		if byRule[c.Rule] == nil {
			order = append(order, c.Rule)
		}
		byRule[c.Rule] = append(byRule[c.Rule], c)
	}
	for _, id := range order {
		free, answered := 0, false
		for _, c := range byRule[id] {
			answered = answered || made(c.After)
			if c.Before == nil && made(c.After) && (c.After.Cause == "" || w.dutyBefore(c.After.Cause)) {
				free++
			}
		}
		rule := w.rule(id)
		for _, c := range byRule[id] {
			if !made(c.Before) || rule != nil && w.turnedOff(rule) {
				continue
			}
			failed := c.Before.Verdict == finding.Fail || c.Before.Verdict == finding.Undecided
			duty := w.dutyOf(c.Before.Cause)
			there := duty == "" || w.dutyAfter(duty)
			switch {
			case c.After != nil && there:
				continue // a rule that speaks of the worst case alone may speak of another duty
			case rule != nil && rule.FaultsOnly && (failed || c.Before.Object == "") && there && w.objectStays():
				continue
			case there && failed && c.Before.Measure == nil && answered:
				continue
			case there && free > 0:
				free--
				continue
			}
			text := id
			if n := w.object.Name(); n != "" {
				text += " of " + n
			}
			if c.Before.Cause != "" {
				text += ", " + c.Before.Cause
			}
			w.add(ruleChecksGone, id, "", c.Before.Cause, text+": was "+c.Before.Verdict.String(), "", "")
		}
	}
}

// dutyBefore reports whether a cause after the change speaks of a duty that was there before it, or of none.
func (w *weigher) dutyBefore(cause string) bool {
	known := map[string]bool{}
	for i := range w.m.before.Layout.Duties {
		known[w.renamed.of("duty", w.m.before.Layout.Duties[i].ID)] = true
	}
	for i := range w.m.after.Layout.Duties {
		if id := w.m.after.Layout.Duties[i].ID; (cause == id || strings.Contains(cause, `"`+id+`"`)) && !known[id] {
			return false
		}
	}
	return true
}

// dutyAfter reports whether a duty from before the change is there after it.
func (w *weigher) dutyAfter(duty string) bool {
	name := w.renamed.of("duty", duty)
	return slices.ContainsFunc(w.m.after.Layout.Duties, func(d layout.Duty) bool { return d.ID == name })
}

// objectStays reports whether the object is still there, or was none of the layout.
func (w *weigher) objectStays() bool {
	before, _ := find(w.m.before.Layout, w.object.Before)
	after, _ := find(w.m.after.Layout, w.object.After)
	return before == "" || after != ""
}

// turnedOff reports whether a standard says nothing of a rule any more, which settings reports.
func (w *weigher) turnedOff(r *engine.Rule) bool {
	return w.objectStays() && level(w.m.after.Standard, r.ID, r, w.object.After) == finding.None
}

// level returns that of what a rule, nil for one of the house, finds on an object.
func level(s Standard, id string, r *engine.Rule, object string) finding.Level {
	if s != nil {
		if l, ok := s.LevelOf(id, object); ok {
			return l
		}
	}
	if r == nil {
		return finding.None
	}
	return r.Level
}

// settings finds the limits and levels that let more pass, of the rules that judged the object before. What a limit is
// follows from standard, classes, paths and needs; what of it changed does not matter.
func (w *weigher) settings() {
	if !w.objectStays() {
		return // its checks are gone
	}
	seen := map[string]bool{}
	for i := range w.object.Checks {
		c := &w.object.Checks[i]
		r := w.rule(c.Rule)
		if !made(c.Before) || seen[c.Rule] || r == nil && c.After == nil {
			continue // a house rule that is gone is a check that is
		}
		seen[c.Rule] = true
		was, is := level(w.m.before.Standard, c.Rule, r, w.object.Before), level(w.m.after.Standard, c.Rule, r, w.object.After)
		if is < was {
			w.looser(c.Rule, "level", was.String(), is.String())
		}
		if r == nil {
			continue
		}
		for k := range r.Limits {
			l := &r.Limits[k]
			was := engine.BoundOf(r, l, w.channel(w.m.before, w.object.Before), w.m.before.Layout, setBy(w.m.before))
			is := engine.BoundOf(r, l, w.channel(w.m.after, w.object.After), w.m.after.Layout, setBy(w.m.after))
			if looser(is.Value, was.Value, l.AtLeast) {
				w.looser(r.ID, l.Key, engine.Show(was.Value, l.Unit), engine.Show(is.Value, l.Unit))
			}
		}
	}
}

func (w *weigher) looser(rule, key, from, to string) {
	w.add(ruleLimitLooser, rule, key, "", w.of(rule, key)+" was "+from+", is "+to, from, to)
}

func (w *weigher) of(rule, key string) string {
	text := rule + ": " + key
	if n := w.object.Name(); n != "" {
		text += " for " + n
	}
	return text
}

func setBy(l *Layout) func(rule, key, channel string) (float64, string, span.Span, bool) {
	if l.Standard == nil {
		return nil
	}
	return l.Standard.Limit
}

// channel returns the name for which limits of an object are asked: only sensors have channels.
func (w *weigher) channel(l *Layout, name string) string {
	if _, ok := l.Layout.Sensor(name); ok {
		return name
	}
	return ""
}

func looser(is, was float64, atLeast bool) bool {
	off := float64(roundOff * math.Abs(was))
	if atLeast {
		return is < was-off
	}
	return is > was+off
}

// distances are the rules whose limit is a demand that the layout makes by voltages, not a setting.
var distances = []string{"clearance", "creepage"}

// numbers finds limits that follow from no setting: those of house rules, distances that insulation asks for, and needs
// that a rule answers by themselves.
func (w *weigher) numbers() {
	for i := range w.object.Checks {
		c := &w.object.Checks[i]
		if !made(c.Before) || !made(c.After) || c.Before.Measure == nil {
			continue
		}
		rule, was, is := w.rule(c.Rule), c.Before.Measure, c.After.Measure
		switch {
		case rule == nil && is == nil:
			if c.After.Verdict == finding.Pass {
				w.looser(c.Rule, "limit", engine.Show(was.Limit, was.Unit), "no number")
			}
			continue
		case is == nil || is.Unit != was.Unit || is.AtLeast != was.AtLeast:
			continue
		case rule == nil, slices.Contains(distances, c.Rule), w.ownNeed(rule, was.Origin):
			if looser(is.Limit, was.Limit, was.AtLeast) {
				w.looser(c.Rule, "limit", engine.Show(was.Limit, was.Unit), engine.Show(is.Limit, is.Unit))
			}
		}
	}
}

// ownNeed reports whether a limit comes from a need that tightens no setting of the rule.
func (w *weigher) ownNeed(r *engine.Rule, origin string) bool {
	if !strings.HasPrefix(origin, `need "`) {
		return false
	}
	return !slices.ContainsFunc(r.Limits, func(l engine.Limit) bool {
		return l.NeedKey != "" && strings.HasPrefix(origin, `need "`+l.NeedKey+`"`)
	})
}
