package load

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
)

func lines(problems []finding.Finding) []string {
	out := make([]string, len(problems))
	for i, p := range problems {
		out[i] = fmt.Sprintf("%d:%d %s: %s", p.Span.Start.Line, p.Span.Start.Column, p.Rule, p.Message)
	}
	return out
}

// base is a small sound layout; a case replaces the first text by the second.
const base = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  V: {section: {diameter: 8 mm}, at: [40 mm, 0 mm], metal: iron}
shields:
  K: {form: {ring: {inner: 30 mm, wall: 3 mm, slit: 2 mm}}, at: [0 mm, 0 mm], material: iron}
materials:
  iron: {curve: [[0 A/m, 0 T], [60 A/m, 0.8 T], [900 A/m, 1.4 T]], conductivity: 2 MS/m}
sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 0 deg, part: flat}
parts:
  flat: {linear-range: 30 mT, sensitivity: 60 mV/mT, output: {zero: 2.5 V, low: 0.4 V, high: 4.6 V}}
duties:
  run: {kind: continuous, frequency: 50 Hz, currents: {U: {rms: 100 A}, V: {dc: -5 A}}}
surroundings: {return: far}
`

func TestBaseLoads(t *testing.T) { mustLoad(t, "base.yaml", []byte(base)) }

func TestBadValues(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"no blank", "20 mm", "20mm", `3:24 value-quantity: width of section of bar "U": "20mm" has no space before the unit. Write 20 mm`},
		{"bare number", "20 mm", "20", `3:24 value-quantity: width of section of bar "U" is a bare number. Write it with a unit of length, such as "20 mm"`},
		{"impossible unit", "20 mm", "20 mT", `3:24 value-quantity: width of section of bar "U": mT is a flux density, length wanted. Write mm, cm, m, µm, in or mil`},
		{"zero width", "20 mm", "0 mm", `3:24 value-range: width of section of bar "U" is 0 mm: it must be more than 0`},
		{"negative thickness", "3 mm}, at", "-3 mm}, at", `3:42 value-range: thickness of section of bar "U" is -3 mm: it must be more than 0`},
		{"size beyond reach", "20 mm", "20 km", `3:24 value-range: width of section of bar "U" is 20 km: it must be at most 10000 m`},
		{"size without size", "20 mm", "1e-9 mm", `3:24 value-range: width of section of bar "U" is 1e-9 mm: it must be 1 nm or more`},
		{"too large", "{rms: 100 A}", "{rms: 1e30 A}", `14:65 value-range: rms of current of bar "U" in duty "run" is 1e30 A: it must be at most 1e15 in SI units`},
		{"1e400", "20 mm", "1e400", `3:24 value-form: number "1e400" is beyond the range of a double`},
		{".inf", "20 mm", ".inf", `3:24 value-form: ".inf" is not a finite number`},
		{"octal", "20 mm", "010", `3:24 value-form: "010" is not a plain decimal number: some readers take it as octal`},
		{"octal with unit", "20 mm", "020 mm", `3:24 value-quantity: width of section of bar "U": 020 starts with a zero: write 20`},
		{"empty value", "width: 20 mm", "width: ", `3:23 value-form: width of section of bar "U" must be text with a unit of length, not empty`},
		{"temperature", "metal: copper", "metal: copper, temperature: -300 °C", `3:95 value-quantity: temperature of bar "U": -300 °C is below absolute zero. Write -273.15 °C or more`},
		{"next to nothing", "sensitivity: 60 mV/mT", "sensitivity: 5e-324 mV/mT", `12:44 value-range: sensitivity of part "flat" is 5e-324 mV/mT: it must be other than 0`},
		{"no conductor", "conductivity: 2 MS/m", "conductivity: 0 S/m", `4:60 value-range: material "iron" of bar "V" conducts 0 S/m, and a bar carries a current. It needs 1.00 mS/m or more`},
		{"resistance that vanishes", "conductivity: 2 MS/m", "conductivity: 2 MS/m, temperature-coefficient: -0.1 %/K", `4:60 value-range: material "iron" of bar "V" has a temperature-coefficient of -0.100 %/K. No resistance would be left at 1085 °C, up to which bars are followed`},
		{"melting", "metal: copper", "metal: copper, temperature: 1100 °C", `3:95 value-range: temperature of bar "U" is 1100 °C: it must be at most 1085 °C. Absolute zero to the melting point of copper`},
		{"kelvin", "metal: copper", "metal: copper, temperature: 300 K", `3:95 value-quantity: temperature of bar "U": K is a difference of temperatures, a point is wanted. Write °C or degC: 0 °C is 273.15 K`},
		{"unknown metal", "metal: copper", "metal: cooper", `3:74 id-unknown: metal of bar "U" names no material: "cooper". Did you mean "copper"? There are "copper", "aluminium", "brass", "iron"`},
		{"unknown bar", "reads: U", "reads: Q", `10:14 id-unknown: reads of sensor "S" names no bar: "Q". There are "U", "V"`},
		{"wrong case", "reads: U", "reads: u", `10:14 id-unknown: reads of sensor "S" names no bar: "u". Did you mean "U"? There are "U", "V"`},
		{"name of another kind", "reads: U", "reads: iron", `10:14 id-unknown: reads of sensor "S" names no bar: "iron". There are "U", "V". "iron" is a material`},
		{"number as name", "reads: U", "reads: 5", `10:14 value-form: reads of sensor "S" must be the name of a bar, not the number 5`},
		{"built-in shield", "material: iron", "material: copper", `6:89 id-unknown: material of shield "K" names no material: "copper" is a metal of bars only. Declare a material with conductivity 57.4 MS/m`},
		{"name taken", "  K: {form", "  U: {form", `6:3 id-taken: the name "U" of a shield is taken by a bar on line 3. Names are unique in a file`},
		{"sensor all", "  S: {reads", "  all: {reads", `10:3 id-taken: a sensor cannot be called "all": needs use that word for every channel`},
		{"slit", "slit: 2 mm", "slit: 30 mm", `6:53 value-range: slit of ring of form of shield "K" is 30 mm: it must be less than the inner diameter, 30.0 mm`},
		{"curve falls", "[900 A/m, 1.4 T]", "[900 A/m, 0.7 T]", `8:49 value-range: point 3 of curve of material "iron" has B 700 mT, not more than the 800 mT before it. B must rise`},
		{"curve stands", "[900 A/m, 1.4 T]", "[60 A/m, 1.4 T]", `8:49 value-range: point 3 of curve of material "iron" has H 60.0 A/m, not more than the 60.0 A/m before it. H must rise`},
		{"curve negative", "0.8 T", "-0.8 T", `8:41 value-range: B of point 2 of curve of material "iron" is -0.8 T: it must be 0 or more`},
		{"curve starts high", "[0 A/m, 0 T]", "[0 A/m, 0.1 T]", `8:18 value-range: point 1 of curve of material "iron" is (0 A/m, 100 mT). A curve starts at zero field with zero flux density or above both`},
		{"range upside down", "low: 0.4 V, high: 4.6 V", "low: 4.6 V, high: 0.4 V", `12:94 value-range: high of output of part "flat" is 0.4 V: it must be more than low, 4.6 V`},
		{"permeability", "conductivity: 2 MS/m", "relative-permeability: 0.9", `8:91 value-range: relative-permeability of material "iron" is 0.9: it must be 1 or more`},
		{"frequency", "frequency: 50 Hz", "frequency: -50 Hz", `14:38 value-range: frequency of duty "run" is -50 Hz: it must be from 0 to 1.00 MHz. Fields are computed up to 1 MHz`},
		{"megahertz", "frequency: 50 Hz", "frequency: 2 MHz", `14:38 value-range: frequency of duty "run" is 2 MHz: it must be from 0 to 1.00 MHz. Fields are computed up to 1 MHz`},
		{"rms without frequency", "frequency: 50 Hz, ", "", `14:42 value-form: rms of current of bar "U" in duty "run" needs a frequency and duty "run" has none. Give a frequency, or dc for a direct current`},
		{"rms at 0 Hz", "50 Hz", "0 Hz", `14:59 value-form: rms of current of bar "U" in duty "run" needs a frequency and duty "run" has 0 Hz. Give a frequency, or dc for a direct current`},
		{"two amounts", "{dc: -5 A}", "{rms: 5 A, peak: 3 A}",
			`14:87 value-form: current of bar "V" in duty "run" has rms and peak. Give one of them`},
		{"no amount", "{dc: -5 A}", "{}",
			`14:73 key-missing: current of bar "V" in duty "run" needs dc, rms or peak, or points of a period`},
		{"phase of dc", "{dc: -5 A}", "{dc: -5 A, phase: 3 deg}", `14:87 value-form: phase of current of bar "V" in duty "run" belongs to an alternating current, not to dc`},
		{"unknown bar of a current", "V: {dc", "VV: {dc", `14:73 id-unknown: a current of duty "run" names no bar: "VV". There are "U", "V"`},
		{"kind", "continuous", "continous", `14:15 value-form: kind of duty "run" must be continuous, peak or fault, not the text "continous". Did you mean "continuous"?`},
		{"kind missing", "kind: continuous, ", "", `14:3 key-missing: duty "run" needs "kind"`},
		{"return", "return: far", "return: near", `15:24 value-form: return of surroundings must be far, not the text "near"`},
		{"version", "layout: 1", "layout: 2", `1:9 value-form: layout must be 1, the version of the format that this program reads, not the number 2`},
		{"zero axis", "axis: 0 deg", "axis: [0, 0, 0]", `10:41 value-range: axis of sensor "S" is a vector without length. It has no direction`},
		{"flat axis", "axis: 0 deg", "axis: [0, 1]", `10:41 value-form: axis of sensor "S" must be an angle or a vector [x, y, z], not a list of 2`},
		{"unit in a vector", "axis: 0 deg", "axis: [0 mm, 1, 0]", `10:42 value-form: x of axis of sensor "S" must be a number without unit or quotes, not the text "0 mm"`},
		{"section of nothing", "{diameter: 8 mm}", "{}", `4:7 key-missing: section of bar "V" needs width and thickness, or diameter, or outline`},
		{"half a section", "{diameter: 8 mm}", "{width: 8 mm}", `4:7 key-missing: section of bar "V" needs "thickness"`},
		{"mixed section", "{diameter: 8 mm}", "{diameter: 8 mm, width: 8 mm}", `4:16 value-form: section of bar "V" mixes forms. Give width and thickness, or diameter, or outline`},
		{"length and run", "metal: copper", "metal: copper, length: 9 mm, run: [[0 mm, 0 mm, 0 mm], [0 mm, 0 mm, 9 mm]]", `3:96 value-form: bar "U" has length and run. A bar with bends has its length from its run`},
		{"share of the whole", "surroundings:", "needs: {S: {accuracy: 1}}\nsurroundings:", `15:23 value-range: accuracy of need of "S" is 1: it must be more than 0 and less than 1. 1 is the whole; one per cent is 1 % or 0.01`},
		{"need of nothing", "surroundings:", "needs: {T: {accuracy: 1 %}}\nsurroundings:", `15:9 id-unknown: a need names no sensor: "T". There are "S"`},
		{"bond of one", "surroundings:", "bonded: [U]\nsurroundings:", `15:9 value-form: bonded has 1 name: a bond joins two or more`},
		{"bits", "surroundings:", "readout: {converter: {bits: 12.5}}\nsurroundings:", `15:29 value-range: bits of converter of readout is 12.5: it must be a whole number`},
		{"flag", "surroundings:", "readout: {number: {signed: yes}}\nsurroundings:", `15:28 value-form: signed of number of readout must be true or false, not the text "yes"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(base, c.old) {
				t.Fatalf("base has no %q", c.old)
			}
			l, problems := Load("bad.yaml", []byte(strings.Replace(base, c.old, c.new, 1)))
			got := lines(problems)
			if l != nil || !slices.Equal(got, []string{c.want}) {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), c.want)
			}
		})
	}
}

// Texts that are no sound YAML or hold what readers disagree about: one finding
// each, at its line and column.
func TestBadText(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `1:1 file-documents: the file is empty`},
		{"comments only", "# nothing\n", `1:1 file-documents: the file holds no document, only comments or markers`},
		{"two documents", base + "---\nlayout: 1\n", `16:1 file-documents: a second document begins here`},
		{"tab", strings.Replace(base, "  U:", "\tU:", 1), `3:1 file-encoding: tab used for indentation`},
		{"line separator", strings.Replace(base, "copper}", "copper} # a\u2028b", 1), `3:85 file-encoding: separator U+2028: some readers take it for a line break, others do not`},
		{"duplicate key", strings.Replace(base, "metal: copper", "metal: copper, metal: brass", 1), `3:82 key-duplicate: key "metal" is repeated`},
		{"duplicate name", strings.Replace(base, "parts:", "  S: {reads: V, at: [1 mm, 9 mm], axis: 0 deg}\nparts:", 1), `11:3 key-duplicate: key "S" is repeated`},
		{"scalar", "layout:1\n", `1:1 key-form: expected a mapping, found the text "layout:1"`},
		{"list", "- 1\n", `1:1 value-form: the layout must be a mapping, not a list`},
		{"UTF-16", "\xff\xfel\x00", `1:1 file-encoding: the file is UTF-16 text, not UTF-8`},
		{"merge key", strings.Replace(base, "{section: {diameter", "{<<: {}, section: {diameter", 1), `4:7 key-form: merge keys (<<) are not supported`},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, problems := Load("bad.yaml", []byte(c.text))
			got := lines(problems)
			if l != nil || !slices.Equal(got, []string{c.want}) {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), c.want)
			}
		})
	}
}
