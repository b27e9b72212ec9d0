package rules_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// tripBar is a channel of 2.3 mV/A whose trip looks at the output of a part that is
// late by 1 us, with a switch that takes 2 us: 3 us in all. Its output ends at 2.5 V/2.3 mV/A
// = 1087 A, at the worst of 2 % of gain 1066 A. The Earth's field adds earthA = 2.35 A to the error.
func tripBar(trip, rest string) string {
	return strings.Replace(channelBar(2.3e-3, tripDrift+", noise: 0 V, bandwidth: 900 GHz, delay: 1 us", threeVolts,
		amps("peak", 200)), "{set", tripGain, 1) +
		"needs: {S: {trip: {current: 300 A, within: 5 us, by: output, switching: 2 us, supply: 450 V, inductance: 50 uH" + trip + "}}}\n" + rest
}

const (
	tripGain  = "{tolerance: 2 %, drift: 0 ppm/K, life: 0 %, set"
	tripDrift = ", offset: {initial: 0 V, drift: 0 V/K, life: 0 V}, hysteresis: 0 uT, non-linearity: 0 %, temperature: {from: -40 °C, to: 125 °C}"
)

// 300 A at 2.3 mV/A: 0.69 V. 450 V on 50 uH for 3 us: 27 A (v = L di/dt). With 2 % of 300 A and the Earth's field the
// channel must reach 335 A.
func TestTripThresholdAndOvershoot(t *testing.T) {
	found := check(t, rules.Trip, tripBar("", ""))
	f := of(t, found, "S", "range")
	measured(t, f, finding.Pass, (300+27+6+earthA)*1.02/(2.5/2.3e-3), 3e-4)
	for _, word := range []string{"stands at 3.19 V at the output, 690 mV above its zero.", "9.00 A per microsecond",
		"3.00 µs, by 27.0 A. Of the delay: delay 1.00 µs, switching 2.00 µs", "must reach 335 A",
		"output ends at 1.07 kA with tolerances at their worst"} {
		if !strings.Contains(f.Message, word) {
			t.Errorf("%q is not in %s", word, f.Message)
		}
	}
	measured(t, of(t, found, "S", "within"), finding.Pass, 3e-6, 1e-4)
	measured(t, of(t, found, "S", "normal use"), finding.Pass, (200+6+earthA)/300.0, 3e-4)

	// A swing that ends at 760 mV above zero holds 330 A: the trip, not what comes after it.
	yaml := strings.Replace(tripBar("", ""), "high: 5 V", "high: 3.26 V", 1)
	measured(t, of(t, check(t, rules.Trip, yaml), "S", "range"), finding.Fail, (333+earthA)*1.02/(0.76/2.3e-3), 3e-4)
}

// A trip within less than the chain takes can never be met.
func TestTripContradiction(t *testing.T) {
	yaml := strings.Replace(tripBar("", ""), "within: 5 us", "within: 2.9 us", 1)
	f := of(t, check(t, rules.Trip, yaml), "S", "within")
	measured(t, f, finding.Fail, 3e-6, 1e-4)
	if !strings.Contains(f.Message, "contradiction") || !strings.Contains(f.Remedy, "a time of 3.01 µs") && !strings.Contains(f.Remedy, "a time of 3.00 µs") {
		t.Errorf("%s\n%s", f.Message, f.Remedy)
	}
	// By number a whole sampling period and the time to the number come on top: 3 + 50 + 4 us.
	yaml = strings.NewReplacer("by: output", "by: number", "readout: {", "readout: {sampling: {rate: 20 kHz, delay: 4 us}, ").Replace(tripBar("", ""))
	f = of(t, check(t, rules.Trip, yaml), "S", "within")
	measured(t, f, finding.Fail, 57e-6, 1e-4)
	if !strings.Contains(f.Remedy, "a comparator behind the filter") {
		t.Error(f.Remedy)
	}
	// What is known is too long already: the rest does not matter.
	yaml = strings.NewReplacer(", delay: 1 us", "", "switching: 2 us", "switching: 6 us").Replace(tripBar("", ""))
	if f := of(t, check(t, rules.Trip, yaml), "S", "within"); f.Verdict != finding.Fail || !strings.Contains(f.Message, "6.00 µs at least") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// Peak, ripple, stray, six times the noise and the error against the trip. 200 A + 40 A of
// ripple + 6 · 2.3 mV/2.3 mV/A + 2 % of 300 A = 252 A.
func TestTripAboveNormalUse(t *testing.T) {
	yaml := strings.NewReplacer("noise: 0 V", "noise: 2.3 mV", "currents: {A: {dc: 200 A}}", "currents: {A: {dc: 200 A}}, ripple: {frequency: 100 Hz, peak: 40 A}",
		"metal: copper", "metal: dull").Replace(tripBar("", "materials: {dull: {conductivity: 1 S/m}}\n"))
	measured(t, of(t, check(t, rules.Trip, yaml), "S", "normal use"), finding.Pass, (252+earthA)/300, 1e-3)
	f := of(t, check(t, rules.Trip, strings.Replace(yaml, "dc: 200 A", "dc: 260 A", 1)), "S", "normal use")
	measured(t, f, finding.Fail, (312+earthA)/300, 1e-3)
	for _, word := range []string{"peak 260 A", "ripple 40.0 A", "noise 6.00 A", "error 8.35 A"} {
		if !strings.Contains(f.Message, word) {
			t.Errorf("%q is not in %s", word, f.Message)
		}
	}
}

// The other bar, 60 mm away, comes near the trip of an idle one: a filament stands for a bar
// of 15 mm to (15/60)²/4 or so, B = μ0 I/2πr (J. D. Jackson, Classical
// Electrodynamics, 3rd ed., section 5.2).
func TestTripSeesTheOtherBar(t *testing.T) {
	yaml := strings.NewReplacer("bars: {A:", "bars: {B: {section: {width: 15 mm, thickness: 4 mm}, at: [60 mm, 0 mm], metal: copper}, A:",
		"currents: {A: {dc: 200 A}}", "currents: {B: {dc: 8 kA}}").Replace(tripBar("", ""))
	f := of(t, check(t, rules.Trip, yaml), "S", "normal use")
	// On the axis (x): μ0 I h/(2π r²), h = 4.5 mm, r² = 60² + 4.5² mm².
	want := (2e-7*8000*4.5e-3/(60e-3*60e-3+4.5e-3*4.5e-3)/smallBarT(2.5) + 6 + earthA) / 300
	measured(t, f, finding.Pass, want, 0.02)
}

// Errors of the channel at their worst stand in where no accuracy is asked, and what is
// not known of them leaves the trip open.
func TestTripErrorOfTheChannel(t *testing.T) {
	open := strings.NewReplacer(tripGain, "{set", tripDrift, "").Replace(tripBar("", ""))
	f := of(t, check(t, rules.Trip, open), "S", "range")
	if f.Verdict != finding.Undecided || !strings.Contains(f.Message, "add parts.plover.sensitivity.drift, ") || !strings.Contains(f.Message, ", parts.plover.hysteresis,") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	// 1 % of gain, 1 % over 100 K, 11.5 mV of offset (5 A), 27.7 uT of hysteresis (1 A): 12 A,
	// and 2.3 A of the Earth's field.
	full := strings.NewReplacer("{set", "{tolerance: 1 %, drift: 100 ppm/K, life: 0 %, set", "noise: 0 V",
		fmt.Sprintf("offset: {initial: 11.5 mV, drift: 0 V/K, life: 0 V}, hysteresis: %.6g uT, non-linearity: 0 %%, temperature: {from: -40 °C, to: 125 °C}, noise: 0 V", smallBarT(2.5)*1e6)).Replace(open)
	f = of(t, check(t, rules.Trip, full), "S", "range")
	if f.Verdict != finding.Pass || !strings.Contains(f.Message, "error of the channel is 14.3 A.") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	// A tolerance that is not given is not one of nothing, unless a calibration takes it out.
	for key, given := range map[string]string{"sensitivity.tolerance": "tolerance: 1 %, ", "offset.initial": "initial: 11.5 mV, "} {
		for _, cause := range []string{"range", "normal use"} {
			f = of(t, check(t, rules.Trip, strings.Replace(full, given, "", 1)), "S", cause)
			if f.Verdict != finding.Undecided || !strings.Contains(f.Message, "may be (add parts.plover."+key+")") {
				t.Errorf("%s: %v %s", key, f.Verdict, f.Message)
			}
		}
	}
	// Firmware that was calibrated does not move a comparator; it does move a number.
	full += "calibration: {S: {kind: one-point, conductor: bar, current: 100 A, tolerance: 0.1 %}}\n"
	if f := of(t, check(t, rules.Trip, full), "S", "range"); !strings.Contains(f.Message, "error of the channel is 14.3 A.") {
		t.Error(f.Message)
	}
	number := strings.NewReplacer("by: output", "by: number", "readout: {",
		"readout: {sampling: {rate: 1 MHz, delay: 0 s}, ", "high: 3.3 V", "high: 3.4 V").Replace(full)
	// 3.19 V of 3.4 V in 4096 counts.
	if f := of(t, check(t, rules.Trip, number), "S", "range"); !strings.Contains(f.Message,
		"690 mV above its zero, 3843 counts") {
		t.Error(f.Message)
	}
	if f := of(t, check(t, rules.Trip, number), "S", "range"); !strings.Contains(f.Message, "error of the channel is 6.53 A.") {
		t.Error(f.Message) // 1 % over temperature, 1 A of hysteresis, half a step, the Earth
	}
	open = strings.Replace(number, "tolerance: 1 %, ", "", 1)
	if f := of(t, check(t, rules.Trip, open), "S", "range"); f.Verdict != finding.Pass {
		t.Errorf("one point takes the gain: %v %s", f.Verdict, f.Message)
	}
}

func TestTripNamesTheMissingKey(t *testing.T) {
	for _, c := range []struct{ from, cause, key string }{
		{", switching: 2 us", "within", "add needs.S.trip.switching"},
		{", supply: 450 V", "range", "add needs.S.trip.supply"},
		{", inductance: 50 uH", "range", "add needs.S.trip.inductance"},
		{", delay: 1 us", "within", "add parts.plover.delay"},
		{", high: 5 V", "range", "add parts.plover.output.high"},
		{", noise: 0 V", "normal use", "add parts.plover.noise"},
	} {
		f := of(t, check(t, rules.Trip, strings.Replace(tripBar("", ""), c.from, "", 1)), "S", c.cause)
		if f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.key) {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
	}
	if f := one(t, check(t, rules.Trip, smallBar(2.5, "")), "S"); f.Verdict != finding.NotApplicable {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// A lower trip is no way out where normal use would reach it.
func TestTripNoLowerThanNormalUse(t *testing.T) {
	for peakA, offered := range map[float64]bool{200: true, 295: false} {
		yaml := strings.Replace(tripBar("", ""), "high: 5 V", "high: 3.26 V", 1) // 760 mV above zero: 330 A
		f := of(t, check(t, rules.Trip, strings.Replace(yaml, amps("peak", 200), amps("peak", peakA), 1)), "S", "range")
		if f.Verdict != finding.Fail || strings.Contains(f.Remedy, "a trip of ") != offered {
			t.Errorf("%g A: %v %s", peakA, f.Verdict, f.Remedy)
		}
	}
}

// Each way out of a trip, done as printed, passes.
func TestTripRemediesPass(t *testing.T) {
	find := func(text, pattern string) string {
		t.Helper()
		m := regexp.MustCompile(pattern).FindStringSubmatch(text)
		if m == nil {
			t.Fatalf("%s is not in %q", pattern, text)
		}
		return m[1]
	}
	passes := func(what, cause, yaml string) {
		t.Helper()
		if g := of(t, check(t, rules.Trip, yaml), "S", cause); g.Verdict != finding.Pass {
			t.Errorf("%s: %v %s", what, g.Verdict, g.Message)
		}
	}
	yaml := strings.NewReplacer("high: 5 V", "high: 3.26 V", "{tolerance: 2 %,",
		"{tolerance: 2 %, from: 20 mV/mT, to: 200 mV/mT,").Replace(tripBar("", ""))
	f := of(t, check(t, rules.Trip, yaml), "S", "range")
	if f.Verdict != finding.Fail {
		t.Fatal(f.Message)
	}
	passes("sensitivity", "range", regexp.MustCompile(`set: [\d.]+ mV/mT`).ReplaceAllString(yaml, "set: "+find(f.Remedy, `program a sensitivity of ([\d.]+ mV/mT)`)))
	passes("trip", "range", strings.Replace(yaml, "current: 300 A", "current: "+find(f.Remedy, `a trip of ([\d.]+ A)`), 1))
	quick := find(f.Remedy, `a delay of ([\d.]+) µs in all`)
	var us float64
	fmt.Sscan(quick, &us)
	passes("delay", "range", strings.Replace(yaml, "switching: 2 us", fmt.Sprintf("switching: %.6g us", us-1-1e-6), 1))

	yaml = strings.Replace(tripBar("", ""), "dc: 200 A", "dc: 298 A", 1)
	f = of(t, check(t, rules.Trip, yaml), "S", "normal use")
	passes("higher trip", "normal use", strings.Replace(yaml, "current: 300 A", "current: "+find(f.Remedy, `a trip of ([\d.]+ A)`), 1))

	yaml = strings.NewReplacer("by: output", "by: number", "readout: {", "readout: {sampling: {rate: 400 kHz, delay: 1 us}, filter: {corner: 200 kHz}, ").Replace(tripBar("", ""))
	f = of(t, check(t, rules.Trip, yaml), "S", "within") // 1 + 0.8 + 2.5 + 1 + 2 = 7.3 us against 5 us
	if f.Verdict != finding.Fail || math.Abs(f.Measure.Value-7.296e-6) > 1e-8 {
		t.Fatal(f.Message)
	}
	passes("rate", "within", strings.Replace(yaml, "rate: 400 kHz", "rate: "+find(f.Remedy, `a sampling rate of ([\d.]+ [kM]Hz)`), 1))
	passes("tap", "within", strings.Replace(yaml, "by: number", "by: filter", 1))
	passes("asked", "within", strings.Replace(yaml, "within: 5 us", "within: "+find(f.Remedy, `a time of ([\d.]+ µs)`), 1))
	yaml = strings.Replace(yaml, "corner: 200 kHz", "corner: 60 kHz, tolerance: 10 %", 1)
	yaml = strings.Replace(yaml, "rate: 400 kHz", "rate: 2 MHz", 1)
	f = of(t, check(t, rules.Trip, yaml), "S", "within")
	passes("filter", "within", strings.Replace(yaml, "corner: 60 kHz", "corner: "+find(f.Remedy, `a filter of ([\d.]+ [kM]Hz)`), 1))
}

// A need for accuracy is no datum of a comparator at the part's output, which no calibration reaches: it changes
// nothing there, however tight. Of a number after a calibration with current it stands in for what is not known, and is
// never taken for less than what is.
func TestTripNeedForAccuracy(t *testing.T) {
	with := func(yaml, accuracy string) string {
		return strings.Replace(yaml, "needs: {S: {", "needs: {S: {accuracy: "+accuracy+", ", 1)
	}
	plain := tripBar("", "")
	want := of(t, check(t, rules.Trip, plain), "S", "range").Measure.Value
	for _, accuracy := range []string{"5 %", "2 %", "0.1 %"} {
		measured(t, of(t, check(t, rules.Trip, with(plain, accuracy)), "S", "range"), finding.Pass, want, 1e-9)
	}
	number := strings.NewReplacer("by: output", "by: number", "readout: {",
		"readout: {sampling: {rate: 1 MHz, delay: 0 s}, ", "high: 3.3 V", "high: 3.4 V").Replace(plain)
	number = strings.Replace(number, "bits: 12", "bits: 12, tolerance: 0 %", 1)
	if f := of(t, check(t, rules.Trip, with(number, "0.1 %")), "S", "range"); !strings.Contains(f.Message,
		"error of the channel is 8.53 A.") {
		t.Errorf("not calibrated: %s", f.Message) // 6 A of gain, the Earth's 2.35 A, half a step of 0.36 A
	}
	number += "calibration: {S: {kind: one-point, conductor: bar, current: 100 A, tolerance: 0.1 %}}\n"
	for accuracy, words := range map[string]string{"5 %": "error of the channel is 15.0 A.",
		"0.1 %": "error of the channel is 2.53 A."} {
		if f := of(t, check(t, rules.Trip, with(number, accuracy)), "S", "range"); !strings.Contains(f.Message, words) {
			t.Errorf("%s: %s", accuracy, f.Message)
		}
	}
	open := strings.Replace(number, "hysteresis: 0 uT, ", "", 1)
	if f := of(t, check(t, rules.Trip, open), "S", "range"); f.Verdict != finding.Undecided {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	if f := of(t, check(t, rules.Trip, with(open, "2 %")), "S", "range"); f.Verdict != finding.Pass {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}
