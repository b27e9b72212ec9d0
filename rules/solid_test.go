package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Distances by hand, in millimetres. Bar A is 20 x 4 mm at the origin; 4 kV need 3 mm
// (fixtures/reference/clearance.yaml).
func TestClearanceInSpace(t *testing.T) {
	const (
		bar   = "{section: {width: 20 mm, thickness: 4 mm}, metal: copper, "
		body  = "parts: {p: {linear-range: 8 mT, body: {width: 10 mm, height: 2 mm, element-height: 0.5 mm}}}\n"
		above = "sensors: {S: {reads: A, at: [5.5 mm, 6 mm], axis: 180 deg, part: p}}\n" + body // its body ends at x = 10.5 mm
		beam  = "B: " + bar + "at: [22.5 mm, 6 mm]}"                                            // its edge is at x = 12.5 mm
		iron  = "material: low-carbon-steel}}\n"
	)
	const undecided = -1
	turned := math.Pi / 36 // 5 deg: the upper corner of the body is 5 mm beside the element and 1.5 mm above it
	for _, c := range []struct {
		name, a, bars, rest, between string
		wantMM                       float64
	}{
		{"a run that ends beside a bar", "", "B: " + bar +
			"at: [67 mm, 0 mm], run: [[67 mm, 0 mm, -200 mm], [67 mm, 0 mm, 50 mm], [11.5 mm, 0 mm, 50 mm]]}", "",
			"A, B", 1.5},
		{"a bend over a bar", "", "B: " + bar + "at: [0 mm, 60 mm], run: [[0 mm, 60 mm, -200 mm], [0 mm, 60 mm, 50 mm], [0 mm, 6 mm, 50 mm], [0 mm, 6 mm, 90 mm]]}", "", "A, B", 2},
		{"end behind end", ", length: 100 mm",
			"B: " + bar + "at: [0 mm, 0 mm], run: [[0 mm, 0 mm, 52 mm], [0 mm, 0 mm, 90 mm]]}", "", "A, B", 2},
		{"end behind end, aside", ", length: 100 mm",
			"B: " + bar + "at: [21.5 mm, 0 mm], run: [[21.5 mm, 0 mm, 52 mm], [21.5 mm, 0 mm, 90 mm]]}", "", "A, B",
			2.5},
		{"a round bar", "", "B: {section: {diameter: 10 mm}, at: [17 mm, 0 mm], metal: copper}", "", "A, B", 2},
		{"the body of a sensor", "", beam, above, "S, B", 2},
		{"shifted to the bar", "", beam, strings.Replace(above, "part: p", "placement: {x: 0.4 mm}, part: p", 1),
			"S, B", 1.6},
		{"shifted both ways, only one counts", "", beam,
			strings.Replace(above, "part: p", "placement: {x: 0.4 mm, y: 3 mm}, part: p", 1), "S, B", 1.6},
		{"tilted", "", beam, strings.Replace(above, "part: p", "placement: {tilt: 5 deg}, part: p", 1), "S, B",
			7 - 5*math.Cos(turned) - 1.5*math.Sin(turned)},
		{"the lower body of a pair", "", beam,
			strings.Replace(above, "part: p", "pair: {spacing: 6 mm, along: 90 deg}, part: p", 1), "S, A", 0.5},
		{"a pair with one element nearer", "", beam,
			strings.Replace(above, "part: p", "pair: {spacing: 2 mm, along: 0 deg}, part: p", 1), "S, B", 1},
		{"a shield that ends before the bar", ", length: 100 mm", "",
			"shields: {K: {form: {plate: {width: 20 mm, thickness: 1 mm}}, at: [0 mm, 0 mm, 57 mm], depth: 10 mm, " +
				iron, "K, A", 2},
		{"over a shield that floats", "", "B: " + bar + "at: [40 mm, 0 mm]}",
			"shields: {K: {form: {plate: {width: 17 mm, thickness: 1 mm}}, at: [20 mm, 0 mm], " + iron, "A, B", 3},
		{"over two of them", "", "B: " + bar + "at: [40 mm, 0 mm]}", "shields: {K: {form: {plate: {width: 8.5 mm, thickness: 1 mm}}, at: [15 mm, 0 mm], material: low-carbon-steel}, L: {form: {plate: {width: 8.5 mm, thickness: 1 mm}}, at: [25 mm, 0 mm], " + iron, "A, B", 3},
		{"over a bar that carries nothing", "",
			"B: " + bar +
				"at: [60 mm, 0 mm]}\n  C: {section: {width: 37.5 mm, thickness: 4 mm}, at: [30 mm, 0 mm], metal: copper}",
			"duties: {d: {kind: continuous, currents: {A: {dc: 9 A}, B: {dc: -9 A}}}}\n", "A, B", 2.5},
		{"past a bar that carries something", "",
			"B: " + bar +
				"at: [60 mm, 0 mm]}\n  C: {section: {width: 37.5 mm, thickness: 4 mm}, at: [30 mm, 0 mm], metal: copper}",
			"duties: {d: {kind: continuous, currents: {A: {dc: 9 A}, C: {dc: -9 A}}}}\n", "A, B", undecided},
		{"to what is bonded to it", "", "B: " + bar + "at: [60 mm, 0 mm]}\n  C: " + bar + "at: [22 mm, 0 mm]}",
			"bonded: [B, C]\n", "A, B", 2},
	} {
		yaml := fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper%s}
  %s
%sinsulation: [{between: [%s], kind: basic, impulse: 4 kV, working: {rms: 100 V}}]
`, c.a, c.bars, c.rest, c.between)
		object, _, _ := strings.Cut(c.between, ",")
		f := one(t, check(t, rules.Clearance, yaml), object)
		if c.wantMM == undecided {
			if f.Verdict != finding.Undecided || !strings.Contains(f.Message, `40.0 mm`) || !strings.Contains(f.Message, `2.50 mm over C`) {
				t.Errorf("%s: %v %s", c.name, f.Verdict, f.Message)
			}
			continue
		}
		if f.Measure == nil || !(math.Abs(f.Measure.Value-c.wantMM*1e-3) < 1e-9) {
			t.Errorf("%s: want %g mm: %v %s", c.name, c.wantMM, f.Verdict, f.Message)
		}
		if want := map[bool]finding.Verdict{true: finding.Fail,
			false: finding.Pass}[c.wantMM < 3-1e-12]; f.Verdict != want {
			t.Errorf("%s: %v, want %v: %s", c.name, f.Verdict, want, f.Message)
		}
		// What is too near through air is no proof along a surface.
		if f := one(t, check(t, rules.Creepage, yaml), object); c.wantMM < 3-1e-12 && f.Verdict != finding.Undecided {
			t.Errorf("creepage, %s: %v %s", c.name, f.Verdict, f.Message)
		}
	}
}

// Each voltage asks for its own distance and the largest counts: 5 kV that recur need
// 5.7 mm, 6 kV of impulse 5.5 mm; 3 kV rms are 4.243 kV peak, 3.8 + 0.243 x 1.9 mm
// (fixtures/reference/clearance.yaml, from memory).
func TestClearanceOfVoltagesThatLast(t *testing.T) {
	for _, c := range []struct {
		entry  string
		gapMM  float64
		want   finding.Verdict
		needMM float64
		said   string
	}{
		{"impulse: 6 kV", 5.6, finding.Pass, 5.5, ""},
		{"impulse: 6 kV, recurring: {peak: 5 kV}", 5.6, finding.Fail, 5.7, "mark D"},
		{"impulse: 6 kV, recurring: {peak: 5 kV}", 5.71, finding.Pass, 5.7, "mark D"},
		{"impulse: 4.5 kV, temporary: {rms: 3 kV}", 4, finding.Fail, 3.8 + 1.9*(3*math.Sqrt2-4), "mark D"},
		{"impulse: 6 kV, working: {dc: 5 kV}", 5.6, finding.Fail, 5.7, "mark D"},
		{"impulse: 6 kV, working: {rms: 230 V}, temporary: {peak: 1.4 kV}", 5.6, finding.Pass, 5.5, ""},
		{"supply: {rms: 300 V}, category: 3, recurring: {peak: 5 kV}", 4, finding.Fail, 5.7, "mark D"}, // the impulse of 4 kV needs 3 mm
		{"working: {rms: 4 kV}", 5, finding.Fail, 5.7 + 2.2*(4*math.Sqrt2-5), "mark D"},
		{"kind: reinforced, impulse: 6 kV, recurring: {peak: 4 kV}", 8.2, finding.Fail, 7.9 + 3.1*(0.4/2), "mark D"}, // 160 %: 6.4 kV
	} {
		f := one(t, check(t, rules.Clearance, insulated(c.gapMM, c.entry)), "U")
		if f.Verdict != c.want || f.Measure == nil || !(math.Abs(f.Measure.Limit-c.needMM*1e-3) < 1e-9) ||
			!strings.Contains(f.Message, c.said) {
			t.Errorf("%s: want %v at %g mm: %v %s", c.entry, c.want, c.needMM, f.Verdict, f.Message)
		}
	}
}

// An impulse below a voltage that the gap stands all the time is a slip, not a need.
func TestImpulseBelowTheWorkingVoltage(t *testing.T) {
	for entry, said := range map[string]string{
		"impulse: 500 V, working: {rms: 400 V}":                                  "The impulse of 500 V is below the peak of the working voltage, 566 V",
		"impulse: 4 V, working: {dc: 800 V}":                                     "below the peak of the working voltage",
		"impulse: 2 kV, temporary: {rms: 1.45 kV}, working: {rms: 230 V}":        "below the peak of the temporary overvoltage",
		"impulse: 1 kV, recurring: {peak: 1.1 kV}, working: {rms: 230 V}":        "below the peak of the recurring peak voltage",
		"impulse: 500 V, creepage: 20 mm, clearance: 20 mm, working: {dc: 1 kV}": "one of the two is wrong",
	} {
		for _, rule := range []struct {
			name string
			f    finding.Finding
		}{
			{"clearance", one(t, check(t, rules.Clearance, insulated(10, entry)), "U")},
			{"creepage", one(t, check(t, rules.Creepage, insulated(10, entry+", material-group: I")), "U")},
		} {
			if rule.f.Verdict != finding.Undecided || !strings.Contains(rule.f.Message, said) {
				t.Errorf("%s, %s: %v %s", rule.name, entry, rule.f.Verdict, rule.f.Message)
			}
		}
	}
	f := one(t, check(t, rules.Clearance, insulated(10, "impulse: 566 V, working: {rms: 400 V}")), "U")
	if f.Verdict != finding.Pass {
		t.Errorf("an impulse just above the peak: %v %s", f.Verdict, f.Message)
	}
}

// A declared clearance counts, and what the drawing shows is said where that is less.
func TestDeclaredClearanceNamesTheDrawing(t *testing.T) {
	f := one(t, check(t, rules.Clearance, insulated(1.5, "impulse: 4 kV, clearance: 8 mm")), "U")
	if f.Verdict != finding.Pass || !strings.Contains(f.Message, "declared; the drawing shows 1.50 mm") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// Bodies in space; bar A is 20 x 4 mm at the origin.
func TestGeometryOfBodies(t *testing.T) {
	const low = "at: [0 mm, 4 mm], axis: 180 deg, part: p" // its body reaches from y = 3.5 to 5.5 mm
	for _, c := range []struct {
		name, bars, sensor, rest, body, want string
		verdict                              finding.Verdict
	}{
		{"free", "", low, "", "width: 10 mm, height: 2 mm, element-height: 0.5 mm", "stands free", finding.Pass},
		{"on its bar", "", low, "", "width: 10 mm, height: 3 mm, element-height: 2 mm", "stands free", finding.Pass},
		{"in its bar", "", low, "", "width: 10 mm, height: 3 mm, element-height: 2.1 mm",
			`its body overlaps bar "A"`, finding.Fail},
		{"through two bars", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 10 mm], metal: copper}",
			"at: [0 mm, 5 mm], axis: 180 deg, part: p", "", "width: 10 mm, height: 12 mm, element-height: 2 mm",
			`overlaps bar "B"`, finding.Fail},
		{"in the run of another", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 60 mm], metal: copper, run: [[0 mm, 60 mm, -200 mm], [0 mm, 60 mm, 8 mm], [0 mm, 6 mm, 8 mm]]}", low, "", "width: 15 mm, height: 3 mm, element-height: 0.5 mm", `overlaps bar "B" (points 2 to 3)`, finding.Fail},
		{"before the run of another", "B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 60 mm], metal: copper, run: [[0 mm, 60 mm, -200 mm], [0 mm, 60 mm, 8 mm], [0 mm, 6 mm, 8 mm]]}", low, "", "width: 11 mm, height: 3 mm, element-height: 0.5 mm", "stands free", finding.Pass},
		{"only its foot is known", "", low, "", "element-height: 2.1 mm", `its body reaches into bar "A"`,
			finding.Fail},
		{"not known whole", "", low, "", "width: 10 mm, height: 6 mm", `The body of part "p" lacks element-height`,
			finding.Undecided},
		{"in a shield", "", low, plate("[0 mm, 6 mm]"), "width: 10 mm, height: 2.5 mm, element-height: 0.5 mm",
			`overlaps shield "P"`, finding.Fail},
		{"under a shield", "", low, plate("[0 mm, 6.6 mm]"), "width: 10 mm, height: 2.5 mm, element-height: 0.5 mm",
			"stands free", finding.Pass},
		{"its axis away from the bar", "", "at: [0 mm, 4 mm], axis: 90 deg, part: p", "",
			"width: 10 mm, height: 3 mm, element-height: 2.1 mm", `overlaps bar "A"`, finding.Fail},
		{"beside the bar", "", "at: [12 mm, 0 mm], axis: 90 deg, part: p", "",
			"width: 10 mm, height: 3 mm, element-height: 1.9 mm", "stands free", finding.Pass},
		{"one of a pair in the bar", "",
			"at: [0 mm, 5 mm], axis: 180 deg, part: p, pair: {spacing: 4 mm, along: 90 deg}", "",
			"width: 10 mm, height: 3 mm, element-height: 1.1 mm", `overlaps bar "A"`, finding.Fail},
		{"in the body before", "", low + "}, T: {reads: A, at: [9.9 mm, 4 mm], axis: 180 deg, part: p", "",
			"width: 10 mm, height: 2 mm, element-height: 0.5 mm", `overlaps the body of sensor "S"`, finding.Fail},
		{"beside the body before", "", low + "}, T: {reads: A, at: [10 mm, 4 mm], axis: 180 deg, part: p", "",
			"width: 10 mm, height: 2 mm, element-height: 0.5 mm", "stands free", finding.Pass},
		{"behind the body before", "", low + "}, T: {reads: A, at: [9 mm, 4 mm, 11 mm], axis: 180 deg, part: p", "",
			"width: 10 mm, height: 2 mm, element-height: 0.5 mm", "stands free", finding.Pass},
	} {
		yaml := fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
  %s
sensors: {S: {reads: A, %s}}
parts: {p: {linear-range: 8 mT, body: {%s}}}
%s`, c.bars, c.sensor, c.body, c.rest)
		object := "S"
		if strings.Contains(c.sensor, "T:") {
			object = "T"
		}
		f := one(t, check(t, rules.Geometry, yaml), object)
		if f.Verdict != c.verdict || !strings.Contains(f.Message, c.want) {
			t.Errorf("%s: %v %s", c.name, f.Verdict, f.Message)
		}
	}
}

// Tolerances of bars and shields are taken from a gap too, those of turn at the farthest corner,
// and legs of one parallel circuit are one object.
func TestClearanceOfLooseBars(t *testing.T) {
	yaml := `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper%s}
  B: {section: {width: 20 mm, thickness: 4 mm}, at: [24 mm, 0 mm], metal: copper}
  C: {section: {width: 20 mm, thickness: 4 mm}, at: [90 mm, 0 mm], metal: copper}
%sinsulation: [{between: [A, %s], kind: basic, impulse: 4 kV}]
`
	for _, c := range []struct {
		placement, rest, other string
		wantMM                 float64
	}{
		{"", "", "B", 4},
		{", placement: {x: 0.6 mm, y: 0.8 mm}", "", "B", 3.4}, // what goes up or down along a face comes no nearer
		{", placement: {y: 5 mm}", "", "B", 4},
		{", placement: {turn: 2 deg}", "", "B", 4 - math.Hypot(10, 2)*math.Pi/90},
		{"", "circuits: {p: {parallel: [B, C]}}\n", "C", 4},
	} {
		f := one(t, check(t, rules.Clearance, fmt.Sprintf(yaml, c.placement, c.rest, c.other)), "A")
		if f.Measure == nil || !(math.Abs(f.Measure.Value-c.wantMM*1e-3) < 1e-9) {
			t.Errorf("%s %s: want %g mm: %v %s", c.placement, c.rest, c.wantMM, f.Verdict, f.Message)
		}
	}
	// A sensor 0.5 mm nearer along z, and turned out of the plane.
	sensor := `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, length: 100 mm}
  B: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 5 mm], metal: copper, run: [[0 mm, 5 mm, 7 mm], [0 mm, 5 mm, 90 mm]]}
sensors: {S: {reads: A, at: [0 mm, 5 mm], axis: 180 deg, part: p, placement: {%s}}}
parts: {p: {linear-range: 8 mT, body: {width: 4 mm, height: 2 mm, element-height: 0.5 mm}}}
insulation: [{between: [S, B], kind: basic, impulse: 2.5 kV}]
`
	for placement, want := range map[string]float64{"x: 0 mm": 5, "z: 0.5 mm": 4.5} {
		f := one(t, check(t, rules.Clearance, fmt.Sprintf(sensor, placement)), "S")
		if f.Measure == nil || !(math.Abs(f.Measure.Value-want*1e-3) < 1e-9) {
			t.Errorf("%s: want %g mm: %v %s", placement, want, f.Verdict, f.Message)
		}
	}
	// The far corner of the body, √(2² + 1.5²) mm, swings by its sine.
	f := one(t, check(t, rules.Clearance, fmt.Sprintf(sensor, "yaw: 30 deg")), "S")
	if f.Measure == nil || f.Measure.Value > 5e-3-2e-3*0.5+1e-9 || f.Measure.Value < 5e-3-2.5e-3*0.5-1e-9 {
		t.Errorf("yaw: %v %s", f.Verdict, f.Message)
	}
}
