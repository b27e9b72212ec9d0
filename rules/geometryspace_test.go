package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// What each drawing in space must say; the bar A is 20 x 4 mm at the origin. B has
// no size of its own there: each row draws it.
func TestGeometryInSpace(t *testing.T) {
	const (
		bar   = "B: {section: {width: 20 mm, thickness: 4 mm}, metal: copper, "
		short = ", length: 100 mm"
		over  = "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 30 mm, 50 mm], [0 mm, 30 mm, -50 mm]]"
		hole  = ", cuts: [{hole: {diameter: 8 mm}}]"
	)
	plate := func(at, depth string) string {
		return strings.Replace(plate(at), "material", "depth: "+depth+", material", 1)
	}
	for _, c := range []struct {
		name, a, bars, sensor, rest, object, want string
		verdict                                   finding.Verdict
	}{
		{"one behind the other", short, bar + "at: [5 mm, 0 mm], run: [[5 mm, 0 mm, 60 mm], [5 mm, 0 mm, 90 mm]]}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"end to end", short, bar + "at: [5 mm, 0 mm], run: [[5 mm, 0 mm, 50 mm], [5 mm, 0 mm, 90 mm]]}", "[0 mm, 5 mm]", "", "B", `this bar touches bar "A"`, finding.Fail},
		{"end to end, bonded", short, bar + "at: [5 mm, 0 mm], run: [[5 mm, 0 mm, 50 mm], [5 mm, 0 mm, 90 mm]]}", "[0 mm, 5 mm]", "bonded: [A, B]", "B", "overlaps nothing", finding.Pass},
		{"end in end", short, bar + "at: [5 mm, 0 mm], run: [[5 mm, 0 mm, 49 mm], [5 mm, 0 mm, 90 mm]]}", "[0 mm, 5 mm]", "", "B", `this bar overlaps bar "A"`, finding.Fail},
		{"long through short", short, bar + "at: [5 mm, 1 mm]}", "[0 mm, 5 mm]", "", "B", `this bar overlaps bar "A"`, finding.Fail},
		{"run over a long bar", "", bar + "at: [40 mm, 0 mm], run: [[40 mm, 0 mm, -50 mm], [40 mm, 0 mm, 50 mm], [40 mm, 30 mm, 50 mm], [-40 mm, 30 mm, 50 mm]]}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"run into a long bar", "", bar + "at: [40 mm, 0 mm], run: [[40 mm, 0 mm, -50 mm], [40 mm, 0 mm, 50 mm], [-40 mm, 0 mm, 50 mm]]}", "[0 mm, 5 mm]", "", "B", `this bar (points 2 to 3) overlaps bar "A"`, finding.Fail},
		{"run past the end of a bar", short, bar + "at: [40 mm, 0 mm], run: [[40 mm, 0 mm, -50 mm], [40 mm, 0 mm, 61 mm], [-40 mm, 0 mm, 61 mm]]}", "[0 mm, 5 mm]", "", "B", "overlaps nothing", finding.Pass},
		{"run onto the end of a bar", short, bar + "at: [40 mm, 0 mm], run: [[40 mm, 0 mm, -50 mm], [40 mm, 0 mm, 60 mm], [-40 mm, 0 mm, 60 mm]]}", "[0 mm, 5 mm]", "", "B", `this bar (points 2 to 3) touches bar "A"`, finding.Fail},
		{"listed the other way", "", bar + "at: [40 mm, 0 mm], run: [[-40 mm, 0 mm, 50 mm], [40 mm, 0 mm, 50 mm], [40 mm, 0 mm, -50 mm]]}", "[0 mm, 5 mm]", "", "B", `this bar (points 1 to 2) overlaps bar "A"`, finding.Fail},
		{"run into itself", ", run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [50 mm, 0 mm, 50 mm], [50 mm, 0 mm, 0 mm], [-50 mm, 0 mm, 0 mm]]", "", "[0 mm, 5 mm]", "", "A", `this bar (points 4 to 5) runs into itself (points 1 to 2)`, finding.Fail},
		{"run that touches itself", ", run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [20 mm, 0 mm, 50 mm], [20 mm, 0 mm, -50 mm]]", "", "[0 mm, 5 mm]", "", "A", `this bar (points 3 to 4) touches itself (points 1 to 2)`, finding.Fail},
		{"there and back with room", ", " + over, "", "[0 mm, 5 mm]", "", "A", "overlaps nothing", finding.Pass},
		{"round run nearly on itself", "", "B: {section: {diameter: 10 mm}, metal: copper, at: [50 mm, 0 mm], run: [[50 mm, 0 mm, -50 mm], [50 mm, 0 mm, 50 mm], [60.001 mm, 0 mm, 50 mm], [60.001 mm, 0 mm, -50 mm]]}", "[0 mm, 5 mm]", "", "B", "touches itself", finding.Undecided},
		{"shield behind the bar", short, "", "[0 mm, 5 mm]", plate("[0 mm, 0 mm, 60 mm]", "19.9 mm"), "P", "overlaps nothing", finding.Pass},
		{"shield in the bar", short, "", "[0 mm, 5 mm]", plate("[0 mm, 0 mm, 60 mm]", "21 mm"), "P", `this shield overlaps bar "A"`, finding.Fail},
		{"run into a shield", ", " + over, "", "[0 mm, 5 mm]", plate("[0 mm, 15 mm, 50 mm]", "10 mm"), "P", `this shield overlaps bar "A" (points 2 to 3)`, finding.Fail},
		{"shield within a run", ", " + over, "", "[0 mm, 5 mm]", plate("[0 mm, 15 mm, 20 mm]", "10 mm"), "P", "overlaps nothing", finding.Pass},
		{"shield in the outer corner of a bend", ", " + over, "", "[0 mm, 5 mm]", plate("[0 mm, -1.4 mm, 51.6 mm]", "0.5 mm"), "P", `this shield overlaps bar "A" (points 1 to 2)`, finding.Fail},
		{"shield outside that corner", ", " + over, "", "[0 mm, 5 mm]", plate("[0 mm, -1.4 mm, 52.6 mm]", "0.5 mm"), "P", "overlaps nothing", finding.Pass},
		{"shield in a hole", hole, "", "[0 mm, 9 mm]", strings.Replace(plate("[0 mm, 0 mm]", "5 mm"), "40 mm", "5 mm", 1), "P", "overlaps nothing", finding.Pass},
		{"shield wider than the hole", hole, "", "[0 mm, 9 mm]", strings.Replace(plate("[0 mm, 0 mm]", "5 mm"), "40 mm", "9 mm", 1), "P", `overlaps bar "A"`, finding.Fail},
		{"shield nearly on the rim of a hole", hole, "", "[0 mm, 9 mm]", strings.Replace(plate("[0 mm, 0 mm]", "0.001 mm"), "40 mm", "7.998 mm", 1), "P", `touches bar "A" or nearly`, finding.Undecided},
		{"sensor in a hole", hole, "", "[0 mm, 0 mm]", "", "S", `stands free, 4.00 mm from its bar "A"`, finding.Pass},
		{"sensor in the metal beside a hole", hole, "", "[5 mm, 0 mm]", "", "S", `stands inside bar "A"`, finding.Fail},
		{"sensor before a hole", hole, "", "[0 mm, 0 mm, 5 mm]", "", "S", `stands inside bar "A"`, finding.Fail},
		{"sensor in a slot", ", cuts: [{slot: {width: 4 mm, length: 20 mm}}]", "", "[0 mm, 0 mm, 9 mm]", "", "S", "stands free", finding.Pass},
		{"sensor in a notch", ", cuts: [{notch: {length: 10 mm, depth: 6 mm, side: right}}]", "", "[8 mm, 0 mm, 4 mm]", "", "S", "stands free, 1.00 mm", finding.Pass},
		{"sensor opposite the notch", ", cuts: [{notch: {length: 10 mm, depth: 6 mm, side: right}}]", "", "[-8 mm, 0 mm, 4 mm]", "", "S", `stands inside bar "A"`, finding.Fail},
		{"sensor beside a neck", ", length: 80 mm, cuts: [{neck: {length: 10 mm, width: 8 mm}}]", "", "[6 mm, 1 mm]", "", "S", "stands free, 2.00 mm", finding.Pass},
		{"sensor in a bend", ", run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 30 mm, 50 mm]]", "", "[0 mm, 10 mm, 49 mm]", "", "S", `stands inside bar "A"`, finding.Fail},
		{"sensor beyond the end", short, "", "[0 mm, 5 mm, 62 mm]", "", "S", `S: stands 12.0 mm beyond the end of its bar "A" at z = 50.0 mm`, finding.Fail},
		{"sensor beyond the other end", short, "", "[0 mm, 5 mm, -62 mm]", "", "S", `S: stands 12.0 mm beyond the end of its bar "A" at z = -50.0 mm`, finding.Fail},
		{"sensor at the end", short, "", "[0 mm, 5 mm, 50 mm]", "", "S", "stands free", finding.Pass},
		{"sensor beyond a bend", ", run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 30 mm, 50 mm]]", "", "[0 mm, 5 mm, 60 mm]", "", "S", `10.0 mm beyond the bend of its bar "A" at z = 50.0 mm`, finding.Fail},
		{"sensor before a run that begins above it", ", run: [[0 mm, 0 mm, 20 mm], [0 mm, 0 mm, 50 mm]]", "", "[0 mm, 5 mm]", "", "S", `20.0 mm beyond the end of its bar "A" at z = 20.0 mm`, finding.Fail},
		{"behind a shield that does not reach it", "", "", "[0 mm, 12 mm, 20 mm]", plate("[0 mm, 6 mm]", "20 mm"), "S", "stands free", finding.Pass},
		{"behind a shield that reaches it", "", "", "[0 mm, 12 mm, 9 mm]", plate("[0 mm, 6 mm]", "20 mm"), "S", `shield "P" stands between`, finding.Fail},
		{"behind a crossing run", "", bar + "at: [40 mm, 9 mm], run: [[40 mm, 9 mm, -50 mm], [40 mm, 9 mm, 0 mm], [-40 mm, 9 mm, 0 mm]]}", "[0 mm, 20 mm, 9 mm]", "", "S", `bar "B" stands between`, finding.Fail},
		{"beside a crossing run", "", bar + "at: [40 mm, 9 mm], run: [[40 mm, 9 mm, -50 mm], [40 mm, 9 mm, 0 mm], [-40 mm, 9 mm, 0 mm]]}", "[0 mm, 20 mm, 11 mm]", "", "S", "stands free", finding.Pass},
		{"behind a bar with a hole", "", bar + "at: [0 mm, 9 mm], cuts: [{hole: {diameter: 6 mm}}]}", "[0 mm, 20 mm, 2 mm]", "", "S", "stands free", finding.Pass},
		{"behind its metal", "", bar + "at: [0 mm, 9 mm], cuts: [{hole: {diameter: 6 mm}}]}", "[0 mm, 20 mm, 4 mm]", "", "S", `bar "B" stands between`, finding.Fail},
	} {
		yaml := fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper%s}
  %s
sensors: {S: {reads: A, at: %s, axis: 180 deg}}
%s`, c.a, c.bars, c.sensor, c.rest)
		f := one(t, check(t, rules.Geometry, yaml), c.object)
		if f.Verdict != c.verdict || !strings.Contains(f.Message, c.want) {
			t.Errorf("%s: %v %s", c.name, f.Verdict, f.Message)
		}
	}
}

// A plan full of cuts ends in time; a bar of it that nothing comes near is judged
// without, one that another crosses is undecided or judged, never lost.
func TestGeometryManyCuts(t *testing.T) {
	var cuts strings.Builder
	for i := range 100 { // a row across, each a little further along than the last
		fmt.Fprintf(&cuts, "{hole: {across: %d mm, along: %.3f mm, diameter: 8 mm}}, ", 10*i-500, 0.001*float64(i))
	}
	yaml := `layout: 1
bars:
  A: {section: {width: 1020 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, cuts: [` + cuts.String() + `]}
  B: {section: {width: 6 mm, thickness: 1 mm}, at: [5 mm, -30 mm], metal: copper, run: [[5 mm, -30 mm, -90 mm], [5 mm, -30 mm, 0 mm], [5 mm, 30 mm, 0 mm]]}
  C: {section: {width: 6 mm, thickness: 1 mm}, at: [5 mm, -90 mm], metal: copper}
`
	found := check(t, rules.Geometry, yaml)
	if f := one(t, found, "B"); f.Verdict == finding.Pass {
		t.Errorf("B through A: %v %s", f.Verdict, f.Message)
	}
	if f := one(t, found, "C"); f.Verdict != finding.Pass {
		t.Errorf("C far from all: %v %s", f.Verdict, f.Message)
	}
}

// An outline with many corners is followed along z, and said to be not known where
// it bends and something comes near.
func TestGeometryManyCorners(t *testing.T) {
	var outline strings.Builder
	for i := range 500 {
		fmt.Fprintf(&outline, "[%d mm, %d mm], ", i, i%2)
	}
	outline.WriteString("[499 mm, 9 mm], [0 mm, 9 mm]")
	yaml := `layout: 1
bars:
  A: {section: {outline: [` + outline.String() + `]}, at: [0 mm, 0 mm], metal: copper%s}
  B: {section: {width: 20 mm, thickness: 4 mm}, at: [250 mm, 10 mm], metal: copper}
`
	if f := one(t, check(t, rules.Geometry, fmt.Sprintf(yaml, "")), "B"); f.Verdict != finding.Fail {
		t.Errorf("straight: %v %s", f.Verdict, f.Message)
	}
	bent := fmt.Sprintf(yaml, ", run: [[0 mm, 0 mm, -900 mm], [0 mm, 0 mm, 90 mm], [0 mm, -90 mm, 90 mm]]")
	if f := one(t, check(t, rules.Geometry, bent), "B"); f.Verdict != finding.Undecided || !strings.Contains(f.Message, "502 corners") {
		t.Errorf("bent: %v %s", f.Verdict, f.Message)
	}
}
