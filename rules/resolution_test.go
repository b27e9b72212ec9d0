package rules_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

const asked = "needs: {S: {smallest-current: %}}\n"

func smallest(a string) string { return strings.Replace(asked, "%", a, 1) }

// 3.3 V/4096 over 2.3 mV/A: 0.350 A per step (common practice). Without noise the rms is
// 0.350/√12 = 0.101 A, but no reading is off by more than half a step.
func TestResolutionStep(t *testing.T) {
	yaml := channelBar(2.3e-3, ", noise: 0 V", threeVolts, smallest("0.36 A"))
	f := one(t, check(t, rules.Resolution, yaml), "S")
	measured(t, f, finding.Pass, 3.3/4096/2.3e-3, 3e-4)
	if !strings.Contains(f.Message, "The converter steps by 350 mA") {
		t.Error(f.Message)
	}
	f = one(t, check(t, rules.Resolution, strings.Replace(yaml, "0.36 A", "0.34 A", 1)), "S")
	measured(t, f, finding.Fail, 3.3/4096/2.3e-3, 3e-4)
}

// White noise of 2 uV/√Hz through two low-passes of order one, 100 and 10 kHz: √(π/2 ·
// 100·10/110 kHz) (C. D. Motchenbacher and J. A. Connelly, Low-Noise Electronic System
// Design, 1993, section 1.7; from memory), six times as large, and a step. The filter's corner at +10 % lets more
// through.
func TestResolutionNoise(t *testing.T) {
	yaml := channelBar(2.3e-3, ", noise: {density: 2 uV/rtHz}, bandwidth: 100 kHz",
		threeVolts+", filter: {corner: 10 kHz}", smallest("1.1 A"))
	want := func(cornerHz float64) float64 {
		part := 2e-6 * math.Sqrt(math.Pi/2*100e3*cornerHz/(100e3+cornerHz)) / 2.3e-3
		return 6*part + 3.3/4096/2.3e-3
	}
	measured(t, one(t, check(t, rules.Resolution, yaml), "S"), finding.Pass, want(10e3), 3e-4)
	yaml = strings.Replace(yaml, "corner: 10 kHz", "corner: 10 kHz, tolerance: 10 %", 1)
	measured(t, one(t, check(t, rules.Resolution, yaml), "S"), finding.Pass, want(11e3), 3e-4)
	// 1 mV rms in 100 kHz: 0.435 A, of which 10 kHz leave √(1/11).
	yaml = channelBar(2.3e-3, ", noise: 1 mV, bandwidth: 100 kHz", threeVolts+", filter: {corner: 10 kHz}",
		smallest("1.2 A"))
	measured(t, one(t, check(t, rules.Resolution, yaml), "S"), finding.Pass,
		6*1e-3/2.3e-3*math.Sqrt(1.0/11)+3.3/4096/2.3e-3, 3e-4)
}

func TestResolutionNamesTheMissingKey(t *testing.T) {
	full := channelBar(2.3e-3, ", noise: {density: 2 uV/rtHz}, bandwidth: 100 kHz", threeVolts, smallest("0.5 A"))
	for _, c := range []struct{ from, to, key string }{
		{", noise: {density: 2 uV/rtHz}", "", "add parts.plover.noise"},
		{", bandwidth: 100 kHz", "", "add parts.plover.bandwidth"},
		{", bits: 12", "", "add readout.converter.bits"},
		{threeVolts, "filter: {corner: 10 kHz}", "add readout.converter)"},
		{threeVolts, threeVolts + ", amplifier: {gain: 1, noise: 1 uV/rtHz}", "add readout.filter"},
	} {
		f := one(t, check(t, rules.Resolution, strings.Replace(full, c.from, c.to, 1)), "S")
		if f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.key) {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
	}
	// A step that is too coarse is so whatever the noise is.
	f := one(t, check(t, rules.Resolution, channelBar(2.3e-3, "", threeVolts, smallest("0.3 A"))), "S")
	measured(t, f, finding.Fail, 3.3/4096/2.3e-3, 3e-4)
	// Nothing asked; and nothing to answer with.
	if f := one(t, check(t, rules.Resolution, channelBar(2.3e-3, "", threeVolts, "")),
		"S"); f.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	if f := one(t, check(t, rules.Resolution, smallBar(2.5, smallest("1 A"))), "S"); f.Verdict != finding.Undecided ||
		!strings.HasSuffix(f.Message, "Add readout") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

var (
	newBits   = regexp.MustCompile(`a converter of (\d+) bits`)
	newCorner = regexp.MustCompile(`a filter of ([\d.]+ [kM]?Hz)`)
)

// Each way out, done as printed, passes.
func TestResolutionRemediesPass(t *testing.T) {
	yaml := strings.Replace(channelBar(2.3e-3, ", noise: {density: 1.5 uV/rtHz}, bandwidth: 100 kHz", threeVolts,
		amps("peak", 50)+smallest("0.9 A")),
		"{set", "{from: 20 mV/mT, to: 4000 mV/mT, set", 1)
	f := one(t, check(t, rules.Resolution, yaml), "S")
	if f.Verdict != finding.Fail {
		t.Fatal(f.Message)
	}
	passes := func(what, edited string) {
		t.Helper()
		if g := one(t, check(t, rules.Resolution, edited), "S"); g.Verdict != finding.Pass {
			t.Errorf("%s: %v %s\n%s", what, g.Verdict, g.Message, f.Remedy)
		}
	}
	find := func(re *regexp.Regexp) string {
		t.Helper()
		m := re.FindStringSubmatch(f.Remedy)
		if m == nil {
			t.Fatalf("%v is not in %q", re, f.Remedy)
		}
		return m[1]
	}
	passes("sensitivity", regexp.MustCompile(`set: [\d.]+ mV/mT`).ReplaceAllString(yaml, "set: "+find(programmed)+" mV/mT"))
	passes("filter", strings.Replace(yaml, threeVolts, threeVolts+", filter: {corner: "+find(newCorner)+"}", 1))
	// Hardly any noise: bits help.
	yaml = channelBar(2.3e-3, ", noise: {density: 0.1 uV/rtHz}, bandwidth: 100 kHz", threeVolts, smallest("0.2 A"))
	f = one(t, check(t, rules.Resolution, yaml), "S")
	passes("bits", strings.Replace(yaml, "bits: 12", "bits: "+find(newBits), 1))
	// The converter's own noise stays in volts however many bits it counts in: 6 · 0.35 A.
	yaml = channelBar(2.3e-3, ", noise: 0 V", "converter: {low: 0 V, high: 3.3 V, bits: 12, noise: 1}", smallest("0.5 A"))
	f = one(t, check(t, rules.Resolution, yaml), "S")
	if f.Verdict != finding.Fail || strings.Contains(f.Remedy, "a converter of") {
		t.Errorf("%v: %s", f.Verdict, f.Remedy)
	}
}
