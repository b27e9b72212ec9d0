package rules_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/si"
	"busgauss/rules"
)

// channelBar is the bar of smallBar with a part of so many volts per ampere, 2.5 V
// zero and a swing that ends nowhere near, and with the readout given. The volts per tesla follow from
// the closed form of the field.
func channelBar(voltsPerA float64, part, readout, rest string) string {
	return fmt.Sprintf(`layout: 1
bars: {A: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, 4.5 mm], axis: 180 deg, part: plover}}
parts:
  plover: {linear-range: 50 mT, sensitivity: {set: %.9g mV/mT}, output: {zero: 2.5 V, low: -1 V, high: 5 V}%s}
`, voltsPerA/smallBarT(2.5), part) + "readout: {" + readout + "}\n" + rest
}

// of returns the finding of a cause on an object.
func of(t testing.TB, found []finding.Finding, object, cause string) finding.Finding {
	t.Helper()
	var out []finding.Finding
	for _, f := range found {
		if f.Object == object && f.Cause == cause {
			out = append(out, f)
		}
	}
	if len(out) != 1 {
		t.Fatalf("%d findings on %q of %q, want 1:\n%s", len(out), object, cause, printed(found))
	}
	return out[0]
}

const threeVolts = "converter: {low: 0 V, high: 3.3 V, bits: 12}"

// earthA is what the Earth's field adds to the reading of channelBar, A.
var earthA = earthT / smallBarT(2.5)

func amps(kind string, a float64) string {
	return fmt.Sprintf("duties: {d: {kind: %s, currents: {A: {dc: %g A}}}}\n", kind, a)
}

// A zero of 2.5 V into 3.3 V: (3.3 − 2.5)/0.066 = +12.1 A and −2.5/0.066 = −37.9 A; at 40
// mV/A 0.8/0.04 = +20 A and −62.5 A (common practice; the arithmetic is all there is).
func TestOutputChainClipsAtTheConverter(t *testing.T) {
	for _, c := range []struct{ voltsPerA, positiveA, negativeA float64 }{
		{66e-3, 0.8 / 66e-3, 2.5 / 66e-3},
		{40e-3, 0.8 / 40e-3, 2.5 / 40e-3},
	} {
		f := of(t, check(t, rules.OutputChain, channelBar(c.voltsPerA, "", threeVolts, amps("peak", 9))), "S",
			`peak duty "d"`)
		measured(t, f, finding.Pass, (9+earthA)/c.positiveA, 3e-4)
		f = of(t, check(t, rules.OutputChain, channelBar(c.voltsPerA, "", threeVolts, amps("fault", -30))), "S", `fault duty "d"`)
		measured(t, f, finding.Pass, (30+earthA)/c.negativeA, 3e-4)
		f = of(t, check(t, rules.OutputChain, channelBar(c.voltsPerA, "", threeVolts, amps("peak", 25))), "S", `peak duty "d"`)
		measured(t, f, finding.Fail, (25+earthA)/c.positiveA, 3e-4)
	}
	f := of(t, check(t, rules.OutputChain, channelBar(66e-3, "", threeVolts, amps("peak", 9))), "S", `peak duty "d"`)
	if !strings.Contains(f.Message, "It clips at +12.1 A in the converter. It clips at -37.9 A in the converter") {
		t.Error(f.Message)
	}
	f = of(t, check(t, rules.OutputChain, channelBar(40e-3, "", threeVolts, amps("peak", 9))), "S", `peak duty "d"`)
	if !strings.Contains(f.Message, "at +20.0 A in the converter. It clips at -62.5 A in the converter") {
		t.Error(f.Message)
	}
}

// 66 mV/A through 10 kΩ over 22 kΩ into 3.3 V: 45.375 mV/A, 3.3/0.045375 = 72.7 A from end
// to end over 4096 counts. A constant of 69.7 A is 4.2 % low.
func TestOutputChainDeclaredConstant(t *testing.T) {
	divided := threeVolts + ", divider: {top: 10 kohm, bottom: 22 kohm}, firmware: {slope: %.9g mA, zero: %.9g}"
	yaml := func(fullA, zero float64) string {
		return channelBar(66e-3, "", fmt.Sprintf(divided, fullA/4096*1e3, zero), amps("continuous", 30))
	}
	right := 2.5 * 0.6875 / 3.3 * 4096
	f := of(t, check(t, rules.OutputChain, yaml(69.7, right)), "S", "firmware")
	measured(t, f, finding.Fail, 1-69.7/72.7272727, 1e-2)
	if !strings.Contains(f.Message, "Every reading is 4.16 % low. That is 1.25 A at 30.0 A") {
		t.Error(f.Message)
	}
	found := check(t, rules.OutputChain, yaml(72.7272727, right))
	for _, cause := range []string{"firmware", "firmware zero", `continuous duty "d"`} {
		if f := of(t, found, "S", cause); f.Verdict != finding.Pass {
			t.Errorf("%s: %v %s", cause, f.Verdict, f.Message)
		}
	}
	// Half of 4096 in place of 2133.33: 85.33 counts, 1.515 A of 30 A.
	f = of(t, check(t, rules.OutputChain, yaml(72.7272727, 2048)), "S", "firmware zero")
	measured(t, f, finding.Fail, 85.3333*72.7272727/4096/30, 2e-3)
	// A zero that is taken without current puts that right, and no finding is left.
	for _, f := range check(t, rules.OutputChain, yaml(72.7272727, 2048)+"calibration: {S: {kind: zero}}\n") {
		if f.Cause == "firmware zero" {
			t.Error(f.Message)
		}
	}
	// So does a zero that the controller takes, if its window reaches as far as 1.515 A.
	for window, want := range map[string]int{"1.6 A": 0, "1.4 A": 1} {
		windowed := strings.Replace(yaml(72.7272727, 2048), "firmware:", "zeroing: {window: "+window+"}, firmware:", 1)
		count := 0
		for _, f := range check(t, rules.OutputChain, windowed) {
			if f.Cause == "firmware zero" {
				count++
			}
		}
		if count != want {
			t.Errorf("window of %s: %d findings on the zero, want %d", window, count, want)
		}
	}
	// A calibration with current accounts for the tolerances of what is built in.
	built := strings.Replace(yaml(69.7, right), "sensitivity: {set", "sensitivity: {tolerance: 4 %, set", 1)
	if f := of(t, check(t, rules.OutputChain, built), "S", "firmware"); f.Verdict != finding.Fail {
		t.Errorf("not calibrated: %v %s", f.Verdict, f.Message)
	}
	built += "calibration: {S: {kind: one-point, conductor: bar, current: 30 A, tolerance: 0.2 %}}\n"
	if f := of(t, check(t, rules.OutputChain, built), "S", "firmware"); f.Verdict != finding.Pass {
		t.Errorf("calibrated: %v %s", f.Verdict, f.Message)
	}
}

// Sensitivity, zero and divider of 2, 2 and 1 %: the corner of all of them.
func TestOutputChainAtWorstTolerances(t *testing.T) {
	yaml := strings.Replace(channelBar(66e-3, ", offset: 50 mV", threeVolts, amps("peak", 8)), "{set",
		"{tolerance: 2 %, set", 1)
	f := of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	measured(t, f, finding.Pass, (8+earthA)*0.066*1.02/(3.3-2.55), 3e-4)
	if !strings.Contains(f.Message, "+12.1 A in the converter, +11.1 A with tolerances at their worst") {
		t.Error(f.Message)
	}
}

// Each stage can be the first to clip.
func TestOutputChainNamesTheStage(t *testing.T) {
	const all = "amplifier: {gain: 0.5, low: %s, high: %s}, converter: {low: 0 V, high: 3.3 V, bits: 12}, number: {signed: true, width: %d, per-count: 100 mA}"
	for _, c := range []struct{ stage, readout, from, to string }{
		{"element", fmt.Sprintf(all, "0 V", "5 V", 16), "linear-range: 50 mT", "linear-range: 0.5 mT"}, // 18.1 A
		{"output", fmt.Sprintf(all, "0 V", "5 V", 16), "high: 5 V}", "high: 3.5 V}"},
		{"amplifier", fmt.Sprintf(all, "1 V", "1.6 V", 16), "", ""},
		{"converter", strings.Replace(fmt.Sprintf(all, "0 V", "5 V", 16), "3.3 V", "1.7 V", 1), "", ""},
		{"number", fmt.Sprintf(all, "0 V", "5 V", 8), "", ""}, // 12.7 A
	} {
		yaml := strings.Replace(channelBar(66e-3, "", c.readout, amps("peak", 20)), c.from, c.to, 1)
		f := of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
		if f.Verdict != finding.Fail || !strings.Contains(f.Message, " A in the "+c.stage) || f.Remedy == "" {
			t.Errorf("%s: %v %s\n  %s", c.stage, f.Verdict, f.Message, f.Remedy)
		}
	}
}

// A zero outside the converter, and a number that knows no negative current.
func TestOutputChainZeroOutside(t *testing.T) {
	found := check(t, rules.OutputChain, channelBar(66e-3, "", "converter: {low: 0 V, high: 2.4 V, bits: 12}", amps("peak", 5)))
	f := one(t, found, "S")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, "S: its converter stands at 2.50 V without current, outside its range from 0 V to 2.40 V") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	unsigned := threeVolts + ", number: {signed: false, width: 12, per-count: 10 mA}"
	f = one(t, check(t, rules.OutputChain, channelBar(66e-3, "", unsigned, amps("peak", -5))), "S")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, "nothing is left of its range in one direction") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	if f := one(t, check(t, rules.OutputChain, channelBar(66e-3, "", unsigned, amps("peak", 5))), "S"); f.Verdict != finding.Pass {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// What is not known is named with its key; what fails already is said all the same.
func TestOutputChainNamesTheMissingKey(t *testing.T) {
	const duty = "duties: {d: {kind: peak, currents: {A: {dc: 9 A}}}}\n"
	for _, c := range []struct{ from, to, key string }{
		{"high: 3.3 V, ", "", "add readout.converter.high"},
		{threeVolts, "filter: {corner: 1 kHz}", "add readout.converter)"},
		{"zero: 2.5 V, ", "", "add parts.plover.output.zero"},
		{", high: 5 V}", "}", "add parts.plover.output.high"},
		{", part: plover", "", "add sensors.S.part"},
		{"{low: 0 V, high: 3.3 V, bits: 12}", "{low: 0 V, high: 3.3 V, bits: 12}, number: {width: 8}", "add readout.number.per-count"},
	} {
		yaml := strings.Replace(channelBar(66e-3, "", threeVolts, duty), c.from, c.to, 1)
		f := one(t, check(t, rules.OutputChain, yaml), "S")
		if f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.key) {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
	}
	// 100 A clip the known converter whatever the number does.
	yaml := channelBar(66e-3, "", threeVolts+", number: {width: 8}", amps("peak", 100))
	if f := one(t, check(t, rules.OutputChain, yaml), "S"); f.Verdict != finding.Fail {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	// Nothing behind the element: the rule does not ask.
	if f := one(t, check(t, rules.OutputChain, smallBar(2.5, duty)), "S"); f.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

var (
	programmed = regexp.MustCompile(`(?:program|a part with) a sensitivity of ([\d.]+) mV/mT`)
	newDivider = regexp.MustCompile(`a divider of ([\d.]+ k?Ω) over ([\d.]+ k?Ω)`)
	newGain    = regexp.MustCompile(`a gain of the amplifier of ([\d.]+)`)
	newStep    = regexp.MustCompile(`a number of ([\d.]+ m?A) per count`)
	newSlope   = regexp.MustCompile(`firmware slope of ([\d.]+ [um]?A) per count`)
	newZero    = regexp.MustCompile(`firmware zero of ([\d.]+)`)
)

// Each way out of a remedy, done as printed, passes.
func TestOutputChainRemediesPass(t *testing.T) {
	tolerant := func(y string) string {
		return strings.NewReplacer("{set", "{tolerance: 1.5 %, from: 100 mV/mT, to: 4000 mV/mT, set", "at: [0 mm, 4.5 mm]", "at: [0 mm, 4.5 mm], placement: {x: 0.1 mm, y: 0.1 mm, tilt: 1 deg}").Replace(y)
	}
	yaml := tolerant(channelBar(66e-3, ", offset: 20 mV", threeVolts+", firmware: {slope: 12.2 mA, zero: 3103}", amps("peak", 20)))
	f := of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	if f.Verdict != finding.Fail {
		t.Fatal(f.Message)
	}
	passes := func(what, edited string) {
		t.Helper()
		for _, g := range check(t, rules.OutputChain, edited) {
			if g.Verdict != finding.Pass {
				t.Errorf("%s: %v %s\n%s", what, g.Verdict, g.Message, f.Remedy)
			}
		}
	}
	ways := strings.Split(f.Remedy, "; or ")
	pick := func(re *regexp.Regexp, text string) []string {
		t.Helper()
		m := re.FindStringSubmatch(text)
		if m == nil {
			t.Fatalf("%v is not in %q", re, text)
		}
		return m
	}
	replace := func(y, pattern, with string) string {
		return regexp.MustCompile(pattern).ReplaceAllString(y, with)
	}
	firmware := func(y, text string) string {
		y = replace(y, `slope: [\d.]+ mA`, "slope: "+pick(newSlope, text)[1])
		return replace(y, `zero: 3103`, "zero: "+pick(newZero, text)[1])
	}
	passes("sensitivity", firmware(replace(yaml, `set: [\d.]+ mV/mT`, "set: "+pick(programmed, ways[0])[1]+" mV/mT"), ways[0]))
	m := pick(newDivider, ways[1])
	passes("divider", firmware(strings.Replace(yaml, threeVolts, threeVolts+", divider: {top: "+m[1]+", bottom: "+m[2]+"}", 1), ways[1]))

	yaml = channelBar(66e-3, "", "amplifier: {gain: 0.6, low: 0 V, high: 3.3 V}, converter: {low: 0 V, high: 3.3 V, bits: 12}", amps("peak", 60))
	yaml = strings.Replace(yaml, "high: 5 V", "high: 9 V", 1)
	f = of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	passes("gain", strings.Replace(yaml, "gain: 0.6", "gain: "+pick(newGain, f.Remedy)[1], 1))

	yaml = channelBar(10e-3, "", threeVolts+", number: {signed: true, width: 8, per-count: 100 mA}", amps("peak", 30))
	f = of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	passes("number", strings.Replace(yaml, "per-count: 100 mA", "per-count: "+pick(newStep, f.Remedy)[1], 1))

	yaml = strings.Replace(channelBar(10e-3, "", threeVolts, amps("peak", 60)), "50 mT", "1 mT", 1)
	f = of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
	passes("part", strings.Replace(yaml, "1 mT", pick(newPart, f.Remedy)[1]+" mT", 1))

	f = of(t, check(t, rules.OutputChain, channelBar(66e-3, "", threeVolts+", firmware: {slope: 10 mA}",
		amps("peak", 9))), "S", "firmware")
	passes("slope", channelBar(66e-3, "", threeVolts+", firmware: {slope: "+pick(newSlope, f.Remedy)[1]+"}",
		amps("peak", 9)))
}

// Harmonics keep their phase: cos x + cos 3x/9 turned by 180° peaks at less than the
// sum of both amplitudes. For cos x − cos(3x)/9: the derivative −sin x + sin(3x)/3 =
// −(4/3) sin³x is zero at x = 0 only, the peak there is 1 − 1/9.
func TestOutputChainReadsTheWaveform(t *testing.T) {
	duty := "duties: {d: {kind: peak, frequency: 50 Hz, currents: {A: {peak: 9 A}}, harmonics: [{order: 3, peak: 1 A, phase: 180 deg}], ripple: {frequency: 10 kHz, peak: 0.5 A}}}\n"
	f := one(t, check(t, rules.OutputChain, channelBar(66e-3, "", threeVolts, duty)), "S")
	measured(t, f, finding.Pass, (8+0.5+earthA)/(0.8/66e-3), 3e-4)
	if math.Abs(f.Measure.Value*0.8/66e-3-8.5-earthA) > 0.01 {
		t.Error(f.Message)
	}
}

// What other bars add fills every stage: 600 A in a bar 30 mm beside it, by the closed form of a rectangular
// bar, on top of 10 A of its own and the Earth's field. Where the other bar holds the own field down, nothing is
// counted upon: it may be off.
func TestOutputChainCountsOtherBars(t *testing.T) {
	besideT := -closedform.RectangleB(geom.Point{X: -30e-3, Y: 4.5e-3}, 15e-3, 4e-3, 600).X
	if besideT <= 0 {
		t.Fatal(besideT)
	}
	for duty, wantA := range map[string]float64{
		"B: {dc: 600 A}":  10 + besideT/smallBarT(2.5) + earthA,
		"B: {dc: -600 A}": 10 + earthA,
	} {
		yaml := strings.NewReplacer("bars: {A:",
			"bars: {B: {section: {width: 15 mm, thickness: 4 mm}, at: [30 mm, 0 mm], metal: copper}, A:",
			"A: {dc: 10 A}", "A: {dc: 10 A}, "+duty).Replace(
			channelBar(10e-3, "", threeVolts, amps("peak", 10)))
		f := of(t, check(t, rules.OutputChain, yaml), "S", `peak duty "d"`)
		measured(t, f, finding.Pass, wantA/80, 1e-3)
		if !strings.Contains(f.Message, "needs +10.0 A (+"+si.Format(wantA,
			"A")+" with other bars and foreign fields)") {
			t.Error(f.Message)
		}
	}
}
