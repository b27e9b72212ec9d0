package cli

import (
	"fmt"
	"math"
	"strings"
)

// hostileLayout is a layout that asks for much, or for what no number can hold.
type hostileLayout struct {
	what string // its row
	text func() string
}

// hostileSet are layouts that somebody may write to hold up a gate or to slip through it.
var hostileSet = []hostileLayout{
	{"a bar of 2,000 corners, the most that is read", func() string { return aBar("outline: " + corners(2000, 10)) }},
	{"a bar of 10,000 corners", func() string { return aBar("outline: " + corners(10000, 10)) }},
	{"a shield of 2,000 corners", func() string { return aShield("outline: "+corners(2000, 4), softIron, 0) }},
	{"a shield of 10,000 corners", func() string { return aShield("outline: "+corners(10000, 4), softIron, 0) }},
	{"a gap of 1 pm between two bars", func() string { return twoBars("20.000000001") }},
	{"a gap of 1 pm between a bar and a sensor", func() string { return strings.Replace(aBar(flat), "6 mm]", "1.500000001 mm]", 1) }},
	{"a gap of 1 pm between a bar and a shield", func() string {
		return strings.Replace(aShield(plate, softIron, 0), "-14 mm]", "-2.500000001 mm]", 1)
	}},
	{"a slit of 1 nm in a ring of iron", func() string { return aShield("ring: {inner: 30 mm, wall: 2 mm, slit: 1e-6 mm}", softIron, 0) }},
	{"a bar 1,000,000 times as wide as thick", func() string { return aBar("width: 1 m, thickness: 1 um") }},
	{"a shield 1,000,000 times as wide as thick", func() string { return aShield("plate: {width: 1 m, thickness: 1 um}", softIron, 0) }},
	{"a bar of 10 km beside a sensor that is 1 nm away", func() string {
		return strings.Replace(aBar("width: 10 km, thickness: 3 mm"), "6 mm]", "1.500001 mm]", 1)
	}},
	{"200 bars, each with a sensor", func() string { return bars(200) }},
	{"200 bars in a series circuit", func() string {
		return strings.Replace(strings.Replace(bars(200), "B0: {dc", "all: {dc", 1), "sensors:", "circuits:\n  all: {series: {"+repeated(200, "B%d: 1")+"}}\nsensors:", 1)
	}},
	{"200 bars in parallel, their shares solved for", func() string {
		return strings.Replace(strings.Replace(bars(200), "B0: {dc", "all: {dc", 1), "sensors:", "circuits:\n  all: {parallel: ["+repeated(200, "B%d")+"]}\nsensors:", 1)
	}},
	{"40 shields of iron", func() string { return plates(40, "long") }},
	{"40 shields of iron that end", func() string { return plates(40, "12 mm") }},
	{"1,000 sums of three phases", func() string {
		return bars(3) + "phase-sums:\n" + strings.Repeat("  - {channels: [S0, S1, S2], measured: two, ripple: 1 %}\n", 1000)
	}},
	{"a curve of 100,000 points", func() string { return aShield(plate, "{curve: ["+curve(100000)+"]}", 0) }},
	{"a waveform of 2,000 points, the most that is read", func() string { return aWave(2000) }},
	{"a waveform of 100,000 points", func() string { return aWave(100000) }},
	{"relative permeability 1e9", func() string { return aShield(plate, "{relative-permeability: 1e9}", 0) }},
	{"relative permeability 1e9 in a closed ring", func() string { return aShield("ring: {inner: 30 mm, wall: 2 mm}", "{relative-permeability: 1e9}", 0) }},
	{"relative permeability 1e15", func() string { return aShield(plate, "{relative-permeability: 1e15}", 0) }},
	{"1 MHz in 100 mm of iron", func() string {
		return strings.Replace(aShield("plate: {width: 100 mm, thickness: 100 mm}", softIron, 1e6), "-14 mm]", "-60 mm]", 1)
	}},
	{"1 MHz in a bar of 100 mm", func() string { return fast(aBar("width: 100 mm, thickness: 100 mm"), 1e6) }},
	{"1 MA in 1 mm", func() string { return strings.Replace(aBar("width: 1 mm, thickness: 1 mm"), "20 A", "1 MA", 1) }},
	{"1 MA beside iron", func() string { return strings.Replace(aShield(plate, softIron, 0), "20 A", "1 MA", 1) }},
	{"1e15 A", func() string { return strings.Replace(aBar(flat), "20 A", "1e15 A", 1) }},
	{"1e-15 A", func() string { return strings.Replace(aBar(flat), "20 A", "1e-15 A", 1) }},
	{"100 cuts in a bar", func() string { return cutBars(100) }},
	{"101 cuts in a bar", func() string { return cutBars(101) }},
	{"a run of 2,000 points", func() string { return bent(2000) }},
	{"an array of 1,000 elements", func() string {
		return strings.Replace(aBar(flat), "axis: 180 deg", "axis: 180 deg, elements: ["+repeated(1000, "{at: [%d um, 0 mm], axis: 180 deg}")+"]", 1)
	}},
	{"1,000 duties, each of its own current", func() string {
		return strings.Replace(aBar(flat), oneDuty, lines(1000, "  d%[1]d: {kind: continuous, currents: {U: {dc: %[1]d A}}}\n"), 1)
	}},
	{"one current under 1,000 names of duties", func() string {
		return strings.Replace(aBar(flat), oneDuty, lines(1000, "  d%d: {kind: continuous, currents: {U: {dc: 20 A}}}\n"), 1)
	}},
	{"100 harmonics in a bar", func() string {
		return strings.Replace(fast(aBar(flat), 50), "frequency: 50 Hz", "frequency: 50 Hz, harmonics: ["+harmonics(100)+"]", 1)
	}},
	{"100 harmonics beside iron that conducts", func() string {
		return strings.Replace(aShield(plate, softIron, 50), "frequency: 50 Hz", "frequency: 50 Hz, harmonics: ["+harmonics(100)+"]", 1)
	}},
	{"a leg ten times as long by a slip", func() string {
		return strings.Replace(fixture("failing/container-short-channels.yaml")(), "leg: 12 mm", "leg: 120 mm", 1)
	}},
	{"a title of 1,000,000 characters", func() string { return "title: " + strings.Repeat("x", 1000000) + "\n" + aBar(flat) }},
	{"100,000 keys that are none", func() string { return aBar(flat) + lines(100000, "k%d: 1\n") }},
	{"lists in lists, 10,000 deep", func() string {
		return aBar(flat) + "title: " + strings.Repeat("[", 10000) + strings.Repeat("]", 10000) + "\n"
	}},
	{"aliases of aliases, 9 to the 9th in all", aliases},
}

const (
	oneDuty  = "  run: {kind: continuous, currents: {U: {dc: 20 A}}}\n"
	flat     = "width: 20 mm, thickness: 3 mm"
	plate    = "plate: {width: 40 mm, thickness: 2 mm}"
	softIron = "{relative-permeability: 2000, saturation: 1.6 T, coercivity: 10 A/m, conductivity: 5 MS/m}"
)

// aBar is a bar of a section with a sensor, direct current.
func aBar(section string) string {
	return "layout: 1\nbars:\n  U: {section: {" + section + `}, at: [0 mm, 0 mm], metal: copper}
sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 180 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 20 A}}}
surroundings: {return: far}
`
}

// fast is a layout of aBar with an alternating current.
func fast(text string, hz float64) string {
	return strings.Replace(text, "currents: {U: {dc: 20 A}}", fmt.Sprintf("frequency: %.15g Hz, currents: {U: {rms: 20 A}}", hz), 1)
}

// aShield is a bar with a long shield below it.
func aShield(form, material string, hz float64) string {
	at := "[0 mm, -14 mm]"
	if strings.HasPrefix(form, "ring") {
		at = "[0 mm, 0 mm]"
	}
	text := strings.Replace(aBar("width: 10 mm, thickness: 3 mm"), "sensors:", "shields:\n  K: {form: {"+form+"}, at: "+at+", material: iron, depth: long}\nmaterials:\n  iron: "+material+"\nsensors:", 1)
	if hz > 0 {
		return fast(text, hz)
	}
	return text
}

func twoBars(atMM string) string {
	return strings.Replace(aBar(flat), "sensors:", "  V: {section: {"+flat+"}, at: ["+atMM+" mm, 0 mm], metal: copper}\nsensors:", 1)
}

// repeated joins n texts that are made with the numbers from 0.
func repeated(n int, format string) string { return strings.Join(numbered(n, format), ", ") }

func lines(n int, format string) string { return strings.Join(numbered(n, format), "") }

func numbered(n int, format string) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf(format, i)
	}
	return out
}

// corners are those of a regular polygon about the local origin.
func corners(n int, radiusMM float64) string {
	out := make([]string, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = fmt.Sprintf("[%.9f mm, %.9f mm]", radiusMM*cos, radiusMM*sin)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func curve(n int) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("[%d A/m, %.9f T]", 10*i, 1.6*(1-math.Exp(-float64(i)/1000)))
	}
	return strings.Join(out, ", ")
}

// bars are n in a row, each with a sensor and a current.
func bars(n int) string {
	return "layout: 1\nbars:\n" + strings.ReplaceAll(lines(n, "  B%[1]d: {section: {width: 20 mm, thickness: 3 mm}, at: [%[1]d0 mm, 0 mm], turn: 90 deg, metal: copper}\n"), "[00 mm", "[0 mm") +
		"sensors:\n" + strings.ReplaceAll(lines(n, "  S%[1]d: {reads: B%[1]d, at: [%[1]d0 mm, 14 mm], axis: 180 deg, part: wren}\n"), "[00 mm", "[0 mm") +
		"parts:\n  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}\nduties:\n  run: {kind: continuous, currents: {B0: {dc: 20 A}}}\nsurroundings: {return: far}\n"
}

// plates are n of iron in a row below a bar.
func plates(n int, depth string) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("  K%d: {form: {plate: {width: 10 mm, thickness: 2 mm}}, at: [%d mm, -14 mm], material: iron, depth: %s}\n", i, 12*i, depth)
	}
	return strings.Replace(aBar(flat), "sensors:", "shields:\n"+strings.Join(out, "")+"materials:\n  iron: "+softIron+"\nsensors:", 1)
}

// aWave is a current of n points.
func aWave(n int) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("[%.9f ms, %d A]", 20*float64(i)/float64(n-1), []int{0, 7, -5}[i%3]*min(i, 1)*min(n-1-i, 1))
	}
	return strings.Replace(aBar("diameter: 2 mm"), "currents: {U: {dc: 20 A}}", "period: 20 ms, currents: {U: {points: ["+strings.Join(out, ", ")+"]}}", 1)
}

func cutBars(n int) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("{hole: {along: %d mm, diameter: 3 mm}}", 6*i-3*n)
	}
	return strings.Replace(aBar(flat), "metal: copper", "metal: copper, length: 1 m, cuts: ["+strings.Join(out, ", ")+"]", 1)
}

// bent is a bar with n points of its run, a staircase behind the piece that passes the section.
func bent(n int) string {
	out := []string{"[0 mm, 0 mm, -100 mm]"}
	for i := range n - 1 {
		out = append(out, fmt.Sprintf("[%d mm, 0 mm, %d mm]", 40*(i/2), 100+40*((i+1)/2)))
	}
	return strings.Replace(aBar(flat), "metal: copper", "metal: copper, run: ["+strings.Join(out, ", ")+"]", 1)
}

func harmonics(n int) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("{order: %d, share: 0.1 %%}", i+2)
	}
	return strings.Join(out, ", ")
}

func aliases() string {
	text := aBar(flat) + "a: &a [x, x, x, x, x, x, x, x, x]\n"
	for c := 'b'; c <= 'i'; c++ {
		text += fmt.Sprintf("%c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c, ", c-1), 9), ", "))
	}
	return text
}
