package load

import (
	"math"
	"slices"
	"strings"
	"testing"

	"busgauss/model/layout"
	"busgauss/schema/node"
)

// What is wrong with runs and cuts: one finding each, at the value to edit. The
// bar U of base is 20 x 3 mm at the origin; what it may take is geometry.
func TestBadRunsAndCuts(t *testing.T) {
	for _, c := range []struct {
		name, keys string
		want       []string
	}{
		{"beside its place", "run: [[5 mm, 0 mm, -90 mm], [5 mm, 0 mm, 90 mm]]", []string{`3:88 value-range: run of bar "U" passes beside its place (0, 0). Along z it comes nearest at (5.000 mm, 0), 5.00 mm away. Move at or the run`}},
		{"beside its place with bends", "run: [[0 mm, 90 mm, 90 mm], [0 mm, 0.2 mm, 90 mm], [0 mm, 0.2 mm, -90 mm]]", []string{`3:110 value-range: run of bar "U" passes beside its place (0, 0). Along z it comes nearest at (0, 200.0 µm), 200 µm away. Move at or the run`}},
		{"never along z", "run: [[-50 mm, 8 mm, 0 mm], [50 mm, 8 mm, 0 mm]]", []string{`3:88 value-range: run of bar "U" does not pass its place (0, 0) along z. It comes nearest at (0, 8.000 mm, 0), 8.00 mm away. Move at or the run`}},
		{"leaning", "run: [[0 mm, -50 mm, -50 mm], [0 mm, 50 mm, 50 mm]]", []string{`3:88 value-range: run of bar "U" passes its place (0, 0) at 45.0 deg to z, between points 1 and 2. The section is drawn across z, so let that piece run along z`}},
		{"across z", "run: [[-50 mm, 0 mm, 0 mm], [50 mm, 0 mm, 0 mm]]", []string{`3:88 value-range: run of bar "U" passes its place (0, 0) at 90.0 deg to z, between points 1 and 2. The section is drawn across z, so let that piece run along z`}},
		{"straight back", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 0 mm, 20 mm]]", []string{`3:110 value-range: point 2 of run of bar "U" turns the run straight back. A bar cannot run back through itself, bend it aside first`}},
		{"tight", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [15 mm, 0 mm, 50 mm], [15 mm, 0 mm, 150 mm]]", []string{`3:131 value-range: point 3 of run of bar "U": the run is bent tighter than its section allows. A piece is of 15 mm, of which its bends take 20 mm. Make the piece longer, or the bend or the section smaller`}},
		{"tight, listed against the current", "run: [[15 mm, 0 mm, 150 mm], [15 mm, 0 mm, 50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 0 mm, -50 mm]]", []string{`3:133 value-range: point 3 of run of bar "U": the run is bent tighter than its section allows. A piece is of 15 mm, of which its bends take 20 mm. Make the piece longer, or the bend or the section smaller`}},
		{"tight at a free end", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [6 mm, 0 mm, 50 mm]]", []string{`3:131 value-range: point 3 of run of bar "U": the run is bent tighter than its section allows. A piece is of 6 mm, of which its bends take 10 mm. Make the piece longer, or the bend or the section smaller`}},
		{"no length", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 0 mm, 50 mm]]", []string{`3:131 value-range: point 3 of run of bar "U" is the one before it. That piece has no length`}},
		{"plane point", "run: [[0 mm, 0 mm], [0 mm, 0 mm, 50 mm]]", []string{`3:88 value-form: point 1 of run of bar "U" must be a point [x, y, z], not a list of 2`}},
		{"one point", "run: [[0 mm, 0 mm, 0 mm]]", []string{`3:87 value-form: run of bar "U" has 1 point. A centre line needs two or more`}},
		{"zero length", "length: 0 mm", []string{`3:90 value-range: length of bar "U" is 0 mm: it must be more than 0`}},
		{"no list", "cuts: {hole: {diameter: 2 mm}}", []string{`3:88 value-form: cuts of bar "U" must be a list, not a mapping`}},
		{"no mapping", "cuts: [2 mm]", []string{`3:89 value-form: cut 1 of bar "U" must be a mapping, not the text "2 mm"`}},
		{"nothing cut", "cuts: [{}]", []string{`3:89 key-missing: cut 1 of bar "U" needs exactly one of neck, notch, hole or slot`}},
		{"two kinds", "cuts: [{hole: {diameter: 2 mm}, slot: {width: 2 mm, length: 5 mm}}]", []string{`3:114 value-form: cut 1 of bar "U" has hole and slot. Give exactly one of neck, notch, hole or slot`}},
		{"unknown kind", "cuts: [{groove: {diameter: 2 mm}}]", []string{`3:89 key-missing: cut 1 of bar "U" needs exactly one of neck, notch, hole or slot`, `3:90 key-unknown: unknown key "groove" in bars/U/cuts/0. Known keys: hole, neck, notch, slot`}},
		{"misspelt kind", "cuts: [{nek: {length: 5 mm, width: 8 mm}}]", []string{`3:90 key-unknown: unknown key "nek" in bars/U/cuts/0. Did you mean "neck"? Known keys: hole, neck, notch, slot`}},
		{"unknown key", "cuts: [{hole: {diameter: 2 mm, depth: 1 mm}}]", []string{`3:113 key-unknown: unknown key "depth" in bars/U/cuts/0/hole. Known keys: across, along, diameter`}},
		{"number", "cuts: [{hole: 2 mm}]", []string{`3:96 value-form: hole (cut 1) of bar "U" must be a mapping, not the text "2 mm"`}},
		{"half a neck", "cuts: [{neck: {width: 8 mm}}]", []string{`3:90 key-missing: neck (cut 1) of bar "U" needs "length"`}},
		{"no side", "cuts: [{notch: {length: 5 mm, depth: 4 mm}}]", []string{`3:90 key-missing: notch (cut 1) of bar "U" needs "side"`}},
		{"wrong side", "cuts: [{notch: {length: 5 mm, depth: 4 mm, side: top}}]", []string{`3:131 value-form: side of notch (cut 1) of bar "U" must be left or right, not the text "top"`}},
		{"neck as wide as the bar", "cuts: [{neck: {length: 5 mm, width: 20 mm}}]", []string{`3:118 value-range: width of neck (cut 1) of bar "U" is 20 mm: it must be less than the width of the bar, 20.0 mm. It is what is left in the middle`}},
		{"neck wider than the bar", "cuts: [{hole: {along: -50 mm, diameter: 3 mm}}, {neck: {length: 5 mm, width: 24 mm}}]", []string{`3:159 value-range: width of neck (cut 2) of bar "U" is 24 mm: it must be less than the width of the bar, 20.0 mm. It is what is left in the middle`}},
		{"neck of no length", "cuts: [{neck: {length: 0 mm, width: 8 mm}}]", []string{`3:105 value-range: length of neck (cut 1) of bar "U" is 0 mm: it must be more than 0`}},
		{"notch through the bar", "cuts: [{notch: {length: 5 mm, depth: 20 mm, side: left}}]", []string{`3:119 value-range: depth of notch (cut 1) of bar "U" is 20 mm: it must be less than the width of the bar, 20.0 mm`}},
		{"hole outside", "cuts: [{hole: {across: 9 mm, diameter: 4 mm}}]", []string{`3:105 value-range: hole (cut 1) of bar "U" reaches 1.00 mm beyond the right edge of the bar. Move it in or make it smaller, or cut a notch`}},
		{"hole to the edge", "cuts: [{hole: {across: -8 mm, diameter: 4 mm}}]", []string{`3:105 value-range: hole (cut 1) of bar "U" reaches the left edge of the bar. Move it in or make it smaller, or cut a notch`}},
		{"hole larger than the bar", "cuts: [{hole: {diameter: 30 mm}}]", []string{`3:96 value-range: hole (cut 1) of bar "U" reaches 5.00 mm beyond the right edge of the bar. Move it in or make it smaller, or cut a notch`}},
		{"slot outside", "cuts: [{slot: {across: -9 mm, width: 3 mm, length: 9 mm}}]", []string{`3:105 value-range: slot (cut 1) of bar "U" reaches 500 µm beyond the left edge of the bar. Move it in or make it smaller, or cut a notch`}},
		{"slot across", "cuts: [{slot: {width: 9 mm, length: 3 mm}}]", []string{`3:104 value-range: width of slot (cut 1) of bar "U" is 9 mm: it must not be more than its length, 3 mm. A slot runs along the bar`}},
		{"overlap", "cuts: [{hole: {diameter: 6 mm}}, {slot: {across: 2 mm, along: 6 mm, width: 3 mm, length: 10 mm}}]", []string{`3:122 value-range: slot (cut 2) of bar "U" overlaps or touches the hole (cut 1). Move one of the two, or make one cut of them`}},
		{"touch", "cuts: [{notch: {length: 8 mm, depth: 5 mm, side: left}}, {hole: {across: -3 mm, diameter: 4 mm}}]", []string{`3:146 value-range: hole (cut 2) of bar "U" overlaps or touches the notch (cut 1). Move one of the two, or make one cut of them`}},
		{"notches that meet", "cuts: [{notch: {length: 8 mm, depth: 12 mm, side: left}}, {notch: {along: 3 mm, length: 8 mm, depth: 8 mm, side: right}}]", []string{`3:148 value-range: notch (cut 2) of bar "U" overlaps or touches the notch (cut 1). Move one of the two, or make one cut of them`}},
		{"beyond the end", "length: 60 mm, cuts: [{slot: {along: 25 mm, width: 3 mm, length: 20 mm}}]", []string{`3:119 value-range: slot (cut 1) of bar "U" reaches 5.00 mm beyond the end of the bar at z = 30.00 mm. Move it in or make it smaller`}},
		{"to the end", "length: 60 mm, cuts: [{neck: {along: -25 mm, length: 10 mm, width: 8 mm}}]", []string{`3:119 value-range: neck (cut 1) of bar "U" reaches the end of the bar at z = -30.00 mm. Move it in or make it smaller`}},
		{"longer than the bar", "length: 60 mm, cuts: [{neck: {length: 70 mm, width: 8 mm}}]", []string{`3:111 value-range: neck (cut 1) of bar "U" reaches 5.00 mm beyond the end of the bar at z = -30.00 mm. Move it in or make it smaller`}},
		{"in the bend", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 60 mm, 50 mm]], cuts: [{hole: {along: 47 mm, diameter: 4 mm}}]", []string{`3:176 value-range: hole (cut 1) of bar "U" reaches 500 µm beyond its straight piece, full to z = 48.50 mm. A cut belongs on that piece`}},
		{"on another piece", "run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [40 mm, 0 mm, 50 mm], [40 mm, 0 mm, 150 mm]], cuts: [{hole: {along: 100 mm, diameter: 4 mm}}]", []string{`3:199 value-range: hole (cut 1) of bar "U" reaches 62.0 mm beyond its straight piece, full to z = 40.00 mm. A cut belongs on that piece`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, problems := Load("bad.yaml", []byte(strings.Replace(base, "metal: copper}", "metal: copper, "+c.keys+"}", 1)))
			got := lines(problems)
			if l != nil || !slices.Equal(got, c.want) {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), strings.Join(c.want, "\n     "))
			}
		})
	}
}

// What a run and cuts give, each value in SI by hand.
func TestFullCuts(t *testing.T) {
	u := mustLoad(t, "full.yaml", full(t)).Bars[0]
	if len(u.Cuts) != 4 {
		t.Fatalf("%d cuts", len(u.Cuts))
	}
	neck, notch, hole, slot := u.Cuts[0], u.Cuts[1], u.Cuts[2], u.Cuts[3]
	if neck.Kind != layout.Neck || notch.Kind != layout.Notch || hole.Kind != layout.Hole || slot.Kind != layout.Slot || notch.Side != -1 {
		t.Errorf("cuts: %+v", u.Cuts)
	}
	near(t, "neck along", neck.AlongM.V, -0.030)
	near(t, "neck length", neck.LengthM.V, 0.010)
	near(t, "neck width", neck.WidthM.V, 0.008)
	near(t, "notch depth", notch.DepthM.V, 0.006)
	near(t, "hole across", hole.AcrossM.V, 0.002)
	near(t, "hole along", hole.AlongM.V, 0.060)
	near(t, "hole diameter", hole.DiameterM.V, 0.0065)
	near(t, "slot width", slot.WidthM.V, 0.003)
	near(t, "slot length", slot.LengthM.V, 0.020)
	open(t, "neck across", neck.AcrossM, 0)
	open(t, "neck depth", neck.DepthM, math.NaN())
	if place(neck.Span) != "7:14-7:65" {
		t.Errorf("neck at %s", place(neck.Span))
	}
	text := strings.Replace(base, "metal: copper}", "metal: copper, cuts: [{notch: {length: 5 mm, depth: 4 mm, side: right}}]}", 1)
	c := mustLoad(t, "right.yaml", []byte(text)).Bars[0].Cuts[0]
	open(t, "along", c.AlongM, 0)
	if c.Side != 1 {
		t.Errorf("side %g of a notch to the right", c.Side)
	}
}

// Cuts and runs that are sound load, the short way too: cuts that nearly touch,
// a run listed either way, one that bends at the section, one away from z = 0.
func TestGoodRunsAndCuts(t *testing.T) {
	for _, keys := range []string{
		"cuts: []",
		"cuts: [{hole: {diameter: 19.99 mm}}]",
		"cuts: [{slot: {width: 4 mm, length: 4 mm}}]",
		"cuts: [{hole: {across: -7.99 mm, diameter: 4 mm}}, {hole: {across: 7.99 mm, diameter: 4 mm}}]",
		"cuts: [{neck: {length: 10 mm, width: 6 mm}}, {hole: {diameter: 5.99 mm}}]",
		"cuts: [{notch: {length: 8 mm, depth: 12 mm, side: left}}, {notch: {along: 8.01 mm, length: 8 mm, depth: 12 mm, side: right}}]",
		"length: 60 mm, cuts: [{slot: {along: 19.99 mm, width: 3 mm, length: 20 mm}}]",
		"run: [[0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [20 mm, 0 mm, 50 mm], [20 mm, 0 mm, 150 mm]]",
		"run: [[20 mm, 0 mm, 150 mm], [20 mm, 0 mm, 50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 0 mm, -50 mm]], cuts: [{hole: {along: -47 mm, diameter: 4 mm}}]",
		"run: [[0 mm, 90 mm, 0 mm], [0 mm, 0 mm, 0 mm], [0 mm, 0 mm, 90 mm]]",
		"run: [[0 mm, 0 mm, 40 mm], [0 mm, 0 mm, 90 mm]], cuts: [{hole: {along: 65 mm, diameter: 4 mm}}]",
	} {
		text := []byte(strings.Replace(base, "metal: copper}", "metal: copper, "+keys+"}", 1))
		root, problems := node.Parse("good.yaml", text, node.Limits{})
		if root == nil || readAll(root) == nil {
			_, found := Load("good.yaml", text)
			t.Errorf("%s: %v %v", keys, problems, lines(found))
		}
	}
}

// A broken number of a bar does not raise further findings about its run and cuts.
func TestRunsAndCutsOfBrokenBars(t *testing.T) {
	const keys = "metal: copper, run: [[5 mm, 0 mm, -90 mm], [5 mm, 0 mm, 90 mm], [5 mm, 1 mm, 90 mm]], cuts: [{hole: {across: 40 mm, diameter: 2 mm}}]}"
	for _, slip := range [][2]string{
		{"width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm]", "width: 20, thickness: 3 mm}, at: [5 mm, 0 mm]"},
		{"{width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm]", "{width: 20 mm}, at: [5 mm, 0 mm]"},
	} {
		text := strings.Replace(strings.Replace(base, "metal: copper}", keys, 1), slip[0], slip[1], 1)
		if _, problems := Load("bad.yaml", []byte(text)); len(problems) != 1 {
			t.Errorf("%s: %v", slip[1], lines(problems))
		}
	}
	text := strings.Replace(strings.Replace(base, "metal: copper}", strings.Replace(keys, "[5 mm, 0 mm, -90 mm]", "[5, 0 mm, -90 mm]", 1), 1), "20 mm, thickness", "90 mm, thickness", 1)
	if _, problems := Load("bad.yaml", []byte(text)); len(problems) != 1 {
		t.Errorf("broken point: %v", lines(problems))
	}
}

// Cuts need a plan: a round bar and an outline have none.
func TestCutsOfOtherSections(t *testing.T) {
	text := strings.Replace(base, "metal: iron}", "metal: iron, cuts: [{hole: {diameter: 2 mm}}]}", 1)
	_, problems := Load("bad.yaml", []byte(text))
	want := []string{`4:66 value-form: cuts of bar "V" need a section of width and thickness. The plan that they are cut into is that of a flat bar`}
	if got := lines(problems); !slices.Equal(got, want) {
		t.Errorf("got %v", got)
	}
}

// Lists beyond what is looked at pairwise in time.
func TestManyCutsAndPoints(t *testing.T) {
	for keys, want := range map[string]string{
		"cuts: [" + strings.Repeat("{hole: {diameter: 2 mm}}, ", mostCuts+1) + "]": "101 cuts: 100 at most",
		"run: [" + strings.Repeat("[0 mm, 0 mm, 0 mm], ", mostPoints+1) + "]":      "2001 points: 2000 at most",
	} {
		_, problems := Load("bad.yaml", []byte(strings.Replace(base, "metal: copper}", "metal: copper, "+keys+"}", 1)))
		if len(problems) != 1 || !strings.Contains(problems[0].Message, want) {
			t.Errorf("got %.300v", lines(problems))
		}
	}
}

// The other party of a finding is related to it.
func TestRelatedOfRunsAndCuts(t *testing.T) {
	for keys, want := range map[string]string{
		"cuts: [{hole: {diameter: 6 mm}}, {hole: {along: 3 mm, diameter: 6 mm}}]": "the other cut",
		"run: [[5 mm, 0 mm, -90 mm], [5 mm, 0 mm, 90 mm]]":                        "place of the section",
	} {
		_, problems := Load("bad.yaml", []byte(strings.Replace(base, "metal: copper}", "metal: copper, "+keys+"}", 1)))
		if len(problems) != 1 || len(problems[0].Related) != 1 || problems[0].Related[0].Message != want {
			t.Errorf("%s: %+v", keys, problems)
		}
	}
}
