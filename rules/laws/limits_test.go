package laws

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// judged is a number of a rule with the limit that a house may set for it.
type judged struct {
	finding.Finding
	rule  engine.Rule
	key   string
	limit float64 // default that stands for Measure.Limit
}

// judgedOf picks one of the findings with a number whose limit is a default.
func judgedOf(d dice, base *checked) (judged, bool) {
	var list []judged
	for _, f := range base.found {
		if f.Measure == nil || !(f.Measure.Value > 0) || !(f.Measure.Limit > 0) || badness(f.Verdict) == 0 {
			continue
		}
		for _, r := range allRules {
			if r.ID != f.Rule {
				continue
			}
			for _, l := range r.Limits {
				scaled := len(r.Limits) == 1 && f.Measure.Unit != l.Unit // a share of a full scale
				if l.Default > 0 && (scaled || f.Measure.Unit == l.Unit &&
					math.Abs(f.Measure.Limit-l.Default) <= 1e-9*l.Default) {
					list = append(list, judged{f, r, l.Key, l.Default})
					break
				}
			}
		}
	}
	if len(list) == 0 {
		return judged{}, false
	}
	return pick(d, list...), true
}

// at checks the rule again with the limit at want, and returns the finding that answers to the
// first one; false where another has taken its place.
func (j *judged) at(text []byte, want float64) (finding.Finding, bool) {
	l, problems := load.Load("layout.yaml", text)
	if l == nil || len(problems) > 0 {
		return finding.Finding{}, false
	}
	set := j.limit * want / j.Measure.Limit
	found := engine.Check(l, []engine.Rule{j.rule}, engine.Options{NoRemedies: true,
		Limit: func(rule, key, channel string) (float64, string, span.Span, bool) {
			if rule == j.rule.ID && key == j.key {
				return set, "law", span.Span{}, true
			}
			return 0, "", span.Span{}, false
		}})
	for _, f := range found {
		if f.Object == j.Object && f.Cause == j.Cause && f.Measure != nil && f.Measure.Unit == j.Measure.Unit &&
			math.Abs(f.Measure.Limit-want) <= 1e-9*want {
			return f, true
		}
	}
	return finding.Finding{}, false
}

// limits sets the limit of one number just inside, on and just outside of its bound. Inside it
// must not pass where the limit is beyond, nor fail where it is not. On the value itself the
// engine goes to the finest field that it has, whose value must lie in the bound of the first.
func (b *bed) limits(d dice) []breach {
	j, ok := judgedOf(d, &b.base)
	if !ok {
		return nil
	}
	m := j.Measure
	w := spread(m.Value, m.Certainty)
	if math.IsInf(w, 1) {
		return nil
	}
	var out []breach
	apart := 0.0
	tell := func(law, format string, args ...any) {
		out = append(out, breach{law: law, rule: j.Rule, object: j.Object, apart: apart,
			text: "  " + fmt.Sprintf(format, args...) + "\n  first:\n" + lines([]finding.Finding{j.Finding})})
	}
	beyond := 1.01*w + 1e-6*m.Value
	for _, side := range []float64{1, -1} {
		want := m.Value + side*beyond
		f, ok := j.at(b.base.text, want)
		if !ok || want <= 0 {
			continue
		}
		wrong := finding.Fail
		if (side < 0) != m.AtLeast {
			wrong = finding.Pass
		}
		if f.Verdict == wrong {
			tell("limit", "with its limit at %.9g it is a %s:\n%s", want, f.Verdict, lines([]finding.Finding{f}))
		}
	}
	if f, ok := j.at(b.base.text, m.Value); ok && math.Abs(f.Measure.Value-m.Value) > w+1e-9*m.Value {
		apart = math.Abs(f.Measure.Value-m.Value) / m.Value
		tell("value", "the finest field gives %.9g, outside %.9g ± %.3g", f.Measure.Value, m.Value, w)
	}
	return out
}
