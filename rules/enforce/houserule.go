package enforce

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// houseRule is a rule of a team, ready to run.
type houseRule struct {
	id, title, reason string
	kind              Kind
	level             finding.Level
	when, holds       *expression
	message, remedy   []piece
	at                span.Span // of the expression
}

var ruleWord = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// houseRules compiles the rules of all files. A later one of the same name takes
// the place of an earlier one.
func (b *builder) houseRules() {
	languages := map[Kind]*language{}
	for _, f := range b.e.set.Files {
		for i := range f.HouseRules {
			h := &f.HouseRules[i]
			switch {
			case !ruleWord.MatchString(h.ID.Value):
				b.add(h.ID.Span, ruleForm, "", "the name of a house rule, %s, must be words of small letters with hyphens", quote(h.ID.Value))
				continue
			case b.e.known.rule(h.ID.Value) != nil, slices.Contains(b.e.known.OfChanges, h.ID.Value):
				b.add(h.ID.Span, ruleForm, "choose another name", "%s is a rule of the program", quote(h.ID.Value))
				continue
			}
			kind, ok := kindOf(h.For.Value)
			if !ok || !h.Holds.Given() {
				continue // the reader has said so
			}
			l := languages[kind]
			if l == nil {
				var err error
				if l, err = newLanguage(kind, b.e.known.Quantities); err != nil {
					// The catalogue is the program's own; without it no rule can
					// be judged, and the standard must not pass for a sound one.
					b.add(h.ID.Span, ruleExpression, "", "%v", err)
					continue
				}
				languages[kind] = l
			}
			r := houseRule{id: h.ID.Value, title: h.Title.Value, reason: h.Reason.Value, kind: kind, level: finding.Error, at: h.Holds.Span}
			if level, ok := finding.ParseLevel(h.Level.Value); ok {
				r.level = level
			}
			before := len(b.list)
			if h.When.Given() {
				r.when = l.compile(h.When, &b.problems)
			}
			r.holds = l.compile(h.Holds, &b.problems)
			r.message = l.template(h.Message, &b.problems)
			if h.Remedy.Given() {
				r.remedy = l.template(h.Remedy, &b.problems)
			}
			if len(b.list) > before {
				continue
			}
			if old := slices.IndexFunc(b.e.houseRules, func(o houseRule) bool { return o.id == r.id }); old >= 0 {
				if !h.Reason.Given() {
					b.add(h.ID.Span, ruleLooser, "give a reason, or choose another name",
						"house rule %s takes the place of the one at %s, and no reason is given", quote(r.id),
						where(b.e.houseRules[old].at))
				}
				b.e.houseRules[old] = r
				continue
			}
			b.e.houseRules = append(b.e.houseRules, r)
		}
	}
}

// Descriptions returns what writers need to know about the house rules, sorted
// by identifier. Rules of level none are among them.
func (e *Effective) Descriptions() []finding.Description {
	var out []finding.Description
	for _, r := range e.houseRules {
		help := "House rule for every " + r.kind.String() + ", from " + where(r.at) + "."
		if r.reason != "" {
			help += " Reason: " + r.reason
		}
		out = append(out, finding.Description{ID: r.id, Title: r.title, Full: r.title, Help: help, Level: r.level})
	}
	slices.SortFunc(out, func(a, b finding.Description) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// HouseRules runs the house rules over one layout. Where bounds leave a rule open, it is
// asked again with the smaller ones of facts that are a Finer.
func (v *View) HouseRules(facts Facts) []finding.Finding {
	var out []finding.Finding
	levels := []Facts{facts}
	for i := range v.e.houseRules {
		r := &v.e.houseRules[i]
		if r.level == finding.None {
			continue
		}
		for _, o := range facts.Objects(r.kind) {
			var f finding.Finding
			for i, straddles := 0, true; straddles; i++ {
				if i == len(levels) {
					next, ok := finer(levels[i-1])
					if !ok {
						break
					}
					levels = append(levels, next)
				}
				f, straddles = v.judge(r, o, levels[i])
			}
			out = append(out, f)
		}
	}
	return engine.Sorted(out)
}

func finer(facts Facts) (Facts, bool) {
	f, ok := facts.(Finer)
	if !ok {
		return nil, false
	}
	return f.Finer()
}

// judge asks a rule about an object. straddles says that it is open because of
// the bounds of values alone, so that smaller ones may decide it.
func (v *View) judge(r *houseRule, o Object, facts Facts) (f finding.Finding, straddles bool) {
	asked := map[string]Value{}
	value := func(name string) Value {
		got, ok := asked[name]
		if !ok {
			got = v.value(o, name, facts)
			asked[name] = got
		}
		return got
	}
	values := func(x *expression) map[string]Value {
		out := map[string]Value{}
		for _, q := range x.inputs {
			out[q.Name] = value(q.Name)
		}
		return out
	}
	f = finding.Finding{Rule: r.id, Object: o.Name, Span: o.Span,
		Related: []finding.Related{{Span: r.at, Message: "the house rule stands here"}}}
	if r.when != nil {
		switch a, why := r.when.ask(values(r.when)); a {
		case no:
			f.Verdict, f.Message = finding.NotApplicable, engine.Named(o.Name, "the house rule does not ask about this "+r.kind.String())
			return f, false
		case open:
			f.Verdict, f.Level = finding.Undecided, min(r.level, finding.Warning)
			f.Message = engine.Named(o.Name, "whether the house rule counts is not decided. "+engine.Sentence(why))
			return f, byBounds(values(r.when))
		}
	}
	a, why := r.holds.ask(values(r.holds))
	if s := r.holds.simple; s != nil {
		f.Measure = measure(s, value(s.quantity), "house rule at "+because(r.at, r.reason))
	}
	switch a {
	case yes:
		f.Verdict, f.Message = finding.Pass, engine.Named(o.Name, "the house rule holds for this "+r.kind.String())
	case no:
		f.Verdict, f.Level = finding.Fail, r.level
		f.Message, f.Remedy = fill(r.message, value), fill(r.remedy, value)
		if !beginsWith(f.Message, o.Name) { // a message may begin with {name}
			f.Message = engine.Named(o.Name, f.Message)
		}
	default:
		f.Verdict, f.Level = finding.Undecided, min(r.level, finding.Warning)
		f.Message = engine.Named(o.Name, r.title+". "+engine.Sentence(why))
		straddles = byBounds(values(r.holds))
	}
	return f, straddles
}

// beginsWith reports whether text begins with a name and not with a longer word.
func beginsWith(text, name string) bool {
	rest, ok := strings.CutPrefix(text, name)
	next, _ := utf8.DecodeRuneInString(rest)
	return ok && !unicode.IsLetter(next) && !unicode.IsDigit(next)
}

// byBounds reports whether every value is there, be it with bounds that are not
// known.
func byBounds(values map[string]Value) bool {
	for _, v := range values {
		if !v.Known && math.IsNaN(v.Value) {
			return false
		}
	}
	return true
}

func (v *View) value(o Object, name string, facts Facts) Value {
	switch {
	case name == "name":
		return Word(o.Name)
	case name == "class" && o.Kind == Channel:
		if classes := v.Classes(o.Name); len(classes) > 0 {
			return Word(classes[len(classes)-1])
		}
		return Word("")
	}
	got := facts.Value(o, name)
	if got.Known && (math.IsNaN(got.Value) || math.IsInf(got.Value, 0)) {
		return Undecided("it is not a number")
	}
	return got
}

func measure(c *comparison, v Value, origin string) *finding.Measure {
	m := &finding.Measure{Value: math.NaN(), Limit: c.limit, Unit: c.unit, AtLeast: c.atLeast, Certainty: math.NaN(), Origin: origin}
	if !v.Known {
		return m
	}
	m.Value = v.Value
	half := max(v.High-v.Value, v.Value-v.Low)
	switch {
	case half == 0:
		m.Certainty = 0
	case v.Value != 0:
		m.Certainty = half / math.Abs(v.Value)
	}
	return m
}
