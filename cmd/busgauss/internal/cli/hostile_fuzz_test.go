package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// mutated returns a text with up to eight of its numbers changed: three bytes say which and how.
func mutated(t *testing.T, text string, changes []byte) string {
	for k := 0; k+2 < len(changes) && k < 24; k += 3 {
		numbers := numbersOf(text)
		if len(numbers) == 0 {
			break
		}
		n := &numbers[(int(changes[k])<<8|int(changes[k+1]))%len(numbers)]
		text = n.put(t, text, n.hostile(int(changes[k+2])))
	}
	return text
}

// FuzzCheckNumbers changes numbers of bare layouts to hostile ones and checks them whole: see verdictsOf.unsound.
func FuzzCheckNumbers(f *testing.F) {
	texts := []string{oneChannel, manyCurrents, inSpace, around, pairOfBars, wanting}
	for which := range texts {
		for k := range byte(6) {
			f.Add(uint8(which), []byte{0, 7 * k, k, 0, 31 * k, 3 + k})
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, changes []byte) {
		judgeTwice(t, mutated(t, texts[int(which)%len(texts)], changes))
	})
}

// pairOfBars is a small layout with a reading that was measured.
const pairOfBars = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 30 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, -6 mm], axis: 0 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  run: {kind: continuous, currents: {A: {dc: 200 A}, B: {dc: -200 A}}}
measurements:
  - {date: 2026-05-04, instrument: shunt, duty: run, readings: {S: 1.4 mT}, uncertainty: 0.4 %}
  - {date: 2026-05-05, current: 100 A, readings: {S: 2.55 V}}
`

// oneChannel is a bar and a sensor with all that a channel may have.
const oneChannel = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 60 °C}
sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 180 deg, part: flat, placement: {x: 0.2 mm, y: 0.3 mm, tilt: 2 deg}}
parts:
  flat:
    linear-range: {low: -20 mT, high: 35 mT}
    sensitivity: {set: 60 mV/mT, from: 40 mV/mT, to: 80 mV/mT, tolerance: 1 %, drift: 150 ppm/K, life: 0.02}
    output: {zero: 2.5 V, low: 0.4 V, high: 4.6 V, ratiometric: true, supply: 5 V, supply-tolerance: 3 %}
    offset: {initial: 8 mV, drift: 0.05 mV/K, life: 3 mV}
    noise: {rms: 0.9 mV, density: 2 uV/rtHz}
    bandwidth: {corner: 200 kHz, order: 2, shape: equal-poles}
    delay: 2 us
    temperature: {from: -40 °C, to: 125 °C}
readout:
  converter: {low: 0 V, high: 3.3 V, bits: 12, tolerance: 0.5 %, ratiometric: false}
  divider: {top: 4.7 kohm, bottom: 10 kohm, tolerance: 0.1 %}
  filter: {corner: 20 kHz, order: 3, shape: butterworth, tolerance: 5 %}
  sampling: {rate: 16 kHz, delay: 5 us, aperture: 0.5 us}
  firmware: {slope: 0.32 A, zero: 2048.5}
duties:
  run: {kind: continuous, currents: {U: {dc: 200 A}}}
surroundings: {return: far}
needs:
  S: {accuracy: 2 %, smallest-current: 2 A, bandwidth: 20 kHz, trip: {current: 900 A, within: 20 us, by: filter, switching: 2 us, supply: 450 V, inductance: 50 uH}}
calibration:
  S: {kind: two-point, conductor: bar, current: 40 A, temperature: 30 °C, tolerance: 0.2 %}
`

// around is a bar with what may stand around it.
const around = `layout: 1
bars:
  A: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], turn: 30 deg, metal: bronze, placement: {x: 0.1 mm, y: 0.1 mm}}
  B: {section: {outline: [[0 mm, 0 mm], [10 mm, 0 mm], [0 mm, 10 mm]]}, at: [40 mm, 0 mm], metal: brass}
materials:
  bronze: {conductivity: 9 MS/m, temperature-coefficient: 0.4 %/K}
sensors:
  S: {reads: A, at: [0 mm, 8 mm], axis: [-1, 0, 0], part: tall, pair: {spacing: 2.5 mm, along: 90 deg}}
parts:
  tall: {linear-range: 50 G, sensitivity: -20 mV/G, offset: -1 mV, noise: 1 mV, body: {width: 5 mm, height: 1.5 mm, element-height: 0.4 mm}}
duties:
  run: {kind: continuous, currents: {A: {dc: 20 A}, B: {dc: -20 A}}}
surroundings:
  uniform: {flux-density: 0.05 mT, direction: 45 deg}
  wires: {rail: {at: [0 mm, 900 mm], dc: -15 A}}
  magnets: {brake: {form: {disc: {diameter: 30 mm, thickness: 8 mm}}, at: [300 mm, 0 mm], magnetised: 90 deg, remanence: 1.2 T}}
  clear: 3 m
insulation:
  - {between: [A, B], kind: reinforced, working: {dc: 800 V}, category: 3, impulse: 6 kV, pollution-degree: 3, material-group: II, altitude: 3500 m, clearance: 9 mm}
`

// FuzzCheckText checks any text whole, where it is a small bare layout.
func FuzzCheckText(f *testing.F) {
	for _, name := range []string{"examples/pair.json", "failing/laminated-pair.yaml", "standard/layouts/trial-pump.yaml"} {
		text, err := fixtures.FS.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add(pairOfBars)
	f.Add("layout: 1\nbars: {U: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}}\nsensors: {S: {reads: U, at: [0 mm, 9 mm], axis: 180 deg}}\n")
	f.Add("layout: 1\nbars: {U: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}}\nduties: {d: {kind: peak, currents: {U: {dc: 1 A}}}}\n")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 3000 {
			return
		}
		judgeTwice(t, text)
	})
}

// wanting is a small layout in which much fails that a change could mend.
const wanting = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [30 mm, 0 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, '6 mm'], axis: 178 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
parts:
  wren: {linear-range: 3 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {A: {dc: 200 A}, B: {dc: -200 A}}}
`

// ofOffers are rules that offer much and take little.
var ofOffers = []string{"geometry", "range-use", "stray-ratio"}

// FuzzOffers changes numbers of a layout that fails and carries out each change that a finding offers: the text loads, is another one, and
// keeps every byte that the change does not name.
func FuzzOffers(f *testing.F) {
	texts := []string{wanting, pairOfBars}
	few := slices.DeleteFunc(rules.All(), func(r engine.Rule) bool { return !slices.Contains(ofOffers, r.ID) })
	for k := range byte(8) {
		f.Add(uint8(k), []byte{0, 3 * k, 13 + k%3, 0, 9 * k, 4})
	}
	f.Fuzz(func(t *testing.T, which uint8, changes []byte) {
		text := mutated(t, texts[int(which)%len(texts)], changes[:min(len(changes), 6)])
		l, problems := load.Load("layout.yaml", []byte(text))
		if l == nil {
			carryOut(t, text, problems)
			return
		}
		if tooHeavy(l) {
			return
		}
		j := judgeText(t, text, few, engine.Options{})
		for _, what := range j.unsound(text) {
			t.Errorf("%s\nof\n%s", what, text)
		}
		carryOut(t, text, j.said)
	})
}

// carryOut carries out each change that findings of a text offer, each alone.
func carryOut(t *testing.T, text string, found []finding.Finding) {
	t.Helper()
	before, _ := load.Load("layout.yaml", []byte(text))
	for i := range found {
		for _, c := range found[i].Changes {
			after, err := edit.Apply(text, c.Edits)
			if err != nil || after == text {
				t.Fatalf("%s: %q changes nothing, %v\n%s", found[i].Name(), c.Title, err, text)
			}
			kept := 0
			for _, e := range c.Edits {
				kept -= len(edit.Text(text, e.Span)) - len(e.Text)
			}
			if len(after) != len(text)+kept {
				t.Fatalf("%s: %q makes %d bytes of %d", found[i].Name(), c.Title, len(after), len(text))
			}
			if l, problems := load.Load("layout.yaml", []byte(after)); before != nil && l == nil {
				t.Fatalf("%s: %q ends in %s\n%s", found[i].Name(), c.Title, problems[0].Message, after)
			}
		}
	}
}

// FuzzField asks for the fields and the coupling of bare layouts with hostile numbers: an answer that is JSON, and text without a
// number that is none, or a word on why there is none.
func FuzzField(f *testing.F) {
	texts := []string{pairOfBars, inSpace, manyCurrents, bare(0)}
	for k := range byte(8) {
		f.Add(uint8(k), []byte{0, 5 * k, 3 * k})
	}
	f.Fuzz(func(t *testing.T, which uint8, changes []byte) {
		text := mutated(t, texts[int(which)%len(texts)], changes)
		l, _ := load.Load("layout.yaml", []byte(text))
		if l == nil {
			return
		}
		if tooHeavy(l) {
			return
		}
		for _, command := range [][]string{{"field", "-"}, {"field", "--format", "json", "-"}, {"coupling", "-"}, {"coupling", "--format", "json", "-"}} {
			got := callStdin(text, command...)
			switch {
			case got.status != 0 && got.err == "", got.status == 0 && got.out == "", got.status > statusTrouble:
				t.Errorf("%q: %+v", command, got)
			case got.status == 0 && len(command) > 2 && !json.Valid([]byte(got.out)):
				t.Errorf("%q is no JSON: %s", command, got.out)
			}
			for _, word := range notNumbers {
				if strings.Contains(got.out+got.err, word) {
					t.Errorf("%q says %q:\n%s%s", command, word, got.out, got.err)
				}
			}
		}
		if t.Failed() {
			t.Logf("of\n%s", text)
		}
	})
}

// callStdin runs the command with a text on standard input.
func callStdin(text string, args ...string) said {
	var out, errs bytes.Buffer
	status := run(context.Background(), args, Streams{In: strings.NewReader(text), Out: &out, Err: &errs, Env: func(string) string { return "" }, Dir: "/"})
	return said{status, out.String(), errs.String()}
}
