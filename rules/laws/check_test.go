package laws

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// checked is what a check says of a layout.
type checked struct {
	text     []byte
	found    []finding.Finding
	problems []finding.Finding // of the loader; with any, nothing was judged
}

// list is that of the product.
var allRules = rules.All()

// check loads a text and runs every rule, as the command does with no house standard; what
// remedies say is no part of any law, so none is searched.
func check(text []byte, o engine.Options) checked {
	o.NoRemedies = true
	l, problems := load.Load("layout.yaml", text)
	out := checked{text: text, problems: problems}
	if l != nil {
		out.found = engine.Check(l, allRules, o)
	}
	return out
}

func (c *checked) loads() bool { return len(c.problems) == 0 }

// about is what a rule says of one object, renamed where a law renames.
type about struct{ rule, object string }

// grouped sorts what was said by rule and object; inside a group the worst verdict stands first,
// then the value, so that causes (which of two equal duties) do not matter.
func (c *checked) grouped(rename func(string) string) map[about][]finding.Finding {
	out := map[about][]finding.Finding{}
	for _, f := range c.found {
		id := f.Object
		if rename != nil {
			id = rename(id)
		}
		k := about{f.Rule, id}
		out[k] = append(out[k], f)
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b finding.Finding) int {
			return cmp.Or(cmp.Compare(badness(b.Verdict), badness(a.Verdict)), cmp.Compare(unitOf(a), unitOf(b)),
				cmp.Compare(valueOf(a), valueOf(b)))
		})
	}
	return out
}

func unitOf(f finding.Finding) string {
	if f.Measure == nil {
		return ""
	}
	return f.Measure.Unit
}

func valueOf(f finding.Finding) float64 {
	if f.Measure == nil {
		return math.NaN()
	}
	return f.Measure.Value
}

// badness orders verdicts: nothing said, pass, undecided, fail.
func badness(v finding.Verdict) int {
	switch v {
	case finding.Fail:
		return 3
	case finding.Undecided:
		return 2
	case finding.Pass, finding.Permitted:
		return 1
	}
	return 0
}

// sortedKeys are the groups in a fixed order.
func sortedKeys[V any](m map[about]V) []about {
	out := make([]about, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b about) int {
		return cmp.Or(cmp.Compare(a.rule, b.rule), cmp.Compare(a.object, b.object))
	})
	return out
}

func line(f finding.Finding) string {
	s := fmt.Sprintf("%s %s %s: %s", f.Verdict, f.Rule, f.Object, f.Message)
	if m := f.Measure; m != nil {
		s += fmt.Sprintf(" [%.9g ± %.2g of it, limit %.9g %s]", m.Value, m.Certainty, m.Limit, m.Unit)
	}
	return s
}

func lines(list []finding.Finding) string {
	var b strings.Builder
	for _, f := range list {
		b.WriteString("    " + line(f) + "\n")
	}
	return b.String()
}

// TestGeneratorLoads: what the generator writes is what a user may write. A text that does not
// load would hold no law.
func TestGeneratorLoads(t *testing.T) {
	broken := 0
	for k := range uint64(300) {
		text := yaml(generate(1, k), nil)
		if l, problems := load.Load("layout.yaml", text); l == nil || len(problems) > 0 {
			t.Errorf("layout %d: %s\n%s", k, lines(problems), text)
			if broken++; broken == 5 {
				t.FailNow()
			}
		}
	}
}
