package enforce

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
)

// facts is a layout of one channel U, with the values given, and the bars of
// which it asks.
type facts map[string]Value

func (f facts) Objects(k Kind) []Object {
	if k == Channel {
		return []Object{{Kind: Channel, Name: "U", Span: at(3, 5)}}
	}
	return nil
}

func (f facts) Value(_ Object, name string) Value {
	v, ok := f[name]
	if !ok {
		return Undecided("nobody computed it")
	}
	return v
}

// house makes a standard with one rule.
func withRule(holds, rest string) string {
	return "standard: 1\nhouse-rules:\n  own-rule:\n    title: the channel is not as we like it\n    for: channel\n    holds: " + holds +
		"\n    message: \"channel {name} has {own_field}, stray {stray}\"\n" + rest
}

// Each truth is worked by hand from the values and their bounds: a rule is
// decided only where every value inside the bounds gives the same answer.
func TestHouseRuleVerdicts(t *testing.T) {
	known := facts{
		"own_field": Num(4e-3, 3.9e-3, 4.2e-3), "stray": Num(0.02, 0.02, 0.02), "gap": Num(5e-3, 5e-3, 5e-3),
		"elements": Num(2, 2, 2), "bar": Word("A"), "is_pair": Truth(true),
	}
	with := func(name string, v Value) facts {
		out := facts{}
		for k, old := range known {
			out[k] = old
		}
		out[name] = v
		return out
	}
	from, to := 20e-3, 23e-3
	drawn := to - from // in floating point a little less than 3 mm
	for _, c := range []struct {
		holds string
		facts facts
		want  finding.Verdict
	}{
		{`own_field >= amount("3 mT")`, known, finding.Pass},
		{`own_field >= amount("39 G")`, known, finding.Pass}, // 3.9 mT: the low bound itself
		{`own_field >= amount("4 mT")`, known, finding.Undecided},
		{`own_field >= amount("4.3 mT")`, known, finding.Fail},
		{`amount("4.3 mT") <= own_field`, known, finding.Fail},
		{`!(own_field < amount("4.3 mT"))`, known, finding.Fail},
		// Round-off of a drawing is no distance: 23 mm less 20 mm is 3 mm.
		{`gap >= amount("3 mm")`, with("gap", Num(drawn, drawn, drawn)), finding.Pass},
		{`gap > amount("3 mm")`, with("gap", Num(drawn, drawn, drawn)), finding.Fail},
		{`gap >= amount("3 mm")`, with("gap", Num(2.9999e-3, 2.9999e-3, 2.9999e-3)), finding.Fail},
		{`stray <= 0.02`, known, finding.Pass},
		{`stray < 0.02`, known, finding.Fail},
		{`stray <= amount("2 %") && own_field > amount("1 mT")`, known, finding.Pass},
		{`stray * own_field <= amount("0.08 mT")`, known, finding.Undecided},
		{`stray * own_field <= amount("0.085 mT")`, known, finding.Pass}, // 0.02 · 4.2 mT = 0.084 mT
		{`own_field / gap < 0.9`, known, finding.Pass},                   // 0.84 T/m at the most; a quotient has no unit to check
		{`bar == "A" && is_pair && elements >= 2.0`, known, finding.Pass},
		{`elements > 2`, known, finding.Fail}, // whole numbers compare with any number
		{`name == "U" && name.startsWith("U")`, known, finding.Pass},
		{`class == ""`, known, finding.Pass},
		{`max(stray, 0.03) > 0.025 && min(stray, 0.03) <= 0.02 && abs(0.0 - stray) > 0.01`, known, finding.Pass},
		// Not known: open, unless the language does not need it.
		{`stray <= 0.02`, with("stray", Undecided("iron is not known")), finding.Undecided},
		{`stray <= 0.02 && own_field >= amount("5 mT")`, with("stray", Undecided("iron")), finding.Fail},
		{`stray <= 0.02 || own_field >= amount("5 mT")`, with("stray", Undecided("iron")), finding.Undecided},
		{`stray <= 0.02 || own_field >= amount("3 mT")`, with("stray", Undecided("iron")), finding.Pass},
		{`!(stray > 0.02)`, with("stray", Value{Value: math.NaN(), Known: true}), finding.Undecided},
		{`!(stray > 0.02)`, with("stray", Num(0.01, math.NaN(), 0.02)), finding.Undecided},
		{`!(stray > 0.02)`, with("stray", Num(0.01, math.Inf(-1), 0.02)), finding.Undecided},
		// A window inside the bounds: both corners and the value answer false, and
		// true is possible all the same.
		{`stray > 0.01 && stray < 0.015`, with("stray", Num(0.004, 0, 0.03)), finding.Undecided},
		// A pole inside the bounds.
		{`1.0 / stray < 300.0`, with("stray", Num(0.01, -0.01, 0.02)), finding.Undecided},
		// Corners of two bounded values.
		{`own_field * 2.0 > amount("7.9 mT") || stray < 0.015`, with("stray", Num(0.02, 0.01, 0.03)), finding.Undecided},
		// Not a number on the way: nothing passes.
		{`!((stray - stray) / (stray - stray) > 1.0)`, known, finding.Undecided},
		{`1.0 / (stray - stray) > 1.0`, known, finding.Undecided},
		{`!(double("NaN") > 1.0)`, known, finding.Undecided},
		{`!(stray * 1e308 * 1e308 - stray * 1e308 * 1e308 > 1.0)`, known, finding.Undecided},
	} {
		got := effective(t, "s.yaml", withRule("'"+c.holds+"'", "")).For("a.yaml").HouseRules(c.facts)
		if len(got) != 1 || got[0].Verdict != c.want {
			t.Errorf("%s: %+v, want %v", c.holds, got, c.want)
		}
	}
}

func TestHouseRuleFindings(t *testing.T) {
	e := effective(t, "s.yaml", withRule("own_field >= amount(\"5 mT\")", "    remedy: move {name} below {gap}\n    when: '!is_pair'\n    level: warning\n    reason: noise of our parts\n"+
		"classes: {pack: {channels: [U]}}\n"))
	show := func(f facts) string {
		got := e.For("a.yaml").HouseRules(f)[0]
		out := fmt.Sprintf("%s %v %v %s: %s / %s", got.Span, got.Verdict, got.Level, got.Object, got.Message, got.Remedy)
		if m := got.Measure; m != nil {
			out += fmt.Sprintf(" [%g of %g %s, at least %v, ±%.3g, %s]", m.Value, m.Limit, m.Unit, m.AtLeast, m.Certainty, m.Origin)
		}
		return out
	}
	base := facts{"own_field": Num(4e-3, 3.9e-3, 4.1e-3), "stray": Num(0.0212, 0.0212, 0.0212), "gap": Num(0.005, 0.005, 0.005), "is_pair": Truth(false)}
	want := `a.yaml:3:5 fail warning U: U: channel U has 4.00 mT, stray 2.12 % / move U below 5.00 mm [0.004 of 0.005 T, at least true, ±0.025, house rule at s.yaml:6: noise of our parts]`
	if got := show(base); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	base["stray"] = Undecided("why not")
	if got := show(base); !strings.Contains(got, "stray not known / ") {
		t.Error(got)
	}
	base["own_field"] = Num(5e-3, 4.9e-3, 5.1e-3)
	want = `a.yaml:3:5 undecided warning U: U: the channel is not as we like it. True and false are both possible: "own_field" lies between 4.9000 mT and 5.1000 mT /  [0.005 of 0.005 T, at least true, ±0.02, house rule at s.yaml:6: noise of our parts]`
	if got := show(base); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	base["is_pair"] = Truth(true)
	if got := show(base); !strings.Contains(got, "not applicable none U: U: the house rule does not ask about this channel") {
		t.Error(got)
	}
	base["is_pair"] = Undecided("no part")
	if got := show(base); !strings.Contains(got, "undecided warning U: U: whether the house rule counts is not decided. \"is_pair\" is not known: no part") {
		t.Error(got)
	}
	d := e.Descriptions()
	if len(d) != 1 || d[0].ID != "own-rule" || d[0].Level != finding.Warning || d[0].Help != "House rule for every channel, from s.yaml:6. Reason: noise of our parts" {
		t.Errorf("%+v", d)
	}
	if got := e.For("a.yaml").Classes("U"); len(got) != 1 || got[0] != "pack" {
		t.Errorf("%v", got)
	}
}

// Every mistake in an expression or a message is named at its place in the file.
func TestHouseRuleRefusals(t *testing.T) {
	long := "stray < 0.1" + strings.Repeat(" && stray < 0.1", 140)
	for _, c := range []struct{ name, holds, rest, want string }{
		{"unknown quantity", "own_feild < amount(\"5 mT\")", "", "s.yaml:6:12-6:21 error standard-expression: a channel has no quantity \"own_feild\". Did you mean \"own_field\"?"},
		{"of another kind", "'density < 1.0'", "", "s.yaml:6:13-6:20 error standard-expression: a channel has no quantity \"density\""},
		{"type", "'is_pair < 3.0'", "", "s.yaml:6:21-6:22 error standard-expression: the expression is wrong here: found no matching overload for '_<_' applied to '(bool, double)'"},
		{"type, in a block", ">-\n      stray < 0.1 &&\n        name > 3.0", "", "s.yaml:8:14-8:15 error standard-expression: the expression is wrong here: found no matching overload for '_>_' applied to '(string, double)'"},
		{"syntax", "'stray < < 0.1'", "", "s.yaml:6:21-6:22 error standard-expression: the expression is wrong here: extraneous input '<'"},
		{"syntax at the end", "'stray <'", "", "s.yaml:6:19-6:20 error standard-expression: the expression is wrong here: mismatched input '<EOF>'"},
		{"not a truth", "'stray * 2.0'", "", "s.yaml:6:12-6:25 error standard-expression: the expression gives a double: it must give true or false"},
		{"whole and broken", "'stray * 2 < 0.1'", "", "s.yaml:6:19-6:20 error standard-expression: the expression is wrong here: found no matching overload for '_*_' applied to '(double, int)'"},
		{"bare number", "'own_field > 0.005'", "", "s.yaml:6:25-6:30 error standard-expression: a bare number stands beside a quantity in T"},
		{"wrong unit", "own_field > amount(\"5 mm\")", "", "s.yaml:6:22-6:23 error standard-expression: a flux density in T and a length in m do not go together"},
		{"two quantities", "'gap + own_field > gap'", "", "s.yaml:6:17-6:18 error standard-expression: a length in m and a flux density in T do not go together"},
		{"no amount", "gap > amount(\"5 mmm\")", "", "s.yaml:6:25-6:32 error standard-expression: \"5 mmm\" is not a number with a unit"},
		{"amount of a quantity", "'gap > amount(name)'", "", "s.yaml:6:26-6:27 error standard-expression: amount takes a text in quotes"},
		{"equality", "'stray == 0.1'", "", "s.yaml:6:19-6:21 error standard-expression: two computed numbers are never equal"},
		{"loops", "'[1, 2].all(i, i < 3)'", "", "s.yaml:6:23-6:26 error standard-expression: a channel has no quantity \"all\""},
		{"records", "'{\"a\": stray}[\"a\"] < 0.1'", "", "s.yaml:6:13-6:14 error standard-expression: records, maps and loops have no place in a house rule"},
		{"long", "'" + long + "'", "", "s.yaml:6:"},
		{"deep", "'" + strings.Repeat("(", 60) + "stray" + strings.Repeat(")", 60) + " < 0.1'", "", "s.yaml:6:"},
		{"placeholder", "'true'", "    remedy: turn {nmae} round\n", "s.yaml:8:19-8:23 error standard-expression: a channel has no quantity \"nmae\". Did you mean \"name\"?"},
		{"open brace", "'true'", "    remedy: \"\\u00e9 {name\"\n", "s.yaml:8:21-8:22 error standard-expression: the brace is not closed"},
		{"closed brace", "'true'", "    remedy: a name}\n", "s.yaml:8:19-8:20 error standard-expression: a brace closes and none is open"},
		{"when", "'true'", "    when: elements\n", "s.yaml:8:11-8:19 error standard-expression: the expression gives a double: it must give true or false"},
		{"name of a rule", "'true'", "  geometry: {title: t, for: bar, holds: 'true', message: m}\n", "s.yaml:8:3-8:11 error value-form: \"geometry\" is a rule of the program"},
		{"name", "'true'", "  Own_Rule: {title: t, for: bar, holds: 'true', message: m}\n", "s.yaml:8:3-8:11 error value-form: the name of a house rule, \"Own_Rule\", must be words of small letters with hyphens"},
	} {
		e, problems := New(read(t, "s.yaml", withRule(c.holds, c.rest)), known())
		got := said(problems)
		if !strings.HasPrefix(got, c.want) || strings.Count(got, "\n") != 1 && c.name != "loops" {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
		if e != nil {
			t.Errorf("%s: the standard is taken", c.name)
		}
	}
}

func TestBracesInMessages(t *testing.T) {
	e := effective(t, "s.yaml", withRule("'false'", "    remedy: \"write {{name}} or {bar}}}\"\n"))
	if got := e.For("a.yaml").HouseRules(facts{"bar": Word("A")})[0].Remedy; got != "write {name} or A}" {
		t.Errorf("%q", got)
	}
}

// A rule of an extended standard is replaced only with a reason.
func TestReplacedHouseRule(t *testing.T) {
	base := strings.Replace(withRule("'false'", ""), "standard: 1", "standard: 1", 1)
	_,
		problems := New(read(t, "s.yaml", strings.Replace(withRule("'true'", ""), "standard: 1",
		"standard: 1\nextends: base.yaml", 1), "base.yaml", base), known())
	if got, want := said(problems), "s.yaml:4:3-4:11 error standard-looser: house rule \"own-rule\" takes the place of the one at base.yaml:6, and no reason is given\n"; got != want {
		t.Errorf("got %swant %s", got, want)
	}
	e := effective(t, "s.yaml", strings.Replace(withRule("'true'", "    reason: measured\n"), "standard: 1",
		"standard: 1\nextends: base.yaml", 1), "base.yaml", base)
	if got := e.For("a.yaml").HouseRules(facts{}); len(got) != 1 || got[0].Verdict != finding.Pass {
		t.Errorf("%+v", got)
	}
}

func TestCost(t *testing.T) {
	// Every quantity with bounds and a turn inside: too many cases to try, which
	// is said and not taken for an answer.
	f := facts{"own_field": Num(1, -2, 3), "stray": Num(1, -2, 3), "gap": Num(1, -2, 3), "elements": Num(1, -2, 3)}
	holds := `own_field > amount("1.5 T") || stray * 3.0 > 50.0 || gap > amount("2.5 m") || elements > 10.5 || stray > 11.25 || gap > amount("2.25 m") || 1.75 > elements`
	got := effective(t, "s.yaml", withRule("'"+holds+"'", "")).For("a.yaml").HouseRules(f)
	if len(got) != 1 || got[0].Verdict != finding.Undecided || !strings.Contains(got[0].Message, "too many cases to try") {
		t.Errorf("%+v", got)
	}
}

func TestValidateQuantities(t *testing.T) {
	if err := ValidateQuantities(quantities()); err != nil {
		t.Error(err)
	}
	for want, q := range map[string]Quantity{
		"no identifier": {Kind: Bar, Name: "own-field", Type: Number, Unit: "T", Doc: "d"},
		"of the lang":   {Kind: Bar, Name: "in", Type: Number, Unit: "T", Doc: "d"},
		"stands twice":  {Kind: Bar, Name: "name", Type: Text, Doc: "d"},
		"no type":       {Kind: Bar, Name: "x", Doc: "d"},
		"is none":       {Kind: Bar, Name: "x", Type: Number, Unit: "mT", Doc: "d"},
		"unit \"T\"":    {Kind: Bar, Name: "x", Type: Text, Unit: "T", Doc: "d"},
		"documented":    {Kind: Bar, Name: "x", Type: Number, Unit: "T"},
		"no such kind":  {Name: "x", Type: Number, Unit: "T", Doc: "d"},
	} {
		if err := ValidateQuantities([]Quantity{q}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", q, err, want)
		}
	}
	if got := len(QuantitiesOf(Channel, quantities())); got != 8 {
		t.Errorf("%d quantities of a channel", got)
	}
}
