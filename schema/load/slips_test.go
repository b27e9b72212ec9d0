package load

import (
	"slices"
	"strings"
	"testing"
)

// One slip gives one finding: it neither hides the next nor starts an avalanche.
func TestSlips(t *testing.T) {
	const topKeys = "$schema, bars, bonded, calibration, circuits, duties, insulation, layout, materials, measurements, needs, parts, phase-sums, readout, sensors, shields, surroundings, title"
	replace := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(base) }
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"a section's key", replace("bars:", "bar:"), []string{
			`2:1 key-unknown: unknown key "bar" in the layout. Did you mean "bars"? Known keys: ` + topKeys,
		}},
		{"two slips in one object", replace("width:", "widht:", "thickness:", "thicknes:"), []string{
			`3:17 key-unknown: unknown key "widht" in bars/U/section. Did you mean "width"? Known keys: diameter, outline, thickness, width`,
			`3:31 key-unknown: unknown key "thicknes" in bars/U/section. Did you mean "thickness"? Known keys: diameter, outline, thickness, width`,
		}},
		{"a slip inside a slip", replace("sensors:", "sensor:", "reads: U", "red: Q"), []string{
			`9:1 key-unknown: unknown key "sensor" in the layout. Did you mean "sensors"? Known keys: ` + topKeys,
			`10:7 key-unknown: unknown key "red" in sensors/S. Known keys: at, axis, elements, pair, part, placement, reads`,
			`10:3 key-missing: sensor "S" needs "reads"`,
		}},
		{"a key that stands twice, once misspelt", replace("metal: copper", "metal: copper, metl: brass"), []string{
			`3:82 key-unknown: unknown key "metl" in bars/U. Did you mean "metal"? Known keys: at, cuts, length, metal, placement, run, section, temperature, turn`,
		}},
		{"a section's keys beside it", replace("{section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm]", "{diameter: 20 mm, at: [0 mm, 0 mm]"), []string{
			`3:7 key-unknown: unknown key "diameter" in bars/U. It stands in "section", as section: {diameter: ...}. Known keys: at, cuts, length, metal, placement, run, section, temperature, turn`,
			`3:3 key-missing: bar "U" needs "section"`,
		}},
		{"a form's key beside it", replace("form: {ring: {inner: 30 mm, wall: 3 mm, slit: 2 mm}}", "ring: {inner: 30 mm, wall: 3 mm}"), []string{
			`6:3 key-missing: shield "K" needs "form"`,
			`6:7 key-unknown: unknown key "ring" in shields/K. It stands in "form", as form: {ring: ...}. Known keys: at, depth, form, material, placement, tolerance, turn`,
		}},
		{"a broken bar counts as known", replace("U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}", "U: 7"), []string{
			`3:6 value-form: bar "U" must be a mapping, not the number 7`,
		}},
		{"a broken section of bars", "layout: 1\nbars: 7\nsensors: {S: {reads: U, at: [0 mm, 6 mm], axis: 0 deg}}\n", []string{
			`2:7 value-form: bars must be a mapping, not the number 7`,
		}},
		{"no bars", "layout: 1\nbars: {}\nsensors: {S: {reads: U, at: [0 mm, 6 mm], axis: 0 deg}}\n", []string{
			`2:7 value-form: bars is empty: a layout needs a bar`,
		}},
		{"bars left out", "layout: 1\nsensors: {S: {reads: U, at: [0 mm, 6 mm], axis: 0 deg}}\n", []string{
			`1:1 key-missing: the layout needs "bars"`,
		}},
		{"everything left out", "{}\n", []string{
			`1:1 key-missing: the layout needs "bars"`,
			`1:1 key-missing: the layout needs "layout"`,
		}},
		{"an unknown bar and a bad unit", replace("reads: U", "reads: Q", "axis: 0 deg", "axis: 0 mm"), []string{
			`10:14 id-unknown: reads of sensor "S" names no bar: "Q". There are "U", "V"`,
			`10:41 value-quantity: axis of sensor "S": mm is a length, angle wanted. Write deg, °, rad or mrad`,
		}},
		{"one bar in currents and three-phase",
			replace("V: {dc: -5 A}}", "V: {dc: -5 A}}, three-phase: {bars: [U, V, V], peak: 9 A}"), []string{
				`14:56 value-form: bar "U" has a current of its own and one of three-phase in duty "run". Give one`,
				// The direct current of V flows beside its phase.
				`14:116 value-form: item 3 of bars of three-phase of duty "run" is bar "V" again. Each bar stands once`,
			}},
		{"a form with a foreign key", replace("form: {ring", "form: {foo: 1, ring"), []string{
			`6:14 key-unknown: unknown key "foo" in shields/K/form. Known keys: channel, outline, plate, ring`,
		}},
		{"a key without letters", replace("reads: U", `reads: U, "": 1`), []string{
			`10:17 key-unknown: unknown key "" in sensors/S. Known keys: at, axis, elements, pair, part, placement, reads`,
		}},
		{"a bar without a name", "layout: 1\nbars: {\"\": {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}}\n", []string{
			`2:8 value-form: the name of a bar must not be empty`,
		}},
		{"an alias with a slip", "layout: 1\nbars:\n  U: &u {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metl: copper}\n  V: *u\n", []string{
			`3:55 key-unknown: unknown key "metl" in bars/U. Did you mean "metal"? Known keys: at, cuts, length, metal, placement, run, section, temperature, turn`,
		}},
		{"names that differ in case or place", replace("part: flat", "part: falt", "material: iron", "material: Iron"), []string{
			`6:89 id-unknown: material of shield "K" names no material: "Iron". Did you mean "iron"? There are "iron", "low-carbon-steel", "silicon-steel", "nickel-iron-50", "nickel-iron-80", "mnzn-ferrite"`,
			`10:54 id-unknown: part of sensor "S" names no part: "falt". Did you mean "flat"? There are "flat"`,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, problems := Load("bad.yaml", []byte(c.text))
			got := lines(problems)
			slices.Sort(got)
			slices.Sort(c.want)
			if l != nil || !slices.Equal(got, c.want) {
				t.Errorf("layout %v\ngot\n%s\nwant\n%s", l != nil, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
			}
		})
	}
}

// Byte order mark and CRLF change neither values nor places.
func TestLineEndsAndMark(t *testing.T) {
	want := mustLoad(t, "base.yaml", []byte(base))
	for name, text := range map[string]string{
		"mark": "\ufeff" + base,
		"CRLF": strings.ReplaceAll(base, "\n", "\r\n"),
	} {
		got := mustLoad(t, name, []byte(text))
		if got.Bars[0].Section.WidthM.V != want.Bars[0].Section.WidthM.V || place(got.Bars[1].Span) != place(want.Bars[1].Span) ||
			place(got.Bars[0].Section.WidthM.Span) != place(want.Bars[0].Section.WidthM.Span) {
			t.Errorf("%s: bar %+v", name, got.Bars[0])
		}
	}
}

// Columns count code points, not bytes.
func TestColumnsAreCodePoints(t *testing.T) {
	text := strings.Replace(base, "metal: iron", `"größe_🚠": 1, metal: irn`, 1)
	_, problems := Load("bad.yaml", []byte(text))
	got := lines(problems)
	want := []string{
		`4:53 key-unknown: unknown key "größe_🚠" in bars/V. Known keys: at, cuts, length, metal, placement, run, section, temperature, turn`,
		`4:74 id-unknown: metal of bar "V" names no material: "irn". Did you mean "iron"? There are "copper", "aluminium", "brass", "iron"`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
