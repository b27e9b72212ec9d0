package engine

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/span"
)

func good() Rule {
	return Rule{ID: "some-rule", Title: "something", Level: finding.Error, Check: func(*Run) {},
		Limits: []Limit{{Key: "most", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
			Reason: "common practice"}}}
}

// Each mistake alone must be refused, and named.
func TestValidateRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Rule)
		say   string
	}{
		"number":          {func(r *Rule) { r.ID = "rule-12" }, "words"},
		"capital":         {func(r *Rule) { r.ID = "Some-rule" }, "words"},
		"underscore":      {func(r *Rule) { r.ID = "some_rule" }, "words"},
		"empty":           {func(r *Rule) { r.ID = "" }, "words"},
		"trailing hyphen": {func(r *Rule) { r.ID = "some-" }, "words"},
		"no title":        {func(r *Rule) { r.Title = "" }, "title"},
		"no level":        {func(r *Rule) { r.Level = finding.None }, "level"},
		"no check":        {func(r *Rule) { r.Check = nil }, "nothing"},
		"limit key":       {func(r *Rule) { r.Limits[0].Key = "most 2" }, "key"},
		"limit twice":     {func(r *Rule) { r.Limits = append(r.Limits, r.Limits[0]) }, "twice"},
		"no unit":         {func(r *Rule) { r.Limits[0].Unit = "" }, "unit"},
		"no reason":       {func(r *Rule) { r.Limits[0].Reason = "" }, "reason"},
		"NaN":             {func(r *Rule) { r.Limits[0].Default = math.NaN() }, "finite"},
		"infinite":        {func(r *Rule) { r.Limits[0].Default = math.Inf(1) }, "finite"},
		"need, no key":    {func(r *Rule) { r.Limits[0].Need = func(*layout.Need) layout.Num { return layout.Num{} } }, "need"},
		"key, no need":    {func(r *Rule) { r.Limits[0].NeedKey = "stray" }, "need"},
	} {
		r := good()
		c.spoil(&r)
		if err := Validate([]Rule{r}); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: %v, want a word of %q", name, err, c.say)
		}
	}
	if err := Validate([]Rule{good(), good()}); err == nil || !strings.Contains(err.Error(), "twice") {
		t.Errorf("same rule twice: %v", err)
	}
	if err := Validate([]Rule{good()}); err != nil {
		t.Errorf("a good rule: %v", err)
	}
}

// Anything that is not a number is undecided, whatever the other numbers say.
func TestDecide(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	e := func(low, v, high float64) bounded.Estimate { return bounded.Estimate{Low: low, Value: v, High: high} }
	const p, f, u = finding.Pass, finding.Fail, finding.Undecided
	for _, c := range []struct {
		e              bounded.Estimate
		limit          float64
		ceiling, floor finding.Verdict
	}{
		{e(1, 1, 1), 2, p, f},
		{e(3, 3, 3), 2, f, p},
		{e(2, 2, 2), 2, p, p}, // equal is inside
		{e(1, 1.9, 2), 2, p, u},
		{e(1, 1.9, 2.1), 2, u, u},
		{e(2, 2.5, 3), 2, u, p},
		{e(2.1, 2.5, 3), 2, f, p},
		{e(0, 0, 0), 0, p, p},
		{e(1, 1, inf), 2, u, u},
		{e(1, inf, inf), 2, u, u},
		{e(3, inf, inf), 2, f, p},
		{e(nan, 1, 1), 2, u, u},
		{e(1, nan, 1), 2, u, u},
		{e(1, 1, nan), 2, u, u},
		{e(3, 3, nan), 2, u, u},
		{e(nan, 3, 3), 2, u, u},
		{e(nan, nan, nan), 2, u, u},
		{e(1, 1, 1), nan, u, u},
		{e(2, 1, 0), 2, u, u}, // bounds the wrong way round
		{e(1.5, 1, 1.8), 2, u, u},
		{bounded.Exact(23e-3 - 20e-3), 3e-3, p, p}, // round-off of a drawing
		{bounded.Exact(3e-3 * (1 + 1e-9)), 3e-3, f, p},
		{bounded.Exact(3e-3 * (1 - 1e-9)), 3e-3, p, f},
	} {
		if got := Decide(c.e, c.limit, false); got != c.ceiling {
			t.Errorf("%v at most %g: %v, want %v", c.e, c.limit, got, c.ceiling)
		}
		if got := Decide(c.e, c.limit, true); got != c.floor {
			t.Errorf("%v at least %g: %v, want %v", c.e, c.limit, got, c.floor)
		}
	}
}

func newRun(l *layout.Layout, r *Rule) *Run {
	return &Run{Layout: l, Model: probe.NewModel(l), rule: r}
}

// Judge keeps passes with their numbers, asks for a remedy only on a failure
// and gives a level only where something is to be done.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		found   bounded.Estimate
		verdict finding.Verdict
		level   finding.Level
		remedy  string
		message string
	}{
		{bounded.Exact(0.02), finding.Pass, finding.None, "", `S: it is 2.00 % so, limit 5 %, in "run". Most of it is late`},
		{bounded.Exact(0.08), finding.Fail, finding.Error, "do this", `S: it is 8.00 % so, limit 5 %, in "run". Most of it is late`},
		{bounded.Exact(0.0500001), finding.Fail, finding.Error, "do this", `S: it is 5.00001 % so, limit 5 %, in "run". Most of it is late`},
		{bounded.Estimate{Low: 0.04, Value: 0.05, High: 0.06}, finding.Undecided, finding.Warning, "",
			`S: it is 5.00 % so, limit 5 %, in "run": between 4.00 % and 6.00 %. Most of it is late`},
		{bounded.Estimate{Low: math.NaN(), Value: 0.05, High: 0.06}, finding.Undecided, finding.Warning, "",
			`S: it is 5.00 % so, limit 5 %, in "run": its bounds are not known. Most of it is late`},
		{bounded.Exact(math.NaN()), finding.Undecided, finding.Warning, "",
			`S: it is an unknown amount so, limit 5 %, in "run". Most of it is late`},
	} {
		rule := good()
		run := newRun(&layout.Layout{}, &rule)
		got := run.Judge(Case{Object: "S", Found: c.found, Limit: run.Limit("most", "S"), Says: "it is", Rest: "so", In: "run", Why: []string{"", "Most of it is late"},
			Remedy: func() string { return "do this" }})
		if got != c.verdict || len(run.out) != 1 {
			t.Fatalf("%v: %v, %d findings", c.found, got, len(run.out))
		}
		m := mender{model: run.Model, found: run.out}
		m.mend([]*Run{run})
		f := run.out[0]
		if f.Verdict != c.verdict || f.Level != c.level || f.Remedy != c.remedy || f.Message != c.message || f.Rule != "some-rule" || f.Object != "S" {
			t.Errorf("%v: %+v", c.found, f)
		}
		if f.Measure == nil || f.Measure.Limit != 0.05 || f.Measure.Unit != "1" || f.Measure.Origin != "default: common practice" {
			t.Errorf("%v: measure %+v", c.found, f.Measure)
		}
	}
	rule := good()
	run := newRun(&layout.Layout{}, &rule)
	run.Judge(Case{Found: bounded.Exact(1), Limit: run.Limit("most", ""), Level: finding.Note})
	if run.out[0].Level != finding.Note || run.out[0].Remedy != "" {
		t.Errorf("level of the case: %+v", run.out[0])
	}
}

// A need tightens a limit and never loosens it; the channel's own need comes
// before that of all; a need that is not set, or not a number, changes nothing.
func TestLimitTightensOnly(t *testing.T) {
	num := func(v float64) layout.Num {
		return layout.Num{V: v, Set: true, Span: span.Span{File: "f", Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}}
	}
	for _, c := range []struct {
		name    string
		atLeast bool
		needs   []layout.Need
		channel string
		want    float64
	}{
		{"none", false, nil, "S", 0.05},
		{"tighter for all", false, []layout.Need{{Channel: "all", Stray: num(0.02)}}, "S", 0.02},
		{"looser for all", false, []layout.Need{{Channel: "all", Stray: num(0.5)}}, "S", 0.05},
		{"own before all", false, []layout.Need{{Channel: "S", Stray: num(0.03)}, {Channel: "all", Stray: num(0.01)}}, "S", 0.03},
		{"all stands first", false, []layout.Need{{Channel: "all", Stray: num(0.01)}, {Channel: "S", Stray: num(0.03)}}, "S", 0.03},
		{"own does not say", false, []layout.Need{{Channel: "S"}, {Channel: "all", Stray: num(0.01)}}, "S", 0.01},
		{"another channel", false, []layout.Need{{Channel: "T", Stray: num(0.01)}}, "S", 0.05},
		{"no channel asked", false, []layout.Need{{Channel: "all", Stray: num(0.01)}}, "", 0.05},
		{"not a number", false, []layout.Need{{Channel: "S", Stray: num(math.NaN())}}, "S", 0.05},
		{"floor, tighter", true, []layout.Need{{Channel: "S", Stray: num(0.3)}}, "S", 0.3},
		{"floor, looser", true, []layout.Need{{Channel: "S", Stray: num(0.01)}}, "S", 0.05},
	} {
		rule := good()
		rule.Limits[0].AtLeast = c.atLeast
		rule.Limits[0].Need, rule.Limits[0].NeedKey = func(n *layout.Need) layout.Num { return n.Stray }, "stray"
		b := newRun(&layout.Layout{Needs: c.needs}, &rule).Limit("most", c.channel)
		if b.Value != c.want || b.AtLeast != c.atLeast {
			t.Errorf("%s: %+v, want %g", c.name, b, c.want)
		}
		if set := b.Value != 0.05; set != b.Span.Valid() || set != strings.HasPrefix(b.Origin, `need "stray"`) {
			t.Errorf("%s: origin %q, span %v", c.name, b.Origin, b.Span)
		}
		if looser := strings.Contains(c.name, "looser"); looser != strings.Contains(b.Origin, "is looser and does not count") {
			t.Errorf("%s: origin %q", c.name, b.Origin)
		}
	}
}

// What a layout demands of itself takes the place of a default that nobody set, but
// loosens no limit of a house.
func TestDemandTakesThePlaceOfDefault(t *testing.T) {
	at := span.Span{File: "f", Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}
	looser, tight := layout.Num{V: 0.5, Set: true, Span: at}, layout.Num{V: 0.01, Set: true, Span: at}
	rule := good()
	run := newRun(&layout.Layout{}, &rule)
	if b := run.Limit("most", "S"); !b.IsDefault() || b.Over(layout.Num{V: 0.5}, "accuracy") != b {
		t.Errorf("a demand that is not set: %+v", b)
	}
	for _, n := range []layout.Num{looser, tight} {
		if b := run.Limit("most", "S").Over(n, "accuracy"); b.Value != n.V || b.Span != at || b.Origin != `"accuracy" of the layout` || b.IsDefault() {
			t.Errorf("over the default: %+v", b)
		}
	}
	run.limit = func(string, string, string) (float64, string, span.Span, bool) {
		return 0.05, "house standard", span.Span{}, true
	}
	if b := run.Limit("most", "S").Over(looser, "accuracy"); b.Value != 0.05 || b.Origin != "house standard" || b.IsDefault() {
		t.Errorf("over a house: %+v", b)
	}
	if b := run.Limit("most", "S").Over(tight, "accuracy"); b.Value != 0.01 {
		t.Errorf("tighter than a house: %+v", b)
	}
}

// Nobody who wants no remedies pays for one.
func TestNoRemedies(t *testing.T) {
	rule := good()
	rule.Check = func(r *Run) {
		r.Judge(Case{Object: "S", Found: bounded.Exact(1), Limit: r.Limit("most", "S"), Says: "m",
			Remedy: func() string {
				return "do this"
			}})
	}
	for _, c := range []struct {
		o    Options
		want string
	}{{Options{}, "do this"}, {Options{NoRemedies: true}, ""}} {
		if f := Check(&layout.Layout{}, []Rule{rule}, c.o); len(f) != 1 || f[0].Verdict != finding.Fail || f[0].Remedy != c.want {
			t.Errorf("%+v: %v", c.o, f)
		}
	}
}

func TestLimitUndeclaredPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a limit that the rule does not declare must panic")
		}
	}()
	rule := good()
	newRun(&layout.Layout{}, &rule).Limit("least", "")
}

// Sorted is a total order: any shuffle of the same findings gives the same
// list, and repeats are dropped.
func TestSortedIsTotalAndDropsRepeats(t *testing.T) {
	at := func(file string, line, column int) span.Span {
		return span.Span{File: file, Start: span.Pos{Line: line, Column: column}, End: span.Pos{Line: line, Column: column + 1}}
	}
	want := []finding.Finding{
		{Span: at("a", 1, 1), Rule: "r"},
		{Span: at("a", 1, 2), Rule: "q"},
		{Span: at("a", 1, 2), Rule: "r", Object: "A"},
		{Span: at("a", 1, 2), Rule: "r", Object: "B", Cause: "d", Verdict: finding.Fail},
		{Span: at("a", 1, 2), Rule: "r", Object: "B", Cause: "e", Verdict: finding.Pass},
		{Span: at("a", 1, 2), Rule: "r", Object: "B", Cause: "e", Verdict: finding.Fail, Message: "m"},
		{Span: at("a", 1, 2), Rule: "r", Object: "B", Cause: "e", Verdict: finding.Fail, Message: "n"},
		{Span: at("a", 1, 2), Rule: "r", Object: "B", Cause: "e", Verdict: finding.Fail, Message: "n", Others: []string{"x"}},
		{Span: at("a", 2, 1), Rule: "a"},
		{Span: at("a", 10, 1), Rule: "a"},
		{Span: at("b", 1, 1), Rule: "a"},
	}
	const seed = 7
	random := rand.New(rand.NewPCG(seed, seed))
	for range 50 {
		got := append(slices.Clone(want), want[random.IntN(len(want))], want[random.IntN(len(want))])
		random.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		got = Sorted(got)
		if !slices.EqualFunc(got, want, func(a, b finding.Finding) bool { return Compare(a, b) == 0 }) {
			t.Fatalf("seed %d: %v", seed, got)
		}
	}
}

// Check runs every rule on one model and lets none write to another's list.
func TestCheckRunsAll(t *testing.T) {
	a, b := good(), good()
	a.ID, b.ID = "first", "second"
	a.Check = func(r *Run) { r.Pass("S", span.Span{}, "fine") }
	b.Check = func(r *Run) { r.Undecided("S", span.Span{}, "d", "open"); r.Pass("S", span.Span{}, "fine") }
	got := Check(&layout.Layout{}, []Rule{b, a}, Options{})
	if len(got) != 3 || got[0].Rule != "first" || got[1].Rule != "second" || got[2].Rule != "second" {
		t.Errorf("%v", got)
	}
}

// Searches are dear: a rule gets so many of them in one layout, and none at a level
// that a smaller bound takes the place of.
func TestRemediesAreBounded(t *testing.T) {
	rule := good()
	asked := 0
	rule.Check = func(r *Run) {
		for range mostRemedies + 3 {
			r.Judge(Case{Object: "S", Found: bounded.Exact(0.08), Limit: r.Limit("most", "S"), Says: "it is",
				Remedy: func() string { asked++; return "do this" }})
		}
		// Leaves the rule unsure at every level.
		r.Judge(Case{Object: "S", Found: bounded.Estimate{Low: 0.04, Value: 0.05, High: 0.06},
			Limit: r.Limit("most", "S"), Says: "it may be"})
	}
	l := &layout.Layout{}
	list := []Rule{rule}
	runs, out := runAll(probe.NewModel(l), list, Options{})
	m := mender{model: probe.NewModel(l), rules: list, found: out}
	m.mend(runs)
	if asked != mostRemedies {
		t.Errorf("%d searches, want %d", asked, mostRemedies)
	}
	if got := out[mostRemedies-1].Remedy; got != "do this" {
		t.Errorf("the last one searched says %q", got)
	}
	if got := out[mostRemedies].Remedy; !strings.Contains(got, "see the first 24 findings") {
		t.Errorf("the next one says %q", got)
	}
	asked = 0
	if CheckWith(probe.NewModel(l), []Rule{rule}, Options{NoRemedies: true}); asked != 0 {
		t.Errorf("%d searches, want none", asked)
	}
}
