package enforce

import (
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/glob"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/model/work"
	"busgauss/rules/engine"
)

// View is a standard as it counts for one layout.
type View struct {
	e       *Effective
	layout  string
	layers  []*layer // for the layout: all, then paths
	classes []*layer
}

// For returns the standard for a layout, named by its path below the root.
func (e *Effective) For(layout string) *View {
	v := &View{e: e, layout: layout}
	for i := range e.layers {
		l := &e.layers[i]
		if len(l.files) > 0 && !l.files.match(layout) {
			continue
		}
		if l.class != "" {
			v.classes = append(v.classes, l)
		} else {
			v.layers = append(v.layers, l)
		}
	}
	return v
}

// patterns are alternatives that were read once.
type patterns []*glob.Pattern

// compiled reads patterns; one that is not complete fits nothing, and was said to be so when its file was read.
func compiled(texts []string) patterns {
	var out patterns
	for _, text := range texts {
		if p, err := glob.Compile(text); err == nil {
			out = append(out, p)
		}
	}
	return out
}

func (p patterns) match(name string) bool {
	return slices.ContainsFunc(p, func(one *glob.Pattern) bool { return one.Match(name) })
}

func valuesOf(list []policy.Text) []string {
	var out []string
	for _, t := range list {
		out = append(out, t.Value)
	}
	return out
}

// Limit returns what the standard sets for a limit of a rule, for the channel of
// a sensor or, with an empty channel, for what belongs to none; ok is false where
// the default stands. at has no place for a value of a built-in preset. It has
// the form of engine.Options.Limit.
func (v *View) Limit(rule, key, channel string) (value float64, origin string, at span.Span, ok bool) {
	k := limitKey{rule, key}
	var now limit
	for _, l := range v.layers {
		if set, has := l.limits[k]; has {
			now = set
		}
	}
	if channel != "" {
		def := limitOf(v.e.known.rule(rule), key)
		for _, l := range v.classes {
			set, has := l.limits[k]
			if !has || !l.channels.match(channel) || set.builtIn && !now.builtIn && looser(set.value, now.value, def) {
				continue
			}
			now = set
		}
	}
	return now.value, now.origin, now.at, now.origin != "" && !now.def
}

// Level returns the level of a rule's findings for a channel, or for what belongs
// to none, and where it is set. A rule that came in after the pinned edition is
// a note at most until somebody sets its level.
func (v *View) Level(rule, channel string) (level finding.Level, origin string) {
	var now grade
	for _, l := range v.layers {
		if g, has := l.levels[rule]; has {
			now = g
		}
	}
	if channel != "" {
		for _, l := range v.classes {
			g, has := l.levels[rule]
			if has && l.channels.match(channel) && !(g.builtIn && !now.builtIn && g.level < now.level) {
				now = g
			}
		}
	}
	if now.def && v.e.pin > 0 && v.e.known.edition(rule) > v.e.pin && now.level > finding.Note {
		return finding.Note, "the rule is newer than the edition pinned at " + where(v.e.pinAt)
	}
	return now.level, now.origin
}

// Rules returns the rules that are not turned off for the whole layout.
func (v *View) Rules(list []engine.Rule) []engine.Rule {
	var out []engine.Rule
	for _, r := range list {
		if v.on(r.ID) {
			out = append(out, r)
		}
	}
	return out
}

func (v *View) on(rule string) bool {
	level, origin := v.Level(rule, "")
	if level != finding.None || origin == "" { // a rule that the standard does not know stays
		return true
	}
	for _, l := range v.classes {
		if g, has := l.levels[rule]; has && g.level != finding.None {
			return true
		}
	}
	return false
}

// Grade gives findings of the known rules the levels of the standard, in place.
// An undecided verdict is a warning unless its rule is a note: what could not be
// computed never weighs more than the failure itself. What the end of the work of a layout left open weighs as much. Where the rule is turned
// off for the channel, the finding is kept as not applicable and says why.
func (v *View) Grade(found []finding.Finding) {
	for i := range found {
		f := &found[i]
		if f.Verdict != finding.Fail && f.Verdict != finding.Undecided || v.e.known.rule(f.Rule) == nil {
			continue
		}
		level, origin := v.Level(f.Rule, f.Object)
		if level == finding.None {
			f.Verdict, f.Level, f.Remedy = finding.NotApplicable, finding.None, ""
			f.Message = engine.Named(f.Object, "turned off by "+origin+". Found: "+strings.TrimPrefix(f.Message, f.Object+": "))
			continue
		}
		if f.Verdict == finding.Undecided && !work.Says(f.Message) {
			level = min(level, finding.Warning)
		}
		if origin != "default" {
			f.Level = level
		}
	}
}

// Classes returns the names of the classes that a channel is in, in the order of
// the standard.
func (v *View) Classes(channel string) []string {
	var out []string
	for _, l := range v.classes {
		name := l.class
		if l.channels.match(channel) && (len(out) == 0 || out[len(out)-1] != name) {
			out = append(out, name)
		}
	}
	return out
}

// Work returns the most million steps of work that the standard lets the layout take; 0 where it says nothing.
func (v *View) Work() int { return v.e.work }
