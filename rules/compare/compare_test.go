package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/schema/load"
)

func measured(v finding.Verdict, value, limit, certainty float64, atLeast bool) *finding.Finding {
	f := &finding.Finding{Rule: "r", Object: "S", Verdict: v, Measure: &finding.Measure{Value: value, Limit: limit, Unit: "1", Certainty: certainty, AtLeast: atLeast}}
	switch v {
	case finding.Fail:
		f.Level = finding.Error
	case finding.Undecided:
		f.Level = finding.Warning
	}
	return f
}

func TestClassify(t *testing.T) {
	const p, f, u = finding.Pass, finding.Fail, finding.Undecided
	nan := math.NaN()
	m := measured
	lower := m(f, 0.08, 0.05, 0, false)
	lower.Level = finding.Warning
	plainFail := &finding.Finding{Verdict: f, Level: finding.Error}
	plainOpen := &finding.Finding{Verdict: u, Level: finding.Warning}
	for name, c := range map[string]struct {
		before, after *finding.Finding
		want          Class
	}{
		"new":                              {nil, m(p, 0.01, 0.05, 0, false), New},
		"gone":                             {m(p, 0.01, 0.05, 0, false), nil, Gone},
		"same number":                      {m(p, 0.01, 0.05, 0, false), m(p, 0.01, 0.05, 0, false), Same},
		"up, within what two meshes do":    {m(p, 0.0100, 0.05, 0.02, false), m(p, 0.01003, 0.05, 0.02, false), Same},
		"up, beyond":                       {m(p, 0.0100, 0.05, 0.02, false), m(p, 0.0102, 0.05, 0.02, false), Worse},
		"up, wider bound":                  {m(p, 0.0100, 0.05, 0.01, false), m(p, 0.0102, 0.05, 0.03, false), Same},
		"down, within":                     {m(p, 0.01003, 0.05, 0.02, false), m(p, 0.0100, 0.05, 0.02, false), Same},
		"down, beyond":                     {m(p, 0.0102, 0.05, 0.02, false), m(p, 0.0100, 0.05, 0.02, false), Better},
		"floor, down":                      {m(p, 0.8, 0.5, 0.01, true), m(p, 0.7, 0.5, 0.01, true), Worse},
		"floor, up":                        {m(p, 0.7, 0.5, 0.01, true), m(p, 0.8, 0.5, 0.01, true), Better},
		"pass to fail":                     {m(p, 0.04, 0.05, 0, false), m(f, 0.08, 0.05, 0, false), Worse},
		"fail to pass":                     {m(f, 0.08, 0.05, 0, false), m(p, 0.04, 0.05, 0, false), Better},
		"fail by more":                     {m(f, 0.08, 0.05, 0, false), m(f, 0.09, 0.05, 0, false), Worse},
		"fail by less":                     {m(f, 0.09, 0.05, 0, false), m(f, 0.08, 0.05, 0, false), Better},
		"fail, higher level":               {lower, m(f, 0.08, 0.05, 0, false), Worse},
		"fail, lower level":                {m(f, 0.08, 0.05, 0, false), lower, Better},
		"tighter limit":                    {m(p, 0.04, 0.08, 0, false), m(p, 0.04, 0.05, 0, false), Worse},
		"looser limit":                     {m(p, 0.04, 0.05, 0, false), m(p, 0.04, 0.08, 0, false), Better},
		"looser limit buys a worse number": {m(f, 0.06, 0.05, 0, false), m(p, 0.08, 0.10, 0, false), Worse},
		"certainty not known, a little":    {m(p, 0.0400, 0.05, nan, false), m(p, 0.0409, 0.05, nan, false), Same},
		"certainty not known, more":        {m(p, 0.0400, 0.05, nan, false), m(p, 0.0411, 0.05, nan, false), Worse},
		"pass to undecided":                {m(p, 0.04, 0.05, 0, false), m(u, 0.0499, 0.05, 0.01, false), Worse},
		"undecided to pass":                {m(u, 0.0499, 0.05, 0.01, false), m(p, 0.04, 0.05, 0, false), Better},
		"fail to undecided by numbers":     {m(f, 0.08, 0.05, 0, false), m(u, 0.0501, 0.05, 0.01, false), Better},
		"fail to undecided without":        {plainFail, plainOpen, Worse},
		"undecided to fail":                {m(u, 0.0499, 0.05, 0.01, false), m(f, 0.08, 0.05, 0, false), Worse},
		"number lost":                      {m(f, 0.08, 0.05, 0, false), m(u, nan, 0.05, nan, false), Worse},
		"still failing, no number":         {plainFail, plainFail, Same},
		"pass to permitted":                {m(p, 0.04, 0.05, 0, false), m(finding.Permitted, 0.06, 0.05, 0, false), Worse},
		"a verdict nobody set":             {m(p, 0.04, 0.05, 0, false), &finding.Finding{}, Worse},
	} {
		if got := classify(c.before, c.after); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// TestFails holds the table of what stands in the way: new or worse, and a
// failure or undecided at the level, and nothing else.
func TestFails(t *testing.T) {
	pass, fail, open := measured(finding.Pass, 0.01, 0.05, 0, false), measured(finding.Fail, 0.08, 0.05, 0, false), measured(finding.Undecided, 0.05, 0.05, 0.1, false)
	for _, c := range []struct {
		after *finding.Finding
		class Class
		level finding.Level
		want  bool
	}{
		{fail, New, finding.Error, true},
		{fail, Worse, finding.Error, true},
		{fail, Same, finding.Note, false},
		{fail, Better, finding.Note, false},
		{fail, New, finding.None, false},
		{pass, Worse, finding.Note, false},
		{open, New, finding.Warning, true},
		{open, New, finding.Error, false},
		{nil, Gone, finding.Note, false},
	} {
		check := Check{Class: c.class, After: c.after}
		if got := check.Fails(c.level); got != c.want {
			t.Errorf("%+v at %v: %v", c, c.level, got)
		}
	}
}

const ferry = `layout: 1
title: Cable ferry
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-50 mm, 0 mm], metal: copper, temperature: 80 °C}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 80 °C}
sensors:
  SU: {reads: U, at: [-50 mm, 5.5 mm], axis: 180 deg, part: wren}
  SV: {reads: V, at: [0 mm, 5.5 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
  crow: {linear-range: 40 mT, sensitivity: 40 mV/mT}
duties:
  haul: {kind: continuous, currents: {U: {dc: 200 A}, V: {dc: -200 A}}}
needs:
  SU: {stray: 4 %}
`

func read(t *testing.T, path, text string) *layout.Layout {
	t.Helper()
	l, problems := load.Load(path, []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	return l
}

// edited returns ferry with replacements, each of which must find something.
func edited(t *testing.T, pairs ...string) string {
	t.Helper()
	out := ferry
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(out, pairs[i]) {
			t.Fatalf("no %q to replace", pairs[i])
		}
		out = strings.ReplaceAll(out, pairs[i], pairs[i+1])
	}
	return out
}

func TestChanges(t *testing.T) {
	for name, c := range map[string]struct {
		edit []string
		want []string
	}{
		"nothing":           {nil, nil},
		"only laid out":     {[]string{"20 mm", "2 cm", "layout: 1\n", "layout: 1\n# a comment\n", "Cable", "Old cable", "80 °C", "80 degC"}, nil},
		"bar moved":         {[]string{"at: [0 mm, 0 mm]", "at: [3 mm, 0 mm]"}, []string{`bar "V" moved from [0 mm, 0 mm] to [3 mm, 0 mm]`}},
		"a hair":            {[]string{"at: [0 mm, 5.5 mm]", "at: [0 mm, 5.505 mm]"}, []string{`sensor "SV" moved from [0 mm, 5.5 mm] to [0 mm, 5.505 mm]`}},
		"section":           {[]string{"-50 mm, 0 mm], metal: copper", "-50 mm, 0 mm], metal: brass"}, []string{`bar "U": metal from copper to brass`}},
		"current":           {[]string{"dc: 200 A", "dc: 260 A"}, []string{`duty "haul": currents "U" dc from 200 A to 260 A`}},
		"part":              {[]string{"5.5 mm], axis: 180 deg, part: wren}\n  SV", "5.5 mm], axis: 180 deg, part: crow}\n  SV"}, []string{`sensor "SU": part from wren to crow`}},
		"range of a part":   {[]string{"linear-range: 25 mT", "linear-range: 30 mT"}, []string{`part "wren": linear low from -25 mT to -30 mT`, `part "wren": linear high from 25 mT to 30 mT`}},
		"axis":              {[]string{"axis: 180 deg, part: wren}\nparts", "axis: 90 deg, part: wren}\nparts"}, []string{`sensor "SV": axis angle from 180 deg to 90 deg`}},
		"need":              {[]string{"stray: 4 %", "stray: 3 %"}, []string{`need "SU": stray from 0.04 to 0.03`}},
		"need gone":         {[]string{"needs:\n  SU: {stray: 4 %}\n", ""}, []string{`need "SU" removed`}},
		"value given":       {[]string{"at: [0 mm, 0 mm], metal: copper", "at: [0 mm, 0 mm], length: 300 mm, metal: copper"}, []string{`bar "V": length 300 mm added`}},
		"part unused added": {[]string{"  crow:", "  rook: {linear-range: 9 mT}\n  crow:"}, []string{`part "rook" added`}},
		"surroundings":      {[]string{"needs:", "surroundings: {return: far}\nneeds:"}, []string{`surroundings: return far yes added`}},
		// A name that changed everywhere is one change and not five.
		"bar renamed":    {[]string{"V: {section", "B2: {section", "reads: V", "reads: B2", "V: {dc", "B2: {dc"}, []string{`bar "V" renamed to "B2"`}},
		"sensor renamed": {[]string{"SU: {", "S1: {"}, []string{`sensor "SU" renamed to "S1"`}},
		"duty renamed":   {[]string{"haul:", "tow:"}, []string{`duty "haul" renamed to "tow"`}},
		"part renamed":   {[]string{"wren", "robin"}, []string{`part "wren" renamed to "robin"`}},
		"two at once": {[]string{"V: {section", "B2: {section", "reads: V", "reads: B2", "V: {dc", "B2: {dc", "dc: 200 A", "dc: 300 A"},
			[]string{`bar "V" renamed to "B2"`, `duty "haul": currents "U" dc from 200 A to 300 A`}},
		// A bar that has another name and another place is another bar.
		"replaced": {[]string{"V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm", "B2: {section: {width: 20 mm, thickness: 3 mm}, at: [9 mm", "reads: V", "reads: B2", "V: {dc", "B2: {dc"},
			[]string{`bar "B2" added`, `bar "V" removed`, `sensor "SV": reads from V to B2`, `duty "haul": currents "B2" dc -200 A added`, `duty "haul": currents "V" dc -200 A removed`}},
	} {
		changes, _ := Changes(read(t, "a.yaml", ferry), read(t, "b.yaml", edited(t, c.edit...)))
		var got []string
		for _, x := range changes {
			got = append(got, x.String())
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}

// TestWordsOf takes names of fields apart.
func TestWordsOf(t *testing.T) {
	for field, want := range map[string]string{
		"WidthM": "width|m", "TurnRad": "turn|rad", "LinearHighT": "linear high|T", "DCA": "dc|A", "RMSA": "rms|A", "PeakA": "peak|A",
		"CoercivityAPM": "coercivity|A/m", "RMSAPerM": "rms|A/m", "SigmaSPerM": "sigma|S/m", "TemperatureC": "temperature|degC", "FreqHz": "frequency|Hz",
		"SensitivityVPerT": "sensitivity|V/T", "NoiseVPerRtHz": "noise density|V/√Hz", "XM": "x|m", "Stray": "stray|1", "LagAtHz": "lag at|Hz", "SensitivityTol": "sensitivity tolerance|1",
		"BatteryChargeAs": "battery charge|As", "TopOhm": "top|ohm", "TripInductanceH": "trip inductance|H", "DelayS": "delay|s",
	} {
		if text, unit := wordsOf(field); text+"|"+unit != want {
			t.Errorf("%s: %s|%s, want %s", field, text, unit, want)
		}
	}
}

func TestPairs(t *testing.T) {
	l := read(t, "x.yaml", ferry)
	moved := read(t, "x.yaml", edited(t, "at: [0 mm, 5.5 mm]", "at: [0 mm, 6 mm]"))
	other := read(t, "x.yaml", edited(t, "U", "A", " V: ", " B: ", "reads: V", "reads: B", "wren", "jay", "crow", "tit", "haul", "tow", "20 mm", "30 mm", "5.5 mm", "7 mm", "200 A", "90 A", "25 mT", "26 mT", "40 mT", "41 mT", "title: Cable ferry\n", ""))
	lay := func(path, hash string, l *layout.Layout) Layout { return Layout{Path: path, Hash: hash, Layout: l} }
	for name, c := range map[string]struct {
		before, after []Layout
		renamed       map[string]string
		want          string
	}{
		"path":                {[]Layout{lay("a", "1", l)}, []Layout{lay("a", "2", other)}, nil, "a>a path"},
		"content":             {[]Layout{lay("a", "1", nil), lay("b", "2", nil)}, []Layout{lay("c", "2", nil), lay("b", "3", nil)}, nil, "b>b path, a>, >c"},
		"content, moved":      {[]Layout{lay("a", "1", nil)}, []Layout{lay("c", "1", nil)}, nil, "a>c content"},
		"copied":              {[]Layout{lay("a", "1", nil)}, []Layout{lay("a", "1", nil), lay("c", "1", nil)}, nil, "a>a path, >c"},
		"no hash is no match": {[]Layout{lay("a", "", nil)}, []Layout{lay("c", "", nil)}, nil, "a>, >c"},
		"git":                 {[]Layout{lay("a", "1", nil)}, []Layout{lay("c", "2", nil)}, map[string]string{"c": "a"}, "a>c git"},
		"git, source stays":   {[]Layout{lay("a", "1", nil)}, []Layout{lay("a", "3", nil), lay("c", "2", nil)}, map[string]string{"c": "a"}, "a>a path, >c"},
		"objects":             {[]Layout{lay("a", "1", l)}, []Layout{lay("c", "2", moved)}, nil, "a>c objects"},
		"nothing in common":   {[]Layout{lay("a", "1", l)}, []Layout{lay("c", "2", other)}, nil, "a>, >c"},
		"the most alike":      {[]Layout{lay("a", "1", l)}, []Layout{lay("c", "2", moved), lay("d", "3", l)}, nil, "a>d objects, >c"},
	} {
		for range 3 {
			var got []string
			for _, m := range pairs(c.before, c.after, c.renamed) {
				b, a := "", ""
				if m.before != nil {
					b = m.before.Path
				}
				if m.after != nil {
					a = m.after.Path
				}
				got = append(got, strings.TrimSpace(b+">"+a+" "+string(m.how)))
			}
			if text := strings.Join(got, ", "); text != c.want {
				t.Errorf("%s: %s, want %s", name, text, c.want)
			}
			slices.Reverse(c.before)
			slices.Reverse(c.after)
		}
	}
}

func TestSettled(t *testing.T) {
	b, a := Settled(
		[]Layout{{Path: "same", Hash: "1"}, {Path: "old", Hash: "2"}, {Path: "edited", Hash: "3"}, {Path: "swapped", Hash: "5"}},
		[]Layout{{Path: "same", Hash: "1"}, {Path: "copy", Hash: "1"}, {Path: "new", Hash: "2"}, {Path: "edited", Hash: "4"}, {Path: "x", Hash: "3"}})
	if len(b) != 2 || !b["same"] || !b["old"] || len(a) != 2 || !a["same"] || !a["new"] {
		t.Errorf("%v, %v", b, a)
	}
}

func verdict(rule, object, cause string, value float64) finding.Finding {
	v, level := finding.Pass, finding.None
	if value > 0.05 {
		v, level = finding.Fail, finding.Error
	}
	return finding.Finding{Rule: rule, Object: object, Cause: cause, Verdict: v, Level: level, Message: fmt.Sprintf("%s of %s", rule, object),
		Measure: &finding.Measure{Value: value, Limit: 0.05, Unit: "1"}}
}

// TestNeighbour moves a bar and wants the channel beside it named with the cause.
func TestNeighbour(t *testing.T) {
	r := Compare(
		[]Layout{{Path: "x", Hash: "1", Layout: read(t, "x", ferry), Findings: []finding.Finding{
			verdict("stray-ratio", "SU", "haul", 0.02), verdict("stray-ratio", "SV", "haul", 0.04), verdict("bar-heating", "V", "haul", 0.03)}}},
		[]Layout{{Path: "x", Hash: "2", Layout: read(t, "x", edited(t, "at: [0 mm, 0 mm]", "at: [-8 mm, 0 mm]", "[0 mm, 5.5 mm]", "[-8 mm, 5.5 mm]")), Findings: []finding.Finding{
			verdict("stray-ratio", "SU", "haul", 0.08), verdict("stray-ratio", "SV", "haul", 0.04), verdict("bar-heating", "V", "haul", 0.03)}}},
		Options{})
	if len(r.Pairs) != 1 || len(r.Pairs[0].Objects) != 3 || r.Failures(finding.Warning) != 1 || r.Failures(finding.None) != 0 {
		t.Fatalf("%+v", r)
	}
	o := r.Pairs[0].Objects[0]
	if o.Name() != "SU" || o.Own || o.Class != Worse || len(o.Causes) != 1 || o.Causes[0].String() != `bar "V" moved from [0 mm, 0 mm] to [-8 mm, 0 mm]` {
		t.Errorf("%+v", o)
	}
	if o := r.Pairs[0].Objects[1]; o.Name() != "SV" || !o.Own || o.Class != Same || len(o.Causes) != 2 {
		t.Errorf("%+v", o)
	}
}

// TestRenamedObjects wants margins to follow objects under new names.
func TestRenamedObjects(t *testing.T) {
	after := read(t, "x", edited(t, "SU: {", "S1: {", "haul:", "tow:"))
	worst := verdict("linear-range", "S1", `continuous duty "tow"`, 0.01)
	r := Compare(
		[]Layout{{Path: "x", Layout: read(t, "x", ferry), Findings: []finding.Finding{verdict("stray-ratio", "SU", "haul", 0.02), verdict("linear-range", "SU", `continuous duty "haul"`, 0.02)}}},
		[]Layout{{Path: "x", Layout: after, Findings: []finding.Finding{verdict("stray-ratio", "S1", "tow", 0.03), worst}}}, Options{})
	o := r.Pairs[0].Objects
	if len(o) != 1 || o[0].Before != "SU" || o[0].After != "S1" || len(o[0].Checks) != 2 || o[0].Checks[0].Class != Better || o[0].Checks[1].Class != Worse {
		t.Fatalf("%+v", o)
	}
}

// TestCausesFollowNames has a rule that speaks of each duty, and one duty renamed:
// the verdicts must not change places.
func TestCausesFollowNames(t *testing.T) {
	two := "  haul: {kind: continuous, currents: {U: {dc: 200 A}, V: {dc: -200 A}}}\n"
	before := edited(t, two, two+"  start: {kind: peak, currents: {U: {dc: 300 A}, V: {dc: -300 A}}}\n")
	after := strings.ReplaceAll(before, "haul:", "tow:")
	r := Compare(
		[]Layout{{Path: "x", Layout: read(t, "x", before), Findings: []finding.Finding{
			verdict("a", "SU", "haul", 0.01), verdict("a", "SU", "start", 0.04), verdict("b", "SU", `duty "haul"`, 0.01), verdict("b", "SU", `duty "start"`, 0.04)}}},
		[]Layout{{Path: "x", Layout: read(t, "x", after), Findings: []finding.Finding{
			verdict("a", "SU", "start", 0.04), verdict("a", "SU", "tow", 0.01), verdict("b", "SU", `duty "start"`, 0.04), verdict("b", "SU", `duty "tow"`, 0.01)}}}, Options{})
	if n := r.Counts(); n[Same] != 4 || n[New]+n[Gone]+n[Worse]+n[Better] != 0 {
		t.Errorf("%v: %+v", n, r.Pairs[0].Objects)
	}
}

// TestTwins renames two objects of equal values: which is which is not guessed.
func TestTwins(t *testing.T) {
	const twins = "  jay: {linear-range: 9 mT}\n  tit: {linear-range: 9 mT}\n  crow:"
	before := edited(t, "  crow:", twins)
	after := strings.NewReplacer("jay:", "owl:", "tit:", "auk:").Replace(before)
	changes, renamed := Changes(read(t, "x", before), read(t, "x", after))
	if len(changes) != 4 || len(renamed["part"]) != 0 {
		t.Errorf("%v, %v", changes, renamed)
	}
}

// TestBroken wants the checks of a layout that cannot be understood any more to
// be gone, and its mistakes to be new.
func TestBroken(t *testing.T) {
	mistake := finding.Finding{Rule: "key-unknown", Verdict: finding.Fail, Level: finding.Error, Message: "unknown key"}
	r := Compare(
		[]Layout{{Path: "x", Hash: "1", Layout: read(t, "x", ferry), Findings: []finding.Finding{verdict("stray-ratio", "SU", "haul", 0.02)}}},
		[]Layout{{Path: "x", Hash: "2", Findings: []finding.Finding{mistake}}}, Options{})
	p := r.Pairs[0]
	if !p.Broken || p.Objects[0].Name() != "" || p.Objects[0].Checks[0].Class != New || p.Objects[1].Checks[0].Class != Gone || r.Failures(finding.Error) != 1 {
		t.Errorf("%+v", p)
	}
	// A link in the place of a layout stands in the way by itself.
	r = Compare(
		[]Layout{{Path: "x", Hash: "1", Layout: read(t, "x", ferry), Findings: []finding.Finding{verdict("stray-ratio", "SU", "haul", 0.02)}}},
		[]Layout{{Path: "x", Hash: "2", Refused: "it is a symbolic link"}}, Options{})
	if p := r.Pairs[0]; p.Class != Worse || r.Failures(finding.Note) != 1 {
		t.Errorf("%+v", p)
	}
	// One that was a link before is nobody's new mistake.
	if r := Compare([]Layout{{Path: "x", Hash: "2", Refused: "a"}}, []Layout{{Path: "x", Hash: "2", Refused: "a"}}, Options{}); r.Unchanged != 1 || len(r.Pairs) != 0 {
		t.Errorf("%+v", r)
	}
}

// TestOrder wants the same report whatever the order of what is given.
func TestOrder(t *testing.T) {
	l := read(t, "x", ferry)
	var before, after []Layout
	for i := range 6 {
		f := []finding.Finding{verdict("stray-ratio", "SU", "haul", 0.02), verdict("stray-ratio", "SV", "haul", 0.02), verdict("placement", "SU", "haul", 0.02), verdict("bar-heating", "V", "haul", 0.03)}
		g := slices.Clone(f)
		g[0].Measure = &finding.Measure{Value: 0.03, Limit: 0.05, Unit: "1"}
		slices.Reverse(g)
		before = append(before, Layout{Path: fmt.Sprint("b", i), Hash: fmt.Sprint(i), Layout: l, Findings: f})
		after = append(after, Layout{Path: fmt.Sprint("a", i), Hash: fmt.Sprint("x", i), Layout: l, Findings: g})
	}
	var first strings.Builder
	if err := WriteText(&first, Compare(before, after, Options{}), TextOptions{Same: true}); err != nil {
		t.Fatal(err)
	}
	for range 10 {
		slices.Reverse(before)
		after = append(after[1:], after[0])
		var again strings.Builder
		if err := WriteText(&again, Compare(before, after, Options{}), TextOptions{Same: true}); err != nil {
			t.Fatal(err)
		}
		if again.String() != first.String() {
			t.Fatalf("%s\nwas\n%s", again.String(), first.String())
		}
	}
}
