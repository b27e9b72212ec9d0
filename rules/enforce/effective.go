package enforce

import (
	"maps"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// limit is a value that a standard sets, with where it comes from. at has no
// place for a built-in one, which no report can show.
type limit struct {
	value   float64
	origin  string
	at      span.Span
	builtIn bool // a default or a preset
	def     bool // a default
}

// grade is a level that a standard sets.
type grade struct {
	level   finding.Level
	origin  string
	at      span.Span
	builtIn bool
	def     bool
}

type limitKey struct{ rule, key string }

// layer is one group of settings and for what it counts.
type layer struct {
	name     string // for people; empty for all layouts
	files    patterns
	channels patterns // nil: no class of channels
	class    string   // its name; empty for layouts
	limits   map[limitKey]limit
	levels   map[string]grade
}

// Effective is a standard that is resolved and free of problems. It is never
// changed and may be used by many goroutines.
type Effective struct {
	known      Known
	set        *policy.Set
	layers     []layer // for all layouts, then for paths, then for classes: a later one wins
	pin        int     // 0: none
	work       int     // 0: not said
	pinAt      span.Span
	slack      float64
	houseRules []houseRule
	permits    []permit
}

// New resolves a set of files. Problems are sorted by the caller; where one has
// the level error, or the set is broken already, the result is nil: nothing may
// be judged by such a standard.
func New(set *policy.Set, k Known) (*Effective, []finding.Finding) {
	b := builder{e: &Effective{known: k, set: set, slack: defaultSlack}}
	for _, f := range set.Files {
		b.head(f)
	}
	b.general()
	for _, f := range set.Files {
		for i := range f.Paths {
			b.path(&f.Paths[i])
		}
	}
	for _, f := range set.Files {
		for i := range f.Classes {
			b.class(&f.Classes[i])
		}
	}
	b.houseRules()
	b.permits()
	broken := set.Broken || slices.ContainsFunc(b.list, func(f finding.Finding) bool { return f.Level == finding.Error })
	all := engine.Sorted(b.list)
	if broken {
		return nil, all
	}
	return b.e, all
}

type builder struct {
	problems
	e *Effective
	// base is what all layouts get; tight the tightest that any layer for
	// layouts says, which a class must not loosen without a reason.
	base, tight layer
	classes     []classSettings
	work        int // pieces of globs held against each other
}

// classSettings is what a class sets, its preset included, and where.
type classSettings struct {
	layer
	names, paths []reading // paths: none for all layouts
}

func newLayer(name string) layer {
	return layer{name: name, limits: map[limitKey]limit{}, levels: map[string]grade{}}
}

// head reads what stands above the settings of a file.
func (b *builder) head(f *policy.File) {
	if v := f.LeastVersion; v.Given() {
		least, ok := version(v.Value)
		mine, comparable := version(b.e.known.Version)
		switch {
		case !ok:
			b.add(v.Span, ruleForm, "", "least-version %s is not a version: write up to three numbers with points, such as \"1.4.0\"", quote(v.Value))
		case !comparable:
			b.add(v.Span, ruleVersion, "", "the standard needs version %s; the version of this program, %s, cannot be compared with it",
				clip(v.Value), quote(b.e.known.Version)).Level = finding.Note
		case slices.Compare(mine[:], least[:]) < 0:
			b.add(v.Span, ruleVersion, "use a newer program", "the standard needs version %s of the program, this is %s", clip(v.Value), clip(b.e.known.Version))
		}
	}
	if f.RulesEditionSpan.Valid() {
		if newest := engine.Edition(b.e.known.Rules); f.RulesEdition > newest {
			b.add(f.RulesEditionSpan, ruleVersion, "use a newer program", "the standard pins edition %d of the rules, this program has %d", f.RulesEdition, newest)
		}
		b.e.pin, b.e.pinAt = f.RulesEdition, f.RulesEditionSpan
	}
	if f.Work > 0 {
		b.e.work = f.Work
	}
	if f.BaselineSlack.Given() {
		v, err := valueOf(f.BaselineSlack, "1")
		switch {
		case err != nil:
			b.add(f.BaselineSlack.Span, ruleQuantity, "", "baseline-slack: %v", err)
		case v < 0 || v > 1:
			b.add(f.BaselineSlack.Span, ruleRange, "", "baseline-slack is %s: it must be between 0 and 100 %%", si.Percent(v))
		default:
			b.e.slack = v
		}
	}
}

// general joins the settings for all layouts, file by file.
func (b *builder) general() {
	b.base = newLayer("")
	for _, r := range b.e.known.Rules {
		b.base.levels[r.ID] = grade{level: r.Level, origin: "default", builtIn: true, def: true}
		for _, l := range r.Limits {
			b.base.limits[limitKey{r.ID, l.Key}] = limit{value: l.Default, origin: "default: " + l.Reason, builtIn: true, def: true}
		}
	}
	for _, f := range b.e.set.Files {
		b.settings(&b.base, &b.base, f.Rules, f.BuiltIn)
	}
	b.tight = b.base.clone()
	b.e.layers = append(b.e.layers, b.base)
}

func (b *builder) path(s *policy.Scope) {
	l := newLayer("")
	l.files = compiled(valuesOf(s.Files))
	for _, f := range s.Files {
		if l.name != "" {
			l.name += ", "
		}
		l.name += f.Value
	}
	if len(l.files) == 0 {
		return // each was refused; without one it would count everywhere
	}
	b.settings(&l, &b.tight, s.Rules, false)
	b.tighten(&b.tight, &l)
	b.e.layers = append(b.e.layers, l)
}

// class joins the preset of a class and its own settings. They replace those for
// layouts and those of every class before it that may have a channel with it.
func (b *builder) class(s *policy.Scope) {
	l := newLayer("class " + s.Name.Value)
	l.class = s.Name.Value
	channels, files := valuesOf(s.Channels), valuesOf(s.Files)
	l.channels, l.files = compiled(channels), compiled(files)
	own := classSettings{layer: newLayer(""), names: globs(channels), paths: globs(files)}
	replaced := b.tight.clone()
	for i := range b.classes {
		if o := &b.classes[i]; b.meet(o.names, own.names) && (len(o.paths) == 0 || len(own.paths) == 0 || b.meet(o.paths, own.paths)) {
			b.tighten(&replaced, &o.layer)
		}
	}
	if p := b.e.set.Preset(s.Preset.Value); p != nil {
		preset := l
		preset.name += ", preset " + s.Preset.Value
		preset.limits, preset.levels = map[limitKey]limit{}, map[string]grade{}
		b.settings(&preset, &replaced, p.Rules, true)
		b.e.layers = append(b.e.layers, preset)
		b.tighten(&replaced, &preset)
		own.add(&preset)
	}
	b.settings(&l, &replaced, s.Rules, false)
	b.e.layers = append(b.e.layers, l)
	own.add(&l)
	b.classes = append(b.classes, own)
}

// maxWork bounds how many pieces of globs one standard has compared. Beyond it
// classes are taken to share channels: a standard that nobody writes by hand.
const maxWork = 1 << 26

// meet reports whether one name fits a glob of both lists.
func (b *builder) meet(x, y []reading) bool {
	for _, g := range x {
		for _, h := range y {
			b.work += (len(g) + 1) * (len(h) + 1)
			if b.work > maxWork || meet(g, h) {
				return true
			}
		}
	}
	return false
}

// add puts the settings of o over those of l.
func (l *layer) add(o *layer) {
	maps.Copy(l.limits, o.limits)
	maps.Copy(l.levels, o.levels)
}

func (l layer) clone() layer {
	c := newLayer(l.name)
	c.add(&l)
	return c
}

// tighten keeps in t the tighter of what it has and what l says.
func (b *builder) tighten(t, l *layer) {
	for k, v := range l.limits {
		if looser(t.limits[k].value, v.value, limitOf(b.e.known.rule(k.rule), k.key)) {
			t.limits[k] = v
		}
	}
	for k, v := range l.levels {
		if v.level > t.levels[k].level {
			t.levels[k] = v
		}
	}
}

// looser reports whether a lets more pass than b.
func looser(a, b float64, l *engine.Limit) bool {
	if l.AtLeast {
		return a < b
	}
	return a > b
}

// settings adds settings to l. What they replace is in replaced; looser ones
// need a reason. A preset never loosens what a file has set: for all layouts
// that is decided here, for a class by the view, which knows the layout.
func (b *builder) settings(l, replaced *layer, list []policy.RuleSetting, builtIn bool) {
	for i := range list {
		s := &list[i]
		rule := b.e.known.rule(s.Rule.Value)
		if rule == nil {
			b.unknown(s.Rule, "rule", b.ruleNames())
			continue
		}
		if s.Level.Given() {
			b.level(l, replaced, rule, s, builtIn)
		}
		for _, set := range s.Limits {
			def := limitOf(rule, set.Key.Value)
			if def == nil {
				var keys []string
				for _, d := range rule.Limits {
					keys = append(keys, d.Key)
				}
				b.unknown(set.Key, "limit of rule "+quote(rule.ID), keys)
				continue
			}
			if rule.NotOfChannels && l.class != "" {
				b.add(set.Key.Span, ruleForm, "set it for all layouts, or for those of some files",
					"%s of %s is no limit of channels, so class %s cannot set it", def.Key, rule.ID, quote(l.class))
				continue
			}
			v, err := valueOf(set.Amount, def.Unit)
			if err != nil {
				b.add(set.Amount.Span, ruleQuantity, "", "%s of %s: %v", def.Key, rule.ID, err)
				continue
			}
			k := limitKey{rule.ID, def.Key}
			old := replaced.limits[k]
			if looser(v, old.value, def) {
				if builtIn && !old.builtIn && l.class == "" {
					continue
				}
				if !s.Reason.Given() {
					b.add(set.Amount.Span, ruleLooser, "give a reason, or keep the limit",
						"%s of %s is %s, looser than %s (%s), and no reason is given",
						def.Key, rule.ID, engine.Show(v, def.Unit), engine.Show(old.value, def.Unit), old.origin)
				}
			}
			l.limits[k] = limit{value: v, origin: "standard " + because(set.Amount.Span, s.Reason.Value), at: placeOf(set.Amount.Span, builtIn), builtIn: builtIn}
		}
	}
}

func (b *builder) level(l, replaced *layer, rule *engine.Rule, s *policy.RuleSetting, builtIn bool) {
	level, ok := finding.ParseLevel(s.Level.Value)
	if !ok {
		return // the reader has said so
	}
	old := replaced.levels[rule.ID]
	if level < old.level {
		if builtIn && !old.builtIn && l.class == "" {
			return
		}
		if !s.Reason.Given() {
			b.add(s.Level.Span, ruleLooser, "give a reason, or keep the level",
				"level of %s is %s, lower than %s (%s), and no reason is given", rule.ID, level, old.level, old.origin)
		}
	}
	l.levels[rule.ID] = grade{level: level, origin: "standard " + because(s.Level.Span, s.Reason.Value), at: placeOf(s.Level.Span, builtIn), builtIn: builtIn}
}

func placeOf(at span.Span, builtIn bool) span.Span {
	if builtIn {
		return span.Span{}
	}
	return at
}

func (b *builder) ruleNames() []string {
	var out []string
	for _, r := range b.e.known.Rules {
		out = append(out, r.ID)
	}
	return out
}

// unknown reports a name that nothing has.
func (b *builder) unknown(t policy.Text, what string, have []string) {
	hint := word.DidYouMean(t.Value, have)
	if hint == "" && len(have) == 0 {
		hint = ". There is none"
	} else if hint == "" && len(have) <= 12 {
		hint = ". There are " + strings.Join(have, ", ")
	}
	b.add(t.Span, ruleUnknown, "", "no %s is called %s%s", what, quote(t.Value), hint)
}
