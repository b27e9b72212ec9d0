package rules_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// drawing is a row of flat bars, 20 x 3 mm, with one sensor over the first, as
// the numbers that a remedy may tell somebody to edit.
type drawing struct {
	x, y, axisDeg, pitchMM, rangeMT float64
	bars                            int
	sensor, rest                    string
}

func (d drawing) yaml() string {
	var b strings.Builder
	b.WriteString("layout: 1\nbars:\n")
	for i := range d.bars {
		fmt.Fprintf(&b, "  %c: {section: {width: 20 mm, thickness: 3 mm}, at: [%.6f mm, 0 mm], metal: copper}\n", 'A'+i, float64(i)*d.pitchMM)
	}
	fmt.Fprintf(&b, "sensors: {S: {reads: A, at: [%.6f mm, %.6f mm], axis: %.6f deg, part: dunlin%s}}\n", d.x, d.y, d.axisDeg, d.sensor)
	fmt.Fprintf(&b, "parts: {dunlin: {linear-range: %.6f mT}}\n", d.rangeMT)
	return b.String() + d.rest
}

const topFaceMM = 1.5

var (
	toHeight = regexp.MustCompile(`^move S from ([\d.]+) to ([\d.]+) mm above A`)
	sideways = regexp.MustCompile(`^move S along the face of A by ([\d.]+) mm to \[(-?[\d.]+) mm, (-?[\d.]+) mm\]`)
	turned   = regexp.MustCompile(`^turn the axis of S by (-?[\d.]+) deg to ([\d.]+) deg`)
	wider    = regexp.MustCompile(`^widen the pitch of A and B from ([\d.]+) to ([\d.]+) mm`)
	newPart  = regexp.MustCompile(`(?:^|; or )a part linear to ([\d.]+) mT`)
	effect   = regexp.MustCompile(`: ([\d.]+) (\S+) → ([\d.]+) (\S+); output (unchanged|rises|falls)(?: ([\d.]+) %)?`)
)

// apply edits the drawing as the line says, with its printed numbers and no
// others, and returns the kind of the change.
func (d drawing) apply(t *testing.T, line string) (drawing, string) {
	t.Helper()
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if m := toHeight.FindStringSubmatch(line); m != nil {
		if got := d.y - topFaceMM; math.Abs(number(m[1])-got) > 1e-3 {
			t.Errorf("remedy starts at %s mm, the sensor is at %g mm: %s", m[1], got, line)
		}
		d.y = topFaceMM + number(m[2])
		return d, "height"
	}
	if m := sideways.FindStringSubmatch(line); m != nil {
		if x := number(m[2]); math.Abs(math.Abs(x-d.x)-number(m[1])) > 1e-3 {
			t.Errorf("remedy moves by %s mm from %g mm to %g mm: %s", m[1], d.x, x, line)
		}
		d.x, d.y = number(m[2]), number(m[3])
		return d, "lateral"
	}
	if m := turned.FindStringSubmatch(line); m != nil {
		if want := math.Mod(d.axisDeg+number(m[1])+360, 360); math.Abs(number(m[2])-want) > 1e-3 {
			t.Errorf("remedy turns %g deg by %s to %s: %s", d.axisDeg, m[1], m[2], line)
		}
		d.axisDeg = number(m[2])
		return d, "axis"
	}
	if m := wider.FindStringSubmatch(line); m != nil {
		if math.Abs(number(m[1])-d.pitchMM) > 1e-3 {
			t.Errorf("remedy starts at a pitch of %s mm, it is %g mm: %s", m[1], d.pitchMM, line)
		}
		d.pitchMM = number(m[2])
		return d, "pitch"
	}
	t.Fatalf("remedy cannot be followed: %s", line)
	return d, ""
}

// failing drawings, one after another rule, and what each is short of.
var failing = []struct {
	name string
	rule engine.Rule
	drawing
}{
	{"stray", rules.StrayRatio, drawing{0, 5.5, 180, 30, 50, 3, "", "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}, B: {dc: -100 A}}}}\n"}},
	{"stray, board beside the middle", rules.StrayRatio, drawing{3, 7, 175, 34, 50, 2, "", "duties: {d: {kind: continuous, frequency: 10 Hz, currents: {A: {peak: 100 A}, B: {peak: 100 A, phase: 120 deg}}}}\n"}},
	{"stray at an odd height", rules.StrayRatio, drawing{0, 5.75, 180.25, 31.7, 50, 2, "", "duties: {d: {kind: peak, currents: {A: {dc: 100 A}, B: {dc: 100 A}}}}\n"}},
	{"range", rules.LinearRange, drawing{0, 5.5, 180, 60, 8, 2, "", "duties: {d: {kind: fault, currents: {A: {dc: 400 A}, B: {dc: -400 A}}}}\n"}},
	{"range use", rules.RangeUse, drawing{0, 12, 170, 60, 10, 2, "", "duties: {d: {kind: continuous, currents: {A: {dc: 140 A}}}}\n"}},
	{"Earth", rules.AmbientField, drawing{0, 11, 180, 60, 8, 1, "", "duties: {d: {kind: continuous, currents: {A: {dc: 150 A}}}}\n"}},
	{"placement", rules.Placement, drawing{9, 3, 180, 60, 8, 1, ", placement: {x: 0.3 mm, y: 0.3 mm, tilt: 1 deg}", "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\n"}},
	{"axis", rules.SensorAxis, drawing{0, 5.5, 215, 60, 8, 1, "", "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\n"}},
}

// TestRemedyDoneAsSaidPasses follows the remedy of each failing drawing by its
// printed numbers and runs the rule again.
func TestRemedyDoneAsSaidPasses(t *testing.T) {
	for _, c := range failing {
		f := one(t, check(t, c.rule, c.yaml()), "S")
		if f.Verdict != finding.Fail {
			t.Errorf("%s: %v %s", c.name, f.Verdict, f.Message)
			continue
		}
		after, kind := c.apply(t, f.Remedy)
		again := one(t, check(t, c.rule, after.yaml()), "S")
		if again.Verdict != finding.Pass {
			t.Errorf("%s: %s\n gives %v: %s", c.name, f.Remedy, again.Verdict, again.Message)
		}
		trueEffect(t, c.name+" by "+kind, f.Remedy, c.drawing, after, f, again)
	}
}

// trueEffect checks the numbers before and after, and the side effect.
func trueEffect(t *testing.T, name, line string, before, after drawing, f, again finding.Finding) {
	t.Helper()
	m := effect.FindStringSubmatch(line)
	if m == nil {
		t.Errorf("%s: no effect in %q", name, line)
		return
	}
	show := func(v float64) string { return engine.Show(v, f.Measure.Unit) }
	if m[1]+" "+m[2] != show(f.Measure.Value) || m[3]+" "+m[4] != show(again.Measure.Value) {
		t.Errorf("%s: %q, but it was %s and becomes %s", name, line, show(f.Measure.Value), show(again.Measure.Value))
	}
	change := output(t, after)/output(t, before) - 1
	said := 0.0
	if m[6] != "" {
		said, _ = strconv.ParseFloat(m[6], 64)
	}
	if m[5] == "falls" {
		said = -said
	}
	if math.Abs(100*change-said) > math.Max(0.05, 0.006*math.Abs(said)) {
		t.Errorf("%s: %q, but the output changes by %.4g %%", name, line, 100*change)
	}
}

// output is the own reading per ampere of the only sensor.
func output(t *testing.T, d drawing) float64 {
	t.Helper()
	l := mustLoad(t, d.yaml())
	e, err := probe.NewModel(l).OwnPerAmpere(&l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	return e.Value
}

// TestEveryKindOfChangeIsTrue asks for each change alone. Whatever it proposes
// must pass as printed, stay out of metal and keep the sign and half the output.
func TestEveryKindOfChangeIsTrue(t *testing.T) {
	seen := map[string]int{}
	for _, c := range failing {
		if c.rule.ID != "stray-ratio" && c.rule.ID != "sensor-axis" && c.rule.ID != "ambient-field" {
			continue
		}
		l := mustLoad(t, c.yaml())
		f := one(t, engine.Check(l, []engine.Rule{c.rule}, engine.Options{}), "S")
		goal := remedy.Goal{Limit: f.Measure.Limit, AtLeast: f.Measure.AtLeast, Measure: measureOf(c.rule.ID),
			Show: func(v float64) string { return engine.Show(v, f.Measure.Unit) }}
		for k := range remedy.Places(l, 0) {
			change := func(l *layout.Layout, at layout.SensorIndex) []remedy.Change { return remedy.Places(l, at)[k : k+1] }
			line := ""
			for o := range remedy.OfSensor(probe.NewModel(l), goal, change).Offers {
				line = o.Line()
			}
			if line == "" {
				continue
			}
			after, kind := c.apply(t, line)
			seen[kind]++
			l2 := mustLoad(t, after.yaml())
			again := one(t, engine.Check(l2, []engine.Rule{c.rule}, engine.Options{}), "S")
			if again.Verdict != finding.Pass {
				t.Errorf("%s: %s gives %v: %s", c.name, line, again.Verdict, again.Message)
			}
			if d := l2.Bars[0].DistanceM(l2.Sensors[0].At.Point()); d < 0.499e-3 {
				t.Errorf("%s: %s puts the sensor %g m from its bar", c.name, line, d)
			}
			if r := output(t, after) / output(t, c.drawing); r < 0.4999 {
				t.Errorf("%s: %s leaves %.3g of the output", c.name, line, r)
			}
			trueEffect(t, c.name+" by "+kind, line, c.drawing, after, f, again)
		}
	}
	for _, kind := range []string{"height", "lateral", "axis", "pitch"} {
		if seen[kind] == 0 {
			t.Errorf("no case shows a remedy by %s: %v", kind, seen)
		}
	}
}

func measureOf(rule string) remedy.Measured {
	return func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
		switch rule {
		case "stray-ratio":
			r, err := m.Stray(s, &m.Layout.Duties[0])
			return r.Ratio, err
		case "ambient-field":
			_, sum, err := m.Ambient(s)
			return sum, err
		}
		a, err := m.Alignment(s)
		return a.Share, err
	}
}

// A part of the range that the remedy names must pass too, and be the smallest
// of its series that does.
func TestRemedyByPartRange(t *testing.T) {
	for _, amps := range []float64{390, 700, 1500, 4000} {
		d := drawing{0, 5.5, 180, 60, 8, 1, "", fmt.Sprintf("duties: {d: {kind: fault, currents: {A: {dc: %g A}}}}\n", amps)}
		f := one(t, check(t, rules.LinearRange, d.yaml()), "S")
		m := newPart.FindStringSubmatch(f.Remedy)
		if m == nil {
			t.Errorf("%g A: no part in %q", amps, f.Remedy)
			continue
		}
		d.rangeMT, _ = strconv.ParseFloat(m[1], 64)
		if again := one(t, check(t, rules.LinearRange, d.yaml()), "S"); again.Verdict != finding.Pass {
			t.Errorf("%g A: %s gives %v: %s", amps, f.Remedy, again.Verdict, again.Message)
		}
		if needMT := amps * flatPerA * 1e3; d.rangeMT > 1.5*needMT*1.001 {
			t.Errorf("%g A need %.3g mT, the remedy asks for %g mT", amps, needMT, d.rangeMT)
		}
	}
	// Range use: the smaller part must be used enough.
	d := drawing{0, 5.5, 180, 60, 50, 1, "", "duties: {d: {kind: continuous, currents: {A: {dc: 140 A}}}}\n"}
	f := one(t, check(t, rules.RangeUse, d.yaml()), "S")
	m := newPart.FindStringSubmatch(f.Remedy)
	if m == nil {
		t.Fatalf("no part in %q", f.Remedy)
	}
	d.rangeMT, _ = strconv.ParseFloat(m[1], 64)
	for _, rule := range []engine.Rule{rules.RangeUse, rules.LinearRange} {
		if again := one(t, check(t, rule, d.yaml()), "S"); again.Verdict != finding.Pass {
			t.Errorf("%s: %s gives %v: %s", rule.ID, f.Remedy, again.Verdict, again.Message)
		}
	}
}

// Ten times too much field is no matter of millimetres: no change of place may
// be advised that costs more than half the output; the part comes first.
func TestRemedyRefusesAbsurdMoves(t *testing.T) {
	d := drawing{0, 5.5, 180, 60, 8, 1, "", "duties: {d: {kind: fault, currents: {A: {dc: 4 kA}}}}\n"}
	f := one(t, check(t, rules.LinearRange, d.yaml()), "S")
	if !strings.HasPrefix(f.Remedy, "a part linear to 100 mT") || !strings.Contains(f.Remedy, "; "+remedy.NoChange+"; the nearest found is about ") {
		t.Errorf("remedy %q", f.Remedy)
	}
}

// Plus and minus face to face cannot be told apart from above: the rule says so.
func TestNoSingleChangePasses(t *testing.T) {
	yaml := `layout: 1
bars:
  plus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 2 mm], metal: copper}
  minus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, -2 mm], metal: copper}
sensors: {S: {reads: plus, at: [0 mm, 7.5 mm], axis: 180 deg}}
duties: {d: {kind: continuous, currents: {plus: {dc: 230 A}, minus: {dc: -230 A}}}}
`
	f := one(t, check(t, rules.StrayRatio, yaml), "S")
	if f.Verdict != finding.Fail || !strings.HasPrefix(f.Remedy, remedy.NoChange+"; the nearest found is about 45.2 %: ") {
		t.Errorf("%v, remedy %q", f.Verdict, f.Remedy)
	}
}

// A remedy keeps the body of the part off the metal and names insulation that it shortens.
func TestRemedyMindsBodyAndInsulation(t *testing.T) {
	d := drawing{0, 7.5, 180, 30, 50, 2, "", "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}, B: {dc: -100 A}}}}\n" +
		"insulation: [{between: [S, A], kind: basic, impulse: 4 kV}]\nneeds: {S: {stray: 9 %}}\n"}
	yaml := d.yaml()
	f := one(t, check(t, rules.StrayRatio, yaml), "S")
	if m := toHeight.FindStringSubmatch(f.Remedy); m != nil && !strings.HasSuffix(f.Remedy, "; mind the insulation between S and A") {
		t.Errorf("remedy %q forgets the insulation", f.Remedy)
	} else if m == nil {
		t.Errorf("remedy %q, want a height", f.Remedy)
	}
	yaml = strings.Replace(yaml, "linear-range: 50.000000 mT", "linear-range: 50 mT, body: {width: 8 mm, height: 8 mm, element-height: 5 mm}", 1)
	f = one(t, check(t, rules.StrayRatio, yaml), "S")
	if m := toHeight.FindStringSubmatch(f.Remedy); m != nil {
		t.Errorf("remedy %q, but the element sits 5 mm above the bottom of its body", f.Remedy)
	}
}
