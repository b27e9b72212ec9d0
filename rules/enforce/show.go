package enforce

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Row is one effective value of a standard. Key is a limit of the rule or
// "level". Scope is empty for all layouts, or the globs of layouts or the class.
type Row struct {
	Scope, Rule, Key, Value, Origin string
	Span                            span.Span // not valid for defaults and presets
}

// Rows lists every value with its origin: for all layouts first, defaults
// included, then for paths, then for classes, in the order in which later ones
// win; inside, by rule and key.
func (e *Effective) Rows() []Row {
	var out []Row
	for i := range e.layers {
		l := &e.layers[i]
		var rows []Row
		for _, k := range slices.SortedFunc(maps.Keys(l.limits), func(a, b limitKey) int {
			return cmp.Or(cmp.Compare(a.rule, b.rule), cmp.Compare(a.key, b.key))
		}) {
			v := l.limits[k]
			unit := limitOf(e.known.rule(k.rule), k.key).Unit
			rows = append(rows, Row{l.name, k.rule, k.key, engine.Show(v.value, unit), v.origin, v.at})
		}
		for _, rule := range slices.Sorted(maps.Keys(l.levels)) {
			g := l.levels[rule]
			if g.def && e.pin > 0 && e.known.edition(rule) > e.pin && g.level > finding.Note {
				g.level, g.origin = finding.Note, "the rule is newer than the edition pinned at "+where(e.pinAt)
			}
			rows = append(rows, Row{l.name, rule, "level", g.level.String(), g.origin, g.at})
		}
		slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Compare(a.Rule, b.Rule) })
		out = append(out, rows...)
	}
	return out
}

// Pin returns the edition of the rules that the standard pins, 0 where it pins none.
func (e *Effective) Pin() int { return e.pin }

// Rows lists every value that counts for the layout with its origin, by rule and
// key, and then what differs from it for the channels given.
func (v *View) Rows(channels []string) []Row {
	general := v.rows("", "")
	out := general
	for _, c := range channels {
		scope := "channel " + quote(c)
		if classes := v.Classes(c); len(classes) > 0 {
			scope += " (class " + strings.Join(classes, ", ") + ")"
		}
		for i, r := range v.rows(c, scope) {
			if g := general[i]; r.Value != g.Value || r.Origin != g.Origin {
				out = append(out, r)
			}
		}
	}
	return out
}

func (v *View) rows(channel, scope string) []Row {
	var out []Row
	for i := range v.e.known.Rules {
		r := &v.e.known.Rules[i]
		for k := range r.Limits {
			l := &r.Limits[k]
			row := Row{Scope: scope, Rule: r.ID, Key: l.Key, Value: engine.Show(l.Default, l.Unit), Origin: "default: " + l.Reason}
			if value, origin, at, ok := v.Limit(r.ID, l.Key, channel); ok {
				row.Value, row.Origin, row.Span = engine.Show(value, l.Unit), origin, at
			}
			out = append(out, row)
		}
		level, origin := v.Level(r.ID, channel)
		out = append(out, Row{Scope: scope, Rule: r.ID, Key: "level", Value: level.String(), Origin: origin})
	}
	slices.SortStableFunc(out, func(a, b Row) int { return cmp.Or(cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Key, b.Key)) })
	return out
}
