package cli

import (
	"testing"

	"busgauss/fixtures"
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
	texts := []string{manyKeys, manyCurrents, inSpace, bare(0), pairOfBars}
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
