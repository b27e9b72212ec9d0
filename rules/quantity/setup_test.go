package quantity_test

import (
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/quantity"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// fixture loads a layout of package fixtures.
func fixture(t testing.TB, name string) *layout.Layout {
	t.Helper()
	data, err := fs.ReadFile(fixtures.FS, name)
	if err != nil {
		t.Fatal(err)
	}
	return loaded(t, string(data))
}

func loaded(t testing.TB, yaml string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("layout.yaml", []byte(yaml))
	if l == nil {
		t.Fatalf("the layout does not load: %v", problems)
	}
	return l
}

func facts(l *layout.Layout) *quantity.Facts { return quantity.Of(probe.NewModel(l)) }

// kinds are the kinds of objects by the word of a standard.
var kinds = map[string]enforce.Kind{"channel": enforce.Channel, "bar": enforce.Bar, "shield": enforce.Shield,
	"duty": enforce.Duty}

// value asks for "channel SU coupling".
func value(f enforce.Facts, what string) enforce.Value {
	w := strings.Fields(what)
	return f.Value(enforce.Object{Kind: kinds[w[0]], Name: w[1]}, w[2])
}

// near wants a known number within a relative tolerance of want (absolute where
// want is 0), inside its own bounds.
func near(t *testing.T, f enforce.Facts, what string, want, rel float64) {
	t.Helper()
	v := value(f, what)
	size := math.Abs(want)
	if size == 0 {
		size = 1
	}
	if !v.Known || !(math.Abs(v.Value-want) <= rel*size) {
		t.Errorf("%s is %g (known %v, %s), want %g", what, v.Value, v.Known, v.Why, want)
	}
	if !(v.Low <= v.Value && v.Value <= v.High) {
		t.Errorf("%s: %g does not lie between %g and %g", what, v.Value, v.Low, v.High)
	}
}

// levels returns the facts of every level, the first one first.
func levels(f enforce.Facts) []enforce.Facts {
	out := []enforce.Facts{f}
	for next, ok := f.(enforce.Finer).Finer(); ok; next, ok = next.(enforce.Finer).Finer() {
		out = append(out, next)
	}
	return out
}

// agrees wants a number that a rule found, which refines until it can decide: it
// lies within the bounds of the first level, and is the quantity at one level.
func agrees(t *testing.T, all []enforce.Facts, what string, want float64) {
	t.Helper()
	var got []enforce.Value
	for i, f := range all {
		v := value(f, what)
		got = append(got, v)
		slack := 1e-9 * math.Abs(want)
		if i == 0 && !(v.Known && v.Low-slack <= want && want <= v.High+slack) {
			t.Errorf("%s: %g lies outside %+v", what, want, v)
		}
		if math.Abs(v.Value-want) <= slack {
			return
		}
	}
	t.Errorf("%s is %+v, want %g", what, got, want)
}

// measured returns the number that a rule finds for an object, in the case that
// message holds.
func measured(t *testing.T, l *layout.Layout, rule engine.Rule, object, message string) float64 {
	t.Helper()
	for _, f := range engine.Check(l, []engine.Rule{rule}, engine.Options{}) {
		if f.Object == object && f.Measure != nil && strings.Contains(f.Message, message) {
			return f.Measure.Value
		}
	}
	t.Fatalf("%s finds no number for %q", rule.ID, object)
	return 0
}

// house runs the house rules of a standard over a layout.
func house(t *testing.T, yaml string, f enforce.Facts) []finding.Finding {
	t.Helper()
	e, problems := resolve(t, yaml)
	if e == nil || len(problems) > 0 {
		t.Fatalf("the standard is not taken: %v", problems)
	}
	return e.For("layout.yaml").HouseRules(f)
}

func resolve(t *testing.T, yaml string) (*enforce.Effective, []finding.Finding) {
	t.Helper()
	root := fstest.MapFS{"s.yaml": &fstest.MapFile{Data: []byte(yaml)}}
	set, problems := policyfile.Load(root, policyfile.Paths{Standard: "s.yaml"}, policyfile.Options{})
	if len(problems) > 0 {
		t.Fatalf("the standard does not read: %v", problems)
	}
	return enforce.New(set, enforce.Known{Rules: rules.All(), Version: "1.0.0", Quantities: quantity.Catalogue()})
}
