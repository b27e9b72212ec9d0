package enforce

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/policyfile"
)

const layered = `standard: 1
extends: [base.yaml, drive]
rules:
  stray-ratio: {limits: {budget: 1.5 %}}
  range-use: {level: error}
paths:
  - files: [proto/**]
    rules:
      stray-ratio: {limits: {budget: 8 %}, reason: prototypes are calibrated one by one}
  - files: [proto/safe/*.yaml]
    rules:
      stray-ratio: {limits: {budget: 0.5 %}}
classes:
  pack:
    preset: metering
    channels: ['PACK*']
    rules:
      gain-with-frequency: {limits: {phase: 0.5 deg}}
      range-use: {level: none, reason: measured with a wide part on purpose}
`

const baseFile = `standard: 1
rules:
  stray-ratio: {limits: {budget: 1 %, fault-budget: 4 %}}
  placement: {limits: {change: 10 %}, reason: boards are set by hand}
`

// Worked by hand: later files win, a preset never loosens what a file has set,
// the most special layer wins, a class wins over paths.
func TestLimitsByLayer(t *testing.T) {
	e := effective(t, "s.yaml", strings.Replace(layered, "{limits: {budget: 1.5 %}}", "{limits: {budget: 1.5 %}, reason: three phases}", 1), "base.yaml", baseFile)
	for _, c := range []struct {
		layout, rule, key, channel string
		want                       float64
		origin                     string
	}{
		{"a.yaml", "stray-ratio", "budget", "", 0.015, "standard s.yaml:4: three phases"},
		{"a.yaml", "stray-ratio", "budget", "U", 0.015, "standard s.yaml:4: three phases"},
		{"a.yaml", "stray-ratio", "fault-budget", "U", 0.04, "standard base.yaml:3"},
		{"a.yaml", "placement", "change", "U", 0.03, "standard built-in drive:16: common practice: gain mismatch of phases that is left to calibration"},
		{"a.yaml", "placement", "change", "PACK1", 0.01, "standard built-in metering:16: common practice: one accuracy class for the place of the board"},
		{"a.yaml", "stray-ratio", "budget", "PACK1", 0.01, "standard built-in metering:7: no more than the ratio error of class 1 at rated current, 1 %, IEC 61869-2:2012 table 201 (from memory); fault: common practice"},
		{"a.yaml", "stray-ratio", "fault-budget", "PACK1", 0.04, "standard base.yaml:3"}, // the preset's 5 % would loosen
		{"proto/x/a.yaml", "stray-ratio", "budget", "U", 0.08, "standard s.yaml:9: prototypes are calibrated one by one"},
		{"proto/safe/a.yaml", "stray-ratio", "budget", "U", 0.005, "standard s.yaml:12"},
		{"proto/safe/a.yaml", "stray-ratio", "budget", "PACK", 0.005, "standard s.yaml:12"}, // the preset's 1 % would loosen
		{"proto/x/a.yaml", "stray-ratio", "budget", "PACK", 0.01, "standard built-in metering:7: no more"},
		{"a.yaml", "gain-with-frequency", "phase", "PACK", math.Pi / 360, "standard s.yaml:18"},
		{"a.yaml", "gain-with-frequency", "phase", "U", math.Pi / 60, "standard built-in drive:13: common practice"},
	} {
		v, origin, place, ok := e.For(c.layout).Limit(c.rule, c.key, c.channel)
		if !ok || math.Abs(v-c.want) > 1e-12 || !strings.HasPrefix(origin, c.origin) {
			t.Errorf("%s %s %s %q: %g, %q, %v; want %g, %q", c.layout, c.rule, c.key, c.channel, v, origin, ok, c.want, c.origin)
		}
		if place.Valid() == strings.Contains(origin, "built-in") {
			t.Errorf("%s %s %q: place %v with origin %q", c.rule, c.key, c.channel, place, origin)
		}
	}
	if _, _, _, ok := e.For("a.yaml").Limit("sensor-axis", "least", "U"); ok {
		t.Error("a limit that no file sets must stay the default")
	}
	if _, _, _, ok := effective(t).For("a.yaml").Limit("stray-ratio", "budget", "U"); ok {
		t.Error("without files every limit is the default")
	}
}

// A preset that comes after a file wins over defaults and never over the file.
func TestPresetNeverLoosensAFile(t *testing.T) {
	e := effective(t, "s.yaml", "standard: 1\nextends: [base.yaml, drive]\n", "base.yaml", "standard: 1\nrules: {placement: {limits: {change: 1 %}}}\n")
	if v, origin, _, _ := e.For("a.yaml").Limit("placement", "change", "U"); v != 0.01 || origin != "standard base.yaml:2" {
		t.Errorf("%g %s", v, origin)
	}
	if v, _, _, _ := e.For("a.yaml").Limit("linear-range", "share", "U"); v != 0.9 {
		t.Errorf("%g", v)
	}
}

func TestLevels(t *testing.T) {
	e := effective(t, "s.yaml", `standard: 1
rules-edition: 1
rules:
  placement: {level: note, reason: r}
  sensor-axis: {level: none, reason: r}
  range-use: {level: error}
classes:
  pack: {channels: [PACK], rules: {sensor-axis: {level: error}, stray-ratio: {level: none, reason: seen}}}
`)
	v := e.For("a.yaml")
	found := []finding.Finding{
		{Rule: "placement", Verdict: finding.Fail, Level: finding.Error, Object: "U"},
		{Rule: "placement", Verdict: finding.Undecided, Level: finding.Warning, Object: "U"},
		{Rule: "sensor-axis", Verdict: finding.Fail, Level: finding.Warning, Object: "PACK"},
		{Rule: "sensor-axis", Verdict: finding.Undecided, Level: finding.Warning, Object: "PACK"},
		{Rule: "sensor-axis", Verdict: finding.Fail, Level: finding.Warning, Object: "U", Message: "m", Remedy: "r"},
		{Rule: "stray-ratio", Verdict: finding.Undecided, Level: finding.Warning, Object: "PACK", Message: "m"},
		{Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "U"},
		{Rule: "plane-validity", Verdict: finding.Fail, Level: finding.Warning, Object: "U"}, // newer than the pin
		{Rule: "range-use", Verdict: finding.Fail, Level: finding.Warning, Object: "U"},      // newer, but its level is set
		{Rule: "key-unknown", Verdict: finding.Fail, Level: finding.Error},                   // a problem of the file
		{Rule: "placement", Verdict: finding.Pass, Object: "U"},
	}
	v.Grade(found)
	want := []struct {
		verdict finding.Verdict
		level   finding.Level
	}{
		{finding.Fail, finding.Note}, {finding.Undecided, finding.Note}, {finding.Fail, finding.Error}, {finding.Undecided, finding.Warning},
		{finding.NotApplicable, finding.None}, {finding.NotApplicable, finding.None}, {finding.Fail, finding.Error},
		{finding.Fail, finding.Note}, {finding.Fail, finding.Error}, {finding.Fail, finding.Error}, {finding.Pass, finding.None},
	}
	for i, w := range want {
		if found[i].Verdict != w.verdict || found[i].Level != w.level {
			t.Errorf("%d %s: %v %v, want %v %v", i, found[i].Rule, found[i].Verdict, found[i].Level, w.verdict, w.level)
		}
	}
	if got := found[4].Message; got != "U: turned off by standard s.yaml:5: r. Found: m" || found[4].Remedy != "" {
		t.Errorf("%q", got)
	}
	on := map[string]bool{}
	for _, r := range v.Rules(rules.All()) {
		on[r.ID] = true
	}
	if !on["sensor-axis"] || !on["stray-ratio"] || len(on) != len(rules.All()) {
		t.Errorf("a class turns sensor-axis on and stray-ratio is off for a class only: %v", on)
	}
	off := effective(t, "s.yaml", "standard: 1\nrules: {sensor-axis: {level: none, reason: r}}\n").For("a.yaml").Rules(rules.All())
	if len(off) != len(rules.All())-1 {
		t.Errorf("%d rules", len(off))
	}
}

// Everything that a standard can say wrongly about rules, each at its place.
func TestRefusedSettings(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"unknown rule", "standard: 1\nrules: {stray-ratoi: {level: error}}\n",
			"s.yaml:2:9-2:20 error standard-unknown: no rule is called \"stray-ratoi\". Did you mean \"stray-ratio\"?\n"},
		{"unknown limit", "standard: 1\nrules: {stray-ratio: {limits: {share: 1 %}}}\n",
			"s.yaml:2:32-2:37 error standard-unknown: no limit of rule \"stray-ratio\" is called \"share\". There are budget, fault-budget\n"},
		{"no limits", "standard: 1\nrules: {geometry: {limits: {share: 1 %}}}\n",
			"s.yaml:2:29-2:34 error standard-unknown: no limit of rule \"geometry\" is called \"share\". There is none\n"},
		{"wrong unit", "standard: 1\nrules: {stray-ratio: {limits: {budget: 3 mm}}}\n",
			"s.yaml:2:40-2:44 error value-quantity: budget of stray-ratio: mm is a length, share wanted. Write % or ppm\n"},
		{"bare number", "standard: 1\nrules: {gain-with-frequency: {limits: {phase: 3, amplitude: 0.01}}}\n",
			"s.yaml:2:47-2:48 error value-quantity: phase of gain-with-frequency: a bare number: write it with a unit of angle, such as \"3 deg\"\n"},
		{"looser than default", "standard: 1\nrules: {stray-ratio: {limits: {budget: 6 %}}}\n",
			"s.yaml:2:40-2:43 error standard-looser: budget of stray-ratio is 6.00 %, looser than 5.00 % (default: common practice: five per cent of own field before calibration), and no reason is given\n"},
		{"looser floor", "standard: 1\nrules: {range-use: {limits: {least: 10 %}}}\n",
			"s.yaml:2:37-2:41 error standard-looser: least of range-use is 10.0 %, looser than 20.0 %"},
		{"loosened preset", "standard: 1\nextends: drive\nrules: {placement: {limits: {change: 4 %}}}\n",
			"s.yaml:3:38-3:41 error standard-looser: change of placement is 4.00 %, looser than 3.00 % (standard built-in drive:16: common practice: gain mismatch of phases that is left to calibration), and no reason is given\n"},
		{"loosened preset of a class", "standard: 1\nclasses: {a: {preset: drive, channels: [U], rules: {placement: {limits: {change: 4 %}}}}}\n",
			"s.yaml:2:82-2:85 error standard-looser: change of placement is 4.00 %, looser than 3.00 %"},
		{"class of channels with a limit of bars", "standard: 1\nclasses: {a: {channels: [S], rules: {bar-heating: {limits: {rise: 5 K}}}}}\n",
			"s.yaml:2:61-2:65 error value-form: rise of bar-heating is no limit of channels, so class \"a\" cannot set it"},
		{"class against a path", "standard: 1\npaths: [{files: [x/**], rules: {placement: {limits: {change: 1 %}}}}]\nclasses: {a: {channels: [U], rules: {placement: {limits: {change: 2 %}}}}}\n",
			"s.yaml:3:67-3:70 error standard-looser: change of placement is 2.00 %, looser than 1.00 % (standard s.yaml:2), and no reason is given\n"},
		{"class against a class", "standard: 1\nclasses:\n  a: {channels: [S], rules: {stray-ratio: {limits: {budget: 1 %}}}}\n  b: {channels: ['*'], rules: {stray-ratio: {limits: {budget: 4 %}}}}\n",
			"s.yaml:4:63-4:66 error standard-looser: budget of stray-ratio is 4.00 %, looser than 1.00 % (standard s.yaml:3), and no reason is given\n"},
		{"level of a class against a class", "standard: 1\nclasses:\n  a: {channels: [S], rules: {sensor-axis: {level: error}}}\n  b: {channels: ['*'], rules: {sensor-axis: {level: warning}}}\n",
			"s.yaml:4:53-4:60 error standard-looser: level of sensor-axis is warning, lower than error (standard s.yaml:3), and no reason is given\n"},
		{"class against the preset of a class", "standard: 1\nclasses:\n  a: {preset: metering, channels: [S]}\n  b: {channels: ['?'], rules: {stray-ratio: {limits: {budget: 4 %}}}}\n",
			"s.yaml:4:63-4:66 error standard-looser: budget of stray-ratio is 4.00 %, looser than 1.00 % (standard built-in metering:7"},
		{"lower level", "standard: 1\nrules: {stray-ratio: {level: note}}\n",
			"s.yaml:2:30-2:34 error standard-looser: level of stray-ratio is note, lower than error (default), and no reason is given\n"},
		{"version", "standard: 1\nleast-version: 1.4.0\n",
			"s.yaml:2:16-2:21 error standard-version: the standard needs version 1.4.0 of the program, this is 1.3.2\n"},
		{"version form", "standard: 1\nleast-version: newest\n",
			"s.yaml:2:16-2:22 error value-form: least-version \"newest\" is not a version: write up to three numbers with points, such as \"1.4.0\"\n"},
		{"edition", "standard: 1\nrules-edition: 4\n",
			"s.yaml:2:16-2:17 error standard-version: the standard pins edition 4 of the rules, this program has 3\n"},
		{"slack", "standard: 1\nbaseline-slack: 120 %\n", "s.yaml:2:17-2:22 error value-range: baseline-slack is 120 %: it must be between 0 and 100 %\n"},
		{"two at once", "standard: 1\nrules: {a: {level: note}, stray-ratio: {limits: {b: 1 %}}}\n",
			"s.yaml:2:9-2:10 error standard-unknown: no rule is called \"a\"\ns.yaml:2:50-2:51 error standard-unknown: no limit of rule \"stray-ratio\" is called \"b\". There are budget, fault-budget\n"},
	} {
		e, problems := New(read(t, "s.yaml", c.text), known())
		if got := said(problems); !strings.HasPrefix(got, c.want) || c.want == "" {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
		if e != nil {
			t.Errorf("%s: the standard is taken", c.name)
		}
	}
}

// A class loosens another one with a reason, and one that shares no channel or no
// layout with it without.
func TestClassBesideAClass(t *testing.T) {
	for _, c := range []struct {
		a, b  string
		taken bool
	}{
		{"channels: [S]", "channels: ['*']", false},
		{"channels: [S]", "channels: [T]", true},
		{"channels: ['S*']", "channels: ['T*', 'S[12]']", false},
		{"channels: ['S*']", "channels: ['T*', '?T']", false},
		{"channels: ['S*']", "channels: ['T*']", true},
		{"files: [x/*.yaml], channels: [S]", "files: [y/*.yaml], channels: [S]", true},
		{"files: [x/*.yaml], channels: [S]", "files: ['**/a.yaml'], channels: [S]", false},
		{"files: [x/*.yaml], channels: [S]", "channels: [S]", false},
	} {
		text := "standard: 1\nclasses:\n  a: {" + c.a + ", rules: {stray-ratio: {limits: {budget: 1 %}}}}\n  b: {" + c.b + ", rules: {stray-ratio: {limits: {budget: 4 %}}}}\n"
		if e, problems := New(read(t, "s.yaml", text), known()); (e != nil) != c.taken {
			t.Errorf("%s beside %s:\n%s", c.b, c.a, said(problems))
		}
		effective(t, "s.yaml", strings.Replace(text, "4 %}", "4 %}, reason: r", 1))
	}
}

// A version that cannot be compared is said and does not stop a check.
func TestVersionOfABuild(t *testing.T) {
	k := known()
	k.Version = "(devel)"
	e, problems := New(read(t, "s.yaml", "standard: 1\nleast-version: v1.4\n"), k)
	if e == nil || len(problems) != 1 || problems[0].Level != finding.Note {
		t.Errorf("%v %s", e, said(problems))
	}
	for _, c := range []struct {
		least, mine string
		ok          bool
	}{{"1.3.2", "1.3.2", true}, {"1.3", "v1.3.0", true}, {"1.10.0", "1.9.9", false}, {"2", "1.99.99", false}} {
		k.Version = c.mine
		if e, _ := New(read(t, "s.yaml", "standard: 1\nleast-version: \""+c.least+"\"\n"), k); (e != nil) != c.ok {
			t.Errorf("least %s, mine %s: %v", c.least, c.mine, e != nil)
		}
	}
}

// The presets fit the rules: every rule and limit exists and every value is
// tighter than its default or says why.
func TestPresetsFitTheRules(t *testing.T) {
	for _, name := range policyfile.Presets() {
		e := effective(t, "s.yaml", "standard: 1\nextends: "+name+"\n")
		set := 0
		for _, r := range e.Rows() {
			if strings.HasPrefix(r.Origin, "standard built-in "+name+":") {
				set++
			}
		}
		if set < 5 {
			t.Errorf("%s sets %d values", name, set)
		}
	}
}

func TestRowsAreOrdered(t *testing.T) {
	e := effective(t, "s.yaml", "standard: 1\nrules-edition: 2\nrules: {placement: {level: warning, limits: {change: 4 %}, reason: r}}\n"+
		"classes: {z: {channels: [U], rules: {placement: {limits: {change: 3 %}}}}}\n")
	var got []string
	for _, r := range e.Rows() {
		if r.Rule == "placement" || r.Rule == "plane-validity" && r.Key == "level" {
			got = append(got, strings.Join([]string{r.Scope, r.Rule, r.Key, r.Value, r.Origin, r.Span.String()}, "|"))
		}
	}
	want := []string{
		"|placement|change|4.00 %|standard s.yaml:3: r|s.yaml:3:54",
		"|placement|level|warning|standard s.yaml:3: r|s.yaml:3:28",
		"|plane-validity|level|note|the rule is newer than the edition pinned at s.yaml:2|:0:0",
		"class z|placement|change|3.00 %|standard s.yaml:4|s.yaml:4:67",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if engine.Validate(rules.All()) != nil {
		t.Error("rules")
	}
}
