package quantity_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/enforce"
	"busgauss/rules/quantity"
)

// rule is a standard with one house rule about every object of a kind.
func rule(kind, holds, message string) string {
	return "standard: 1\nhouse-rules:\n  ours:\n    title: not as we like it\n    for: " + kind + "\n    holds: '" + holds + "'\n    message: \"" + message + "\"\n"
}

// verdicts says what a house rule found, object by object.
func verdicts(found []finding.Finding) string {
	var out []string
	for _, f := range found {
		out = append(out, f.Object+" "+f.Verdict.String())
	}
	return strings.Join(out, ", ")
}

// Expressions over the catalogue on layouts that are in order. The numbers behind
// them are those of the other tests of this package.
func TestHouseRulesOnLayouts(t *testing.T) {
	ferry, channel, pair := facts(fixture(t, "clean/ferry-thruster.yaml")), facts(fixture(t, "clean/ferry-channel.yaml")), facts(fixture(t, "clean/plausibility-pair.yaml"))
	for _, c := range []struct {
		f                 enforce.Facts
		kind, holds, want string
	}{
		{ferry, "channel", `own_field_continuous >= amount("5 mT")`, "SU pass, SV pass, SW pass"},
		{ferry, "channel", `own_field_continuous >= amount("6 mT")`, "SU fail, SV fail, SW fail"},
		{ferry, "channel", `crosstalk <= amount("2 %") && linear_range_share_fault < 1.0`, "SU pass, SV pass, SW pass"},
		{ferry, "channel", `reads != "V" || stray_ratio_fault < 0.01`, "SU pass, SV fail, SW pass"},
		{ferry, "channel", `output_swing < amount("4.2 V") || part == "plover-20"`, "SU pass, SV pass, SW pass"},
		// Nothing is declared behind the part: open, unless it does not matter.
		{ferry, "channel", `resolution <= amount("1 A")`, "SU undecided, SV undecided, SW undecided"},
		{ferry, "channel", `!has_readout || resolution <= amount("1 A")`, "SU pass, SV pass, SW pass"},
		{channel, "channel", `!has_readout || resolution <= amount("2 A")`, "SP pass, SU pass, SV pass, SW pass"},
		{channel, "channel", `trip_current + trip_overshoot < amount("660 A") && trip_time < amount("10 us")`, "SP pass, SU pass, SV pass, SW pass"},
		{channel, "channel", `accuracy <= amount("1 %")`, "SP fail, SU fail, SV fail, SW fail"},
		{channel, "channel", `linear_range_share_fault < 1.0`, "SP undecided, SU undecided, SV undecided, SW undecided"},
		{channel, "channel", `bandwidth > 8.0 * frequency && lag < amount("5 deg")`, "SP undecided, SU pass, SV pass, SW pass"},
		// Two channels in one expression: what one of a pair says of the other, and
		// each channel's neighbour.
		{pair, "channel", `twin != "" && twin_difference < amount("1 %") && twin_common_current < 0.02 * full_scale`, "above pass, below pass"},
		{pair, "channel", `twin_common_current < 0.005 * full_scale`, "above fail, below fail"},
		{ferry, "channel", `crosstalk_given < 0.02 && channel_distance > 5.0 * distance`, "SU pass, SV pass, SW pass"},
		{ferry, "bar", `heating_density < amount("3 A/mm2") && bar_distance > amount("30 mm")`, "U pass, V pass, W pass"},
		{ferry, "bar", `loss < amount("5 W")`, "U fail, V fail, W fail"},
		{channel, "bar", `loss < amount("5 W")`, "P undecided, N undecided, U undecided, V undecided, W undecided"},
		{ferry, "duty", `kind == "fault" || residue < 0.001`, "crossing pass, docking pass, short pass"},
		{ferry, "duty", `stray_channel != "SV" && current > amount("400 A")`, "crossing fail, docking fail, short pass"}, // SW idles beside the short
		{ferry, "shield", `wall > amount("1 mm")`, ""},
	} {
		found := house(t, rule(c.kind, c.holds, "{name}"), c.f)
		if got := verdicts(found); !sameSet(got, c.want) {
			t.Errorf("%s: %s\n got %s\nwant %s", c.kind, c.holds, got, c.want)
		}
	}
	// The reason of a value is the reason of the verdict, and messages print it.
	f := house(t, rule("channel", `resolution <= amount("1 A")`, "x"), ferry)[0]
	if want := `"resolution" is not known: nothing is declared behind its part: add a readout`; !strings.Contains(f.Message, want) || f.Level != finding.Warning {
		t.Errorf("%+v", f)
	}
	f = house(t, rule("channel", `own_field_continuous >= amount("6 mT")`, "{name} at {distance} of {reads}: {own_field_continuous}, {stray_ratio_fault}, {resolution}"), ferry)[0]
	if want := "SU at 4.00 mm of U: 5.76 mT, 1.64 %, not known"; f.Message != want || f.Span.Start.Line != 10 {
		t.Errorf("%q at %s, want %q", f.Message, f.Span, want)
	}
}

func sameSet(a, b string) bool {
	x, y := strings.Split(a, ", "), strings.Split(b, ", ")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// Mistakes are named at line and column, with the quantity that was meant.
func TestMistakesInExpressions(t *testing.T) {
	long := `stray_ratio_peak < 0.1` + strings.Repeat(` && stray_ratio_peak < 0.1`, 100)
	for _, c := range []struct{ kind, holds, want string }{
		{"channel", `crostalk < 0.02`, `s.yaml:6:13: a channel has no quantity "crostalk". Did you mean "crosstalk"?`},
		{"channel", `distance < amount("9 mm") && own_feild_peak < amount("9 mT")`, `s.yaml:6:42: a channel has no quantity "own_feild_peak". Did you mean "own_field_peak"?`},
		{"bar", `curent_density_peak < amount("4 A/mm2")`, `s.yaml:6:13: a bar has no quantity "curent_density_peak". Did you mean "current_density_peak"?`},
		{"bar", `coupling < amount("1 mT/A")`, `s.yaml:6:13: a bar has no quantity "coupling"`},
		{"shield", `wal > amount("1 mm")`, `s.yaml:6:13: a shield has no quantity "wal". Did you mean "wall"?`},
		{"channel", `accuracy < amount("1 A")`, `s.yaml:6:22: a pure number and a current in A do not go together`},
		{"channel", `zero_error < 1.0`, `s.yaml:6:26: a bare number stands beside a quantity in A`},
		{"duty", `kind < 3.0`, `s.yaml:6:18: the expression is wrong here: found no matching overload for '_<_' applied to '(string, double)'`},
		{"channel", `has_readout == 1.0`, `s.yaml:6:25: the expression is wrong here: found no matching overload for '_==_' applied to '(bool, double)'`},
		{"channel", long, `s.yaml:6:`},
	} {
		e, problems := resolve(t, rule(c.kind, c.holds, "{name}"))
		if e != nil || len(problems) != 1 || !strings.HasPrefix(problems[0].Span.String()+": "+problems[0].Message, c.want) {
			t.Errorf("%.60s: %v, want %s", c.holds, problems, c.want)
		}
	}
}

// A quantity that no expression names is not computed: a rule on what is drawn
// costs no field, even beside iron.
func TestOnlyWhatIsAskedIsComputed(t *testing.T) {
	f := &counted{Facts: facts(fixture(t, "clean/ferry-channels.yaml")), asked: map[string]int{}}
	found := house(t, rule("channel", `distance > amount("2 mm") && part != ""`, "{coupling}"), f)
	if verdicts(found) != "SU pass, SV pass, SW pass" || len(f.asked) != 2 || f.asked["distance"] != 3 || f.asked["part"] != 3 {
		t.Errorf("%s, asked %v", verdicts(found), f.asked)
	}
}

// counted are facts that count what is asked of them.
type counted struct {
	*quantity.Facts
	asked map[string]int
}

func (c *counted) Value(o enforce.Object, name string) enforce.Value {
	c.asked[name]++
	return c.Facts.Value(o, name)
}

// Bounds behind iron are wide at the first level; a limit that they leave open is
// decided at a finer one.
func TestBoundsBehindIron(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	f := facts(fixture(t, "failing/winch-channels.yaml"))
	for holds, want := range map[string]string{
		`coupling > amount("70 uT/A")`:                                   "SP fail, SM fail",
		`has_iron && own_field_continuous > amount("10 mT")`:             "SP pass, SM pass",
		`coupling * 1000000.0 > amount("1 T/A") || linearity < 0.000001`: "SP pass, SM pass",
	} {
		if got := verdicts(house(t, rule("channel", holds, "{name}"), f)); !sameSet(got, want) {
			t.Errorf("%s: %s, want %s", holds, got, want)
		}
	}
	// The bounds of the first level hold a straight line and five thousandths off
	// it; the true state of the iron is between two and four.
	holds := `linearity > 0.0015`
	with, without := verdicts(house(t, rule("channel", holds, "{name}"), f)), verdicts(house(t, rule("channel", holds, "{name}"), plainFacts{f}))
	if !sameSet(with, "SP pass, SM pass") || !sameSet(without, "SP undecided, SM undecided") {
		t.Errorf("%s is %s, and without finer bounds %s", holds, with, without)
	}
}

// plainFacts hide that there are finer ones.
type plainFacts struct{ enforce.Facts }

// The example of README.md, on the layout of README.md: it says what the text
// beside it says.
func TestReadmeExample(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	block := func(with string) string {
		t.Helper()
		for _, m := range regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(string(text), -1) {
			if strings.Contains(m[1], with) {
				return m[1]
			}
		}
		t.Fatalf("README.md has no example with %q", with)
		return ""
	}
	found := house(t, block("house-rules:"), facts(loaded(t, block("title: Cable ferry, winch motor"))))
	told := map[string]bool{}
	for _, f := range found {
		if f.Verdict != finding.Fail {
			continue
		}
		told[f.Rule] = true
		if line := f.Level.String() + ": " + f.Message + " [" + f.Rule + "]"; !strings.Contains(string(text), line) {
			t.Errorf("README.md does not say %q", line)
		}
	}
	if len(told) == 0 || len(found) <= len(told) {
		t.Errorf("the example must fail in one rule and hold in another: %s", verdicts(found))
	}
}
