package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/edit"
	"busgauss/model/finding"
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
	texts := []string{manyKeys, manyCurrents, inSpace, bare(0), pairOfBars, wanting}
	for which := range texts {
		for k := range byte(6) {
			f.Add(uint8(which), []byte{0, 7 * k, k, 0, 31 * k, 3 + k})
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, changes []byte) {
		judgeTwice(t, mutated(t, texts[int(which)%len(texts)], changes), 1)
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
		judgeTwice(t, text, 1)
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

// FuzzOffers changes numbers of a layout that fails and carries out each change that a finding offers: the text loads, is another one, and
// keeps every byte that the change does not name.
func FuzzOffers(f *testing.F) {
	texts := []string{wanting, pairOfBars}
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
		if cost, _ := weight(l); cost > 1 {
			return
		}
		j := judgeText(t, text, engine.Options{})
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
		if cost, pairs := weight(l); cost > 1 || pairs > 24 {
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
